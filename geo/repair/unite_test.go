package repair

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// Rectangles on a lattice cover as much ground as the lattice has cells under them,
// to the unit, however many lie on each other and in whatever order they come.
func TestUniteCountsCells(t *testing.T) {
	const cells, side = 60, 1000
	for _, n := range []int{1, 2, 15, 16, 17, 40, 300, 2000} {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			rng := rand.New(rand.NewPCG(15, uint64(n)))
			covered := map[[2]int]bool{}
			var all []plane.Polygon
			for range n {
				x, y := rng.IntN(cells), rng.IntN(cells)
				w, h := 1+rng.IntN(6), 1+rng.IntN(6)
				for i := x; i < x+w; i++ {
					for j := y; j < y+h; j++ {
						covered[[2]int{i, j}] = true
					}
				}
				at := func(i, j int) plane.Point { return plane.Point{X: plane.Length(i * side), Y: plane.Length(j * side)} }
				all = append(all, plane.Polygon{Shell: plane.Ring{at(x, y), at(x+w, y), at(x+w, y+h), at(x, y+h)}})
			}
			area := func(all []plane.Polygon) (sum plane.Area) {
				ground, err := Unite(all, nil)
				require.NoError(t, err)
				for _, p := range ground {
					assert.Positive(t, p.Shell.Area())
					sum += p.Area()
				}
				return sum
			}
			cell := plane.Ring{{}, {X: side}, {X: side, Y: side}, {Y: side}}.Area()
			assert.Equal(t, plane.Area(len(covered))*cell, area(all))
			slices.Reverse(all)
			assert.Equal(t, plane.Area(len(covered))*cell, area(all))
		})
	}
}

// Discs that overlap, against an overlay by others (simplefeatures): the same ground,
// but for the rounding of crossings, as valid polygons.
func TestUniteAgainstSimplefeatures(t *testing.T) {
	for n := range 12 {
		rng := rand.New(rand.NewPCG(16, uint64(n)))
		var all []plane.Polygon
		var theirs []geom.Polygon
		for range 40 * (n + 1) {
			x, y, r := 1e6*rng.Float64(), 1e6*rng.Float64(), 2e4+1e5*rng.Float64()
			ring := make(plane.Ring, 24)
			for i := range ring {
				sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(len(ring)))
				ring[i] = plane.Point{X: plane.Round(x + r*cos), Y: plane.Round(y + r*sin)}
			}
			all = append(all, plane.Polygon{Shell: ring})
			theirs = append(theirs, geom.NewPolygon([]geom.LineString{lineOf(ring, plane.Point{})}))
		}
		ground, err := Unite(all, nil)
		require.NoError(t, err)
		united, err := geom.UnaryUnion(geom.NewMultiPolygon(theirs).AsGeometry())
		require.NoError(t, err)
		var area, edge float64
		var ours []geom.Polygon
		for _, p := range ground {
			var lines []geom.LineString
			for _, r := range p.Rings() {
				lines = append(lines, lineOf(r, plane.Point{}))
			}
			ours = append(ours, geom.NewPolygon(lines))
			area += ours[len(ours)-1].Area()
			edge += float64(p.Perimeter())
		}
		require.NoError(t, geom.NewMultiPolygon(ours).Validate())
		assert.InDelta(t, united.Area(), area, 3*math.Sqrt2/2*edge, "three levels of groups, each rounded by half the diagonal of a unit")
		assert.Equal(t, united.IsMultiPolygon(), len(ground) > 1)
	}
}

// What lies in the hole of one polygon and in another is ground; what lies in holes
// only is none.
func TestUniteHoles(t *testing.T) {
	box := func(x0, y0, x1, y1 plane.Length) plane.Ring {
		return plane.Ring{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}
	}
	ground, err := Unite([]plane.Polygon{
		{Shell: box(0, 0, 100, 100), Holes: []plane.Ring{box(20, 20, 80, 80).Reversed()}},
		{Shell: box(40, 0, 60, 50)},
	}, nil)
	require.NoError(t, err)
	require.Len(t, ground, 1)
	assert.Equal(t, box(0, 0, 100, 100).Area()-box(20, 20, 80, 80).Area()+box(40, 20, 60, 50).Area(), ground[0].Area())
	ground, err = Unite(nil, nil)
	assert.NoError(t, err)
	assert.Empty(t, ground)
}

// A weave of strips crosses as often as there are pairs: the budget ends it.
func TestUniteEndsWithItsBudget(t *testing.T) {
	var weave []plane.Polygon
	for i := range plane.Length(400) {
		weave = append(weave, plane.Polygon{Shell: plane.Ring{{X: 10 * i}, {X: 10*i + 5}, {X: 10*i + 5, Y: 4000}, {X: 10 * i, Y: 4000}}},
			plane.Polygon{Shell: plane.Ring{{Y: 10 * i}, {X: 4000, Y: 10 * i}, {X: 4000, Y: 10*i + 5}, {Y: 10*i + 5}}})
	}
	_, err := Unite(weave, arrange.NewBudget(100_000))
	assert.ErrorIs(t, err, arrange.ErrSpent)
}
