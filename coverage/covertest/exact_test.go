package covertest

import (
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/plane"
)

func box(x0, y0, x1, y1 plane.Length) plane.Ring {
	return plane.Ring{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}
}

func TestExactSets(t *testing.T) {
	triangle := plane.Ring{{X: 0, Y: 0}, {X: 3, Y: 0}, {X: 0, Y: 3}}
	for _, c := range []struct {
		name   string
		layers [][]plane.Ring
		want   map[string]string
	}{
		{"nothing", nil, map[string]string{}},
		{"one box", [][]plane.Ring{{box(0, 0, 4, 3)}}, map[string]string{"0": "12"}},
		{"twice in a layer is once", [][]plane.Ring{{box(0, 0, 4, 3), box(2, 0, 6, 3)}}, map[string]string{"0": "18"}},
		{"two layers lap", [][]plane.Ring{{box(0, 0, 4, 3)}, {box(2, 1, 6, 5)}}, map[string]string{"0": "8", "1": "12", "0 1": "4"}},
		{"a hole", [][]plane.Ring{{box(0, 0, 4, 3), box(1, 1, 2, 2).Reversed()}}, map[string]string{"0": "11"}},
		{"clockwise is not under", [][]plane.Ring{{box(0, 0, 4, 3).Reversed()}}, map[string]string{}},
		{"shared edge", [][]plane.Ring{{box(0, 0, 2, 2)}, {box(2, 0, 4, 2)}}, map[string]string{"0": "4", "1": "4"}},
		{
			"a crossing off the grid's corners",
			[][]plane.Ring{{triangle}, {{{X: 0, Y: 0}, {X: 4, Y: 1}, {X: 0, Y: 4}}}},
			// x + y = 3 meets y = x/4 at x = 12/5; the part of the triangle
			// below y = x/4 is 3 × (3/5) / 2 = 9/10, the second triangle is 8.
			map[string]string{"0": "9/10", "0 1": "18/5", "1": "22/5"},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := map[string]string{}
			for k, v := range ExactSets(c.layers) {
				got[k] = v.RatString()
			}
			assert.Equal(t, c.want, got)
		})
	}
}

// Depth times area, summed, is what the layers have by themselves.
func TestExactDepthsSum(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	for range 40 {
		layers := make([][]plane.Ring, 5)
		want := new(big.Rat)
		for i := range layers {
			p := func() plane.Point { return plane.Point{X: plane.Length(r.IntN(9)), Y: plane.Length(r.IntN(9))} }
			ring := plane.Ring{p(), p(), p()}
			if ring.Area() < 0 {
				ring = ring.Reversed()
			}
			layers[i] = []plane.Ring{ring}
			want.Add(want, big.NewRat(int64(ring.Area()), 2))
		}
		got := new(big.Rat)
		for depth, area := range ExactDepths(layers) {
			got.Add(got, new(big.Rat).Mul(area, big.NewRat(int64(depth), 1)))
		}
		assert.Zero(t, want.Cmp(got), "want %v, got %v", want, got)
	}
}
