//go:build geos

package coverage_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/sweep"
	"lapwing/coverage/work"
	"lapwing/geo/arrange/geosoracle"
	"lapwing/geo/plane"
)

// Areas of whole fields agree with those GEOS finds from the same swaths to a
// millionth of the field; why to that, see the arrangement's own test.
//
// With noise of 10 cm and less, that is: where a swath is made of thousands of
// slivers that cross, covered ground is their union, and of edges that snapping
// bends to either side a union keeps the outer one. With noise of 14 cm the
// small field has 74 km of edges, and 0.09 m² of its 2.96 ha more are covered
// on the grid than off it, 3 in a million; on a grid ten times as fine it is
// 0.002 m².
func TestFieldsAgainstGEOS(t *testing.T) {
	scenes := map[string]*covertest.Scene{
		"quarter section, noise":    covertest.QuarterSection(10, 0.02, 1),
		"quarter section":           covertest.QuarterSection(1, 0, 1),
		"one lane":                  covertest.Lanes("0-5", 100),
		"skip":                      covertest.Lanes("0-5 6-11", 100),
		"side by side":              covertest.Lanes("0-5 5-10 10-15", 100),
		"overlap and skip":          covertest.Lanes("0-6 5-11 12-18", 100),
		"twice the same":            covertest.Lanes("0-6 0-6 6-12", 100),
		"two machines":              covertest.Lanes("a0-5 b4-12 a11-16", 100),
		"over the edge":             covertest.Lanes("0-12: 0-5 4-9 8-13", 100),
		"side by side off the grid": covertest.Lanes("0-3.33333 3.33333-6.66666 6.66666-9.99999", 77.7),
	}
	for seed := range uint64(6) {
		noise := 0.02 * float64(seed)
		scenes[fmt.Sprintf("small, noise %.2f m", noise)] = covertest.Small(noise, seed+1)
	}
	for name, s := range scenes {
		t.Run(name, func(t *testing.T) {
			m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
			require.NoError(t, err)
			want, err := geosoracle.Lay(outline(m.Field), ringsOf(m.Swaths))
			require.NoError(t, err)
			g := m.Totals
			within := 1e-6 * want.Field
			assert.InDelta(t, want.Field, g.Field.SquareMetres(), within, "field")
			assert.InDelta(t, want.Covered, g.Covered.SquareMetres(), within, "covered")
			assert.InDelta(t, want.Skip, (g.Skip + g.Unlogged).SquareMetres(), within, "skip")
			assert.InDelta(t, want.Overlap, g.Overlap.SquareMetres(), within, "overlap")
			assert.InDelta(t, want.Outside, g.OverReach.SquareMetres(), within, "over-reach")
			shapes := make([]plane.Polygon, len(m.Regions))
			for i, r := range m.Regions {
				shapes[i] = r.Shape
			}
			assert.NoError(t, geosoracle.Validate(shapes...))
		})
	}
}

// outline lists the rings of a field's boundary.
func outline(f field.Field) []plane.Ring {
	var out []plane.Ring
	for _, p := range f.Boundary {
		out = append(out, p.Rings()...)
	}
	return out
}

func ringsOf(swaths []sweep.Swath) [][]plane.Ring {
	out := make([][]plane.Ring, len(swaths))
	for i, s := range swaths {
		out[i] = s.Rings
	}
	return out
}

func linesOf(passes []work.Pass, machines []machine.Logged) []geosoracle.Line {
	out := make([]geosoracle.Line, len(passes))
	for i, p := range passes {
		out[i].Width = machines[p.Machine].Implement.Width
		for _, at := range p.Poses {
			out[i].Points = append(out[i].Points, at.Bar)
		}
	}
	return out
}

// BenchmarkUsualWay is the twin of BenchmarkSweepLay: the same passes the way
// it is usually done, from all fixes of the bar's centre line, and from the
// very rings that Sweep leaves.
func BenchmarkUsualWay(b *testing.B) {
	for _, w := range works() {
		if w.sections > 6 {
			continue // a line a pass knows no sections
		}
		b.Run("lines/"+w.String(), func(b *testing.B) {
			field, lines := outline(w.field), linesOf(w.passes, w.machines)
			for b.Loop() {
				_, err := geosoracle.RunLines(field, lines)
				require.NoError(b, err)
			}
		})
		b.Run("rings/"+w.String(), func(b *testing.B) {
			field, rings := outline(w.field), ringsOf(sweep.Sweep(machine.Machines(w.machines), w.passes).Swaths)
			for b.Loop() {
				_, err := geosoracle.RunRings(field, rings)
				require.NoError(b, err)
			}
		})
	}
}
