package region_test

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/region"
	"lapwing/coverage/sweep"
	"lapwing/coverage/work"
	"lapwing/geo/plane"
)

// rect is a rectangle in ticks.
func rect(x0, y0, x1, y1 plane.Length) plane.Ring {
	return plane.Ring{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}
}

// without is a rectangle with holes.
func without(shell plane.Ring, holes ...plane.Ring) plane.Polygon {
	p := plane.Polygon{Shell: shell}
	for _, h := range holes {
		p.Holes = append(p.Holes, h.Reversed())
	}
	return p
}

// layOver lays swaths, a pass each, over a boundary.
func layOver(boundary []plane.Polygon, swaths ...[]plane.Ring) *region.Layout {
	var g sweep.Ground
	for i, rings := range swaths {
		g.Passes = append(g.Passes, work.Pass{Poses: []work.Pose{{}, {Bar: plane.Point{Y: 1000}, Along: 1000}}, Length: 1000})
		g.Swaths = append(g.Swaths, sweep.Swath{Pass: i, Rings: rings})
	}
	machines := []machine.Machine{{Name: "drill", Implement: machine.Implement{Width: 40}}}
	l, err := region.Lay(field.Field{Boundary: boundary}, machines, g, &field.Options{})
	if err != nil { // so little ground crosses nothing often
		panic(err)
	}
	return l
}

// secondOpinion is another judge of polygons, where there is one.
var secondOpinion = func(...plane.Polygon) error { return nil }

// measures checks the field of a layout as it was measured: valid, and of the
// very area that was measured.
func measures(t *testing.T, l *region.Layout) {
	t.Helper()
	var sum plane.Area
	for _, p := range l.Measured() {
		sum += p.Area()
		var rings []geom.LineString
		for _, r := range p.Rings() {
			var at []float64
			for _, c := range append(r[:len(r):len(r)], r[0]) {
				at = append(at, float64(c.X), float64(c.Y))
			}
			rings = append(rings, geom.NewLineString(geom.NewSequence(at, geom.DimXY)))
		}
		require.NoError(t, geom.NewPolygon(rings).Validate())
	}
	require.Equal(t, l.Totals.Field, sum)
	require.NoError(t, secondOpinion(l.Measured()...))
}

