package inscribed

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// A breadth is measured square to the longest edge, where the shape is
// broadest. Polygons that turn back have none.
func TestBreadth(t *testing.T) {
	for _, c := range []struct {
		name   string
		shell  plane.Ring
		length float64 // 0: none
		foot   [2]float64
	}{
		//	 +----------.
		//	 |          |
		//	 x----------'    x the corner, + the foot
		{"a strip", plane.Ring{{}, {X: 500}, {X: 500, Y: 40}, {Y: 40}}, 40, [2]float64{0, 40}},
		//	    x.
		//	 _--| `-.
		//	<___+____>
		{"a wedge at its corner", plane.Ring{{}, {X: 500}, {X: 100, Y: 60}}, 60, [2]float64{100, 0}},
		//	  ____
		//	 |  _/
		//	 | |___
		//	 |_____|
		{"one that turns back", plane.Ring{{}, {X: 500}, {X: 500, Y: 20}, {X: 100, Y: 20}, {X: 300, Y: 300}, {Y: 300}}, 0, [2]float64{}},
	} {
		var s sides
		var edges []near.Edge
		for i, a := range c.shell {
			edges = append(edges, near.EdgeOf(a, c.shell[(i+1)%len(c.shell)]))
		}
		b, ok := s.longest(edges)
		assert.Equal(t, c.length > 0, ok, c.name)
		if ok {
			assert.InDelta(t, c.length, b.length, 1e-9, c.name)
			assert.InDelta(t, c.foot[0], b.x, 1e-9, c.name)
			assert.InDelta(t, c.foot[1], b.y, 1e-9, c.name)
		}
	}
}

// No circle in a strip is wider than it says, nor than the strip across. Strips
// have two sides, which have corners of their own, some of them one
// above another: many places half-way from one side to the other are asked.
func TestCircleOfStrips(t *testing.T) {
	found := 0
	for seed := range uint64(400) {
		rng := rand.New(rand.NewPCG(seed, 13))
		p := plane.Polygon{Shell: randomStrip(rng)}
		edges := edgesOf(p)
		_, r := new(Finder).Circle(p)
		var s sides
		b, ok := s.longest(edges)
		if ok {
			found++
		}
		box := p.Shell.Bounds()
		for range 300 {
			x := float64(box.Min.X) + float64(box.Max.X-box.Min.X)*rng.Float64()
			lo, hi := math.Inf(1), math.Inf(-1)
			for _, e := range edges {
				if (e.AX > x) != (e.BX > x) {
					y := e.AY + (x-e.AX)/(e.BX-e.AX)*(e.BY-e.AY)
					lo, hi = min(lo, y), max(hi, y)
				}
			}
			room := math.Inf(1)
			for _, e := range edges {
				_, _, d2 := e.Nearest(x, (lo+hi)/2)
				room = min(room, math.Sqrt(d2))
			}
			assert.LessOrEqual(t, room, float64(r)*(1+RelativeError)+AbsoluteError, "seed %d", seed)
			if ok {
				assert.LessOrEqual(t, room, b.length/2+1e-6, "seed %d", seed)
			}
		}
	}
	assert.Greater(t, found, 150)
}

// randomStrip goes from west to east, never back, below its way back.
func randomStrip(rng *rand.Rand) plane.Ring {
	long, high := 1e4+9e4*rng.Float64(), math.Pow(10, 1+2.5*rng.Float64())
	side := func(base float64) plane.Ring {
		out := make(plane.Ring, 1+rng.IntN(8))
		x := 0.0
		for i := range out {
			if i == 0 || rng.IntN(4) > 0 {
				x += long / 8 * rng.Float64()
			}
			out[i] = plane.Point{X: plane.Round(x), Y: plane.Round(base + high*rng.Float64())}
		}
		return out
	}
	lower, upper := side(-high), side(0)
	slices.Reverse(upper)
	ring := append(plane.Ring{{X: plane.Round(-long * rng.Float64())}}, lower...)
	ring = append(append(ring, plane.Point{X: plane.Round(long * (1 + rng.Float64()))}), upper...)
	return slices.Compact(ring)
}

// edgesOf lists the edges of all rings of p.
func edgesOf(p plane.Polygon) []near.Edge {
	var out []near.Edge
	for _, r := range p.Rings() {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			out = append(out, near.EdgeOf(a, b))
		}
	}
	return out
}
