package coverage

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/plane"
)

func TestWidestCircle(t *testing.T) {
	const m = plane.Metre
	square := plane.Ring{{X: 0, Y: 0}, {X: 10 * m, Y: 0}, {X: 10 * m, Y: 10 * m}, {X: 0, Y: 10 * m}}
	hole := plane.Ring{{X: 4 * m, Y: 4 * m}, {X: 4 * m, Y: 6 * m}, {X: 6 * m, Y: 6 * m}, {X: 6 * m, Y: 4 * m}}
	for _, tc := range []struct {
		name   string
		shape  plane.Polygon
		radius float64 // m
	}{
		{"a square holds half its side", plane.Polygon{Shell: square}, 5},
		// Between a corner and the hole's: r + r√2 = 4√2.
		{"a square with a hole", plane.Polygon{Shell: square, Holes: []plane.Ring{hole}}, 4 * math.Sqrt2 / (1 + math.Sqrt2)},
		{"a strip half its width", plane.Polygon{Shell: plane.Ring{{X: 0, Y: 0}, {X: 500 * m, Y: 0}, {X: 500 * m, Y: m}, {X: 0, Y: m}}}, 0.5},
		// An equilateral triangle of side a holds a/(2√3).
		{"a triangle", plane.Polygon{Shell: plane.Ring{{X: 0, Y: 0}, {X: 10 * m, Y: 0}, {X: 5 * m, Y: plane.Metres(5 * math.Sqrt(3))}}}, 10 / (2 * math.Sqrt(3))},
	} {
		t.Run(tc.name, func(t *testing.T) {
			at, r := widestCircle(tc.shape)
			assert.InEpsilon(t, tc.radius, r/float64(m), 0.01)
			assert.True(t, holds(tc.shape, at))
		})
	}
}

// Whatever the shape, the circle lies inside: its middle does, no edge is
// nearer than its radius, and its area is no larger.
func TestWidestCircleIsInside(t *testing.T) {
	for seed := range uint64(2000) {
		rng := rand.New(rand.NewPCG(seed, 7))
		// A star about the origin, flattened at random to slivers.
		ring := make(plane.Ring, 3+rng.IntN(12))
		flat := math.Pow(10, -3*rng.Float64())
		for i := range ring {
			sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.8*rng.Float64()) / float64(len(ring)))
			r := 1e5 * (0.2 + rng.Float64())
			ring[i] = plane.Point{X: plane.Round(r * cos), Y: plane.Round(r * sin * flat)}
		}
		p := plane.Polygon{Shell: ring}
		if p.Area() <= 0 || len(ring) < 3 {
			continue
		}
		at, r := widestCircle(p)
		assert.LessOrEqual(t, math.Pi*r*r, float64(p.Area())/2*1.0001, "seed %d", seed)
		nearest := math.Inf(1)
		for _, e := range edgesOf(p) {
			_, _, d2 := e.nearest(float64(at.X), float64(at.Y))
			nearest = min(nearest, math.Sqrt(d2))
		}
		assert.GreaterOrEqual(t, nearest, r-1, "seed %d", seed) // the middle is rounded to the tick
		if r > 2 {
			assert.True(t, holds(p, at), "seed %d", seed)
		}
	}
}

// holds reports whether at lies in p: a ray to the east crosses its rings an
// odd number of times.
func holds(p plane.Polygon, at plane.Point) bool {
	in := false
	for _, e := range edgesOf(p) {
		x, y := float64(at.X), float64(at.Y)
		if (e.ay > y) != (e.by > y) && x < e.ax+(y-e.ay)/(e.by-e.ay)*(e.bx-e.ax) {
			in = !in
		}
	}
	return in
}