// The field that was measured is what its boundary comes to, whatever its rings
// are.
func TestMeasured(t *testing.T) {
	whole := rect(0, 0, 1000, 600)
	for _, tc := range []struct {
		name         string
		boundary     []plane.Polygon
		parts, holes int
		area         plane.Area // square ticks
	}{
		{"one part", []plane.Polygon{without(whole)}, 1, 0, 600_000},
		{"a hole", []plane.Polygon{without(whole, rect(100, 100, 200, 200))}, 1, 1, 590_000},
		{"two parts apart", []plane.Polygon{without(whole), without(rect(2000, 0, 2100, 100))}, 2, 0, 610_000},
		{"parts that overlap", []plane.Polygon{without(whole), without(rect(900, 500, 1100, 700))}, 1, 0, 630_000},
		{"the same part twice", []plane.Polygon{without(whole), without(whole)}, 1, 0, 600_000},
		{"parts that share an edge", []plane.Polygon{without(whole), without(rect(1000, 0, 1100, 600))}, 1, 0, 660_000},
		{"parts that touch at a corner", []plane.Polygon{without(whole), without(rect(1000, 600, 1100, 700))}, 2, 0, 610_000},
		{"four strips round a hole without a corner of their own", []plane.Polygon{
			without(rect(0, 100, 1000, 200)), without(rect(0, 400, 1000, 500)), without(rect(100, 0, 200, 600)), without(rect(700, 0, 800, 600)),
		}, 1, 1, 2*100_000 + 2*60_000 - 4*10_000},
		{"a hole in a hole", []plane.Polygon{without(whole, rect(100, 100, 500, 500), rect(200, 200, 400, 400))}, 1, 1, 440_000},
		{"an island in a hole", []plane.Polygon{without(whole, rect(100, 100, 500, 500)), without(rect(200, 200, 400, 400))}, 2, 1, 480_000},
		{"holes that overlap", []plane.Polygon{without(whole, rect(100, 100, 300, 300), rect(200, 200, 400, 400))}, 1, 1, 600_000 - 70_000},
		{"a hole outside", []plane.Polygon{without(whole, rect(2000, 0, 2100, 100))}, 1, 0, 600_000},
		{"a hole over the edge", []plane.Polygon{without(whole, rect(900, 100, 1100, 200))}, 1, 0, 590_000},
		{"a hole that parts it", []plane.Polygon{without(whole, rect(400, -100, 500, 700))}, 2, 0, 540_000},
		{"a hole that touches the edge", []plane.Polygon{without(whole, plane.Ring{{X: 0, Y: 300}, {X: 50, Y: 250}, {X: 50, Y: 350}})}, 1, 1, 597_500},
	} {
		t.Run(tc.name, func(t *testing.T) {
			// A pass along the field and one out of it, so that the edge is cut.
			l := layOver(tc.boundary, []plane.Ring{rect(-50, 40, 3000, 80)}, []plane.Ring{{{X: 500, Y: -50}, {X: 541, Y: -50}, {X: 900, Y: 900}, {X: 859, Y: 900}}})
			measures(t, l)
			assert.Len(t, l.Measured(), tc.parts)
			holes := 0
			for _, p := range l.Measured() {
				holes += len(p.Holes)
			}
			assert.Equal(t, tc.holes, holes)
			assert.InDelta(t, float64(tc.area), float64(l.Totals.Field)/2, 2, "of the boundary, within half a tick where the passes cross it")
		})
	}
}

// Of any boundary under any swaths, on grids so small that all coincidences are
// common and on larger ones.
func TestMeasuredOfAnything(t *testing.T) {
	for seed := range uint64(600) {
		rng := rand.New(rand.NewPCG(seed, 14))
		side := []int{8, 60, 3000, 5_000_000}[seed%4]
		ring := func() plane.Ring {
			r := make(plane.Ring, 3+rng.IntN(6))
			for i := range r {
				r[i] = plane.Point{X: plane.Length(rng.IntN(side)), Y: plane.Length(rng.IntN(side))}
			}
			return r
		}
		var boundary []plane.Polygon
		for range 1 + rng.IntN(3) {
			p := plane.Polygon{Shell: ring()}
			for range rng.IntN(3) {
				p.Holes = append(p.Holes, ring())
			}
			boundary = append(boundary, p)
		}
		var swaths [][]plane.Ring
		for range rng.IntN(8) {
			swaths = append(swaths, []plane.Ring{ring()})
		}
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) { measures(t, layOver(boundary, swaths...)) })
	}
}

// The hard cases' layers: the first as a boundary, the others as swaths.
func TestMeasuredOfHardCases(t *testing.T) {
	cases, err := filepath.Glob("../../testdata/hard/*/rings.json")
	require.NoError(t, err)
	require.NotEmpty(t, cases)
	for _, file := range cases {
		t.Run(filepath.Base(filepath.Dir(file)), func(t *testing.T) {
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			var in struct{ Layers [][][][2]plane.Length }
			require.NoError(t, json.Unmarshal(text, &in))
			var layers [][]plane.Ring
			for _, of := range in.Layers {
				var rings []plane.Ring
				for _, points := range of {
					var r plane.Ring
					for _, p := range points {
						r = append(r, plane.Point{X: p[0], Y: p[1]})
					}
					rings = append(rings, r)
				}
				layers = append(layers, rings)
			}
			var boundary []plane.Polygon
			for _, r := range layers[0] {
				boundary = append(boundary, plane.Polygon{Shell: r})
			}
			measures(t, layOver(boundary, layers[1:]...))
		})
	}
}
