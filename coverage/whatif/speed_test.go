package whatif_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/whatif"
)

// BenchmarkSure moves the passes of a quarter section 200 times.
func BenchmarkSure(b *testing.B) {
	s := covertest.QuarterSection(10, 0.02, 1)
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(b, err)
	for b.Loop() {
		h := whatif.Sure(m, whatif.Options{Groups: [][]bool{{true}}})
		require.Positive(b, h.Overlap.High)
		require.NotEmpty(b, whatif.Sections(m, whatif.Switching{}))
	}
}
