package coverage_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/geo/plane"
)

// closes checks the identities that hold with == for every map.
func closes(t *testing.T, m *coverage.Map) {
	t.Helper()
	g := m.Ground
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
	assert.InDelta(t, e.Length, e.Reached+e.Open+e.Unlogged, 1)
}

func TestScenes(t *testing.T) {
	for _, s := range []*covertest.Scene{covertest.Small(0, 1), covertest.Small(0.02, 1), covertest.QuarterSection(10, 0, 1), covertest.QuarterSection(10, 0.02, 1)} {
		m, err := coverage.Measure(s.Field, s.Machines, coverage.Options{})
		require.NoError(t, err)
		closes(t, m)
		truth := covertest.Raster(s.Field, s.Trails, 0.25)
		g := m.Ground
		t.Logf("%s: field %.1f covered %.1f skip %.1f overlap %.1f excess %.1f over-reach %.1f unlogged %.1f swept %.1f passes %d regions %d skips %d overlaps %d edge %.1f open %.1f mean %.3f max %.3f warnings %v",
			s.Field.Name, g.Field.SquareMetres(), g.Covered.SquareMetres(), g.Skip.SquareMetres(), g.Overlap.SquareMetres(), g.Excess.SquareMetres(), g.OverReach.SquareMetres(), g.Unlogged.SquareMetres(), g.Swept.SquareMetres(),
			len(m.Passes), len(m.Regions), len(m.Skips), len(m.Overlaps), m.Headland.Edge.Length/1e4, m.Headland.Edge.Open/1e4, m.Headland.Edge.Mean/1e4, m.Headland.Edge.Max/1e4, m.Warnings)
		t.Logf("truth %+v", truth)
	}
}
