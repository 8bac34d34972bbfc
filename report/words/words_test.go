package words

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/cause"
)

func TestSharesAndCounts(t *testing.T) {
	for want, got := range map[string]string{
		"under 0.1 %": Share(1, 1e6),
		"99.9 %":      Share(999999, 1e6),
		"100 %":       Share(7, 7),
		"1 skip":      Count(1, "skip"),
		"no passes":   Count(0, "pass"),
		"2 patches":   Count(2, "patch"),
	} {
		require.Equal(t, want, got)
	}
}

// Every cause of waste has a remedy.
func TestRemedies(t *testing.T) {
	for _, rule := range cause.OverlapRules {
		assert.NotEmpty(t, Remedy(rule.Cause), rule.Cause)
	}
	assert.NotEmpty(t, Remedy(agronomy.BeyondBoundary))
}
