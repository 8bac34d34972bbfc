package work_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/region"
	"lapwing/coverage/sweep"
	"lapwing/coverage/work"
	"lapwing/geo/arrange"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// What is said of skips and overlaps in doubt comes true of about so much of their ground:
// they are few, and a large one decides. With LAPWING_LONG=1 the fields are four hundred.
func TestDoubtOfPatches(t *testing.T) {
	times, off := 4, 0.2
	if os.Getenv("LAPWING_LONG") != "" {
		times, off = 20, 0.1
	}
	fields := judgedFields(seedOf(t)+2e6, times)
	type tally struct{ area, said, right float64 }
	tallies := make([][2]tally, len(fields))
	parallel.Each(len(fields), func(i int) {
		f := &fields[i]
		opt := field.Options{Rounds: f.Rounds}
		m, err := coverage.Measure(f.Field, f.Machines, opt)
		require.NoError(t, err)
		truth, err := coverage.Lay(f.Field, machine.Machines(f.Machines), sweep.Sweep(machine.Machines(f.Machines), f.Passes()), opt)
		require.NoError(t, err)
		add := func(to *tally, r *region.Region, doubt float64, is func(depth int) bool) {
			if doubt <= 1-work.Sure {
				return
			}
			area := r.Area.SquareMetres()
			to.area += area
			to.said += area * (1 - doubt)
			to.right += shared(r.Shape, truth, is)
		}
		for k := range m.Skips {
			add(&tallies[i][0], &m.Regions[m.Skips[k].Region], m.Skips[k].Doubt, func(depth int) bool { return depth == 0 })
		}
		for k := range m.Overlaps {
			add(&tallies[i][1], &m.Regions[m.Overlaps[k].Region], m.Overlaps[k].Doubt, func(depth int) bool { return depth > 1 })
		}
	})
	for k, name := range []string{"skips", "overlaps"} {
		var all tally
		for i := range tallies {
			all.area += tallies[i][k].area
			all.said += tallies[i][k].said
			all.right += tallies[i][k].right
		}
		t.Logf("%s in doubt: %.0f m², said to be right on %.0f %%, right on %.0f %%", name, all.area, 100*all.said/all.area, 100*all.right/all.area)
		assert.Positive(t, all.area)
		assert.InDelta(t, all.said/all.area, all.right/all.area, off, name)
	}
}

// shared is how many square metres of a patch lie on regions of a map whose depth is so.
func shared(patch plane.Polygon, m *coverage.Map, is func(depth int) bool) (area float64) {
	layers := []arrange.Layer{patch.Rings(), nil}
	box := patch.Shell.Bounds()
	for i := range m.Regions {
		r := &m.Regions[i]
		if r.Kind != region.OverReach && is(r.Depth) && r.Shape.Shell.Bounds().Meets(box) {
			layers[1] = append(layers[1], r.Shape.Rings()...)
		}
	}
	cut := arrange.Cut(layers, func(under []int) arrange.Label {
		if len(under) == 2 {
			return 1
		}
		return arrange.None
	})
	for i := range cut.Faces {
		area += cut.Faces[i].Shape.Area().SquareMetres()
	}
	return area
}
