package coverage_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage"
	"lapwing/geo/plane"
)

// closes checks the identities that hold with == for every map.
func closes(t *testing.T, m *coverage.Map) {
	t.Helper()
	g := m.Totals
	var covered, overlap plane.Area
	for d, a := range g.ByDepth {
		if d >= 1 {
			covered += a
		}
		if d >= 2 {
			overlap += a
		}
	}
	assert.Equal(t, g.Field, g.Skip+g.Covered+g.Unlogged, "skip + covered + unlogged = field")
	assert.Equal(t, g.Covered, covered, "covered = the sum of depths from 1 up")
	assert.Equal(t, g.Overlap, overlap, "overlap = the sum of depths from 2 up")
	assert.Equal(t, g.Swept, g.Covered+g.Excess+g.OverReachSwept, "swept = covered + excess + over-reach swept")
	var byKind [5]plane.Area
	for _, r := range m.Regions {
		assert.Equal(t, r.Area, r.Shape.Area())
		byKind[r.Kind] += r.Area
	}
	assert.Equal(t, [5]plane.Area{g.Unlogged, g.Skip, g.Covered - g.Overlap, g.Overlap, g.OverReach}, byKind)
	var swept, fresh, again plane.Area
	for _, p := range m.Passes {
		swept, fresh, again = swept+p.Swept, fresh+p.New, again+p.Overlap
	}
	assert.Equal(t, g.Swept, swept)
	assert.Equal(t, g.Covered, fresh)
	assert.Equal(t, g.Excess, again)
	e := m.Headland.Edge
	assert.InDelta(t, float64(e.Length), float64(e.Reached+e.Open+e.Unlogged), 1)
}
