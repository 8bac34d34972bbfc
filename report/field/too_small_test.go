package field

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/cause"
	"lapwing/geo/plane"
)

// Each list says how many of its own patches it leaves out.
func TestPageCountsWhatEachListLeavesOut(t *testing.T) {
	r := small()
	m := *r.Map
	m.Skips = append([]cause.Skip{}, m.Skips...)
	for range 3 {
		m.Skips = append(m.Skips, cause.Skip{Region: m.Skips[0].Region, Area: plane.SquareMetre / 100, Width: 100})
	}
	r.Assessment.Reckoning.Map = &m
	r.MinArea = plane.SquareMetre
	var b bytes.Buffer
	require.NoError(t, r.Page(&b))
	skips, rest, found := strings.Cut(b.String(), `id="overlaps-h"`)
	require.True(t, found)
	assert.True(t, strings.Contains(skips, "3\u00a0patches too small to list"))
	assert.False(t, strings.Contains(rest, "too small to list; the totals"))
}
