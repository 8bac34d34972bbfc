package coverage

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/arrange"
	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
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
		// Its width is that of the strip; the needle is two ticks wide at most.
		{"a strip with a needle at its corner", plane.Polygon{Shell: plane.Ring{{X: 0, Y: 0}, {X: 100000, Y: -3}, {X: 100002, Y: 86662}, {X: 99999, Y: 19996}, {X: 0, Y: 19998}}}, 1},
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
			_, _, d2 := e.Nearest(float64(at.X), float64(at.Y))
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
		if (e.AY > y) != (e.BY > y) && x < e.AX+(y-e.AY)/(e.BY-e.AY)*(e.BX-e.AX) {
			in = !in
		}
	}
	return in
}

// No circle that fits is wider by more than it says: on random shapes with
// holes, long and thin, round and ragged, a fine grid of places is asked how
// far each is from the outline, and the best is moved about.
func TestWidestCircleIsWidest(t *testing.T) {
	shapes := 0
	for seed := range uint64(300) {
		rng := rand.New(rand.NewPCG(seed, 11))
		var swept arrange.Layer
		for range 1 + rng.IntN(6) { // triangles and bars that overlap
			swept = append(swept, randomRing(rng))
		}
		for _, f := range arrange.Cut([]arrange.Layer{swept}, func([]int) arrange.Label { return 1 }).Faces {
			shapes++
			_, r := widestCircle(f.Shape)
			want := widestByGrid(f.Shape)
			assert.LessOrEqual(t, want, r*(1+widerBy)+wider+1, "seed %d", seed)
		}
	}
	assert.Greater(t, shapes, 300)
}

// Nor in strips, whose two sides have corners of their own, some of them one
// above another: many places half-way from one side to the other are asked.
func TestWidestCircleOfStrips(t *testing.T) {
	found := 0
	for seed := range uint64(400) {
		rng := rand.New(rand.NewPCG(seed, 13))
		p := plane.Polygon{Shell: randomStrip(rng)}
		edges := edgesOf(p)
		_, r := widestCircle(p)
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
			assert.LessOrEqual(t, room, r*(1+widerBy)+wider, "seed %d", seed)
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

func randomRing(rng *rand.Rand) plane.Ring {
	ring := make(plane.Ring, 3+rng.IntN(9))
	ox, oy := 6e4*rng.Float64(), 6e4*rng.Float64()
	long, flat, turn := 2e4+8e4*rng.Float64(), math.Pow(10, -2*rng.Float64()), 2*math.Pi*rng.Float64()
	s, c := math.Sincos(turn)
	for i := range ring {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.8*rng.Float64()) / float64(len(ring)))
		r := long * (0.4 + rng.Float64())
		x, y := r*cos, r*sin*flat
		ring[i] = plane.Point{X: plane.Round(ox + x*c - y*s), Y: plane.Round(oy + x*s + y*c)}
	}
	return ring
}

// widestByGrid is the distance from the outline of the place farthest from it,
// of a grid of places whose best are moved about.
func widestByGrid(p plane.Polygon) float64 {
	edges := edgesOf(p)
	inside := func(x, y float64) float64 {
		d, in := math.Inf(1), false
		for i := range edges {
			e := &edges[i]
			_, _, d2 := e.Nearest(x, y)
			d = min(d, d2)
			if (e.AY > y) != (e.BY > y) && x < e.AX+(y-e.AY)/(e.BY-e.AY)*(e.BX-e.AX) {
				in = !in
			}
		}
		if !in {
			return 0
		}
		return math.Sqrt(d)
	}
	b := p.Shell.Bounds()
	const n = 60
	best := 0.0
	w, h := float64(b.Max.X-b.Min.X)/n, float64(b.Max.Y-b.Min.Y)/n
	for i := range n {
		for j := range n {
			x, y := float64(b.Min.X)+(float64(i)+0.5)*w, float64(b.Min.Y)+(float64(j)+0.5)*h
			d := inside(x, y)
			if d+max(w, h) < best {
				continue
			}
			for step := max(w, h) / 2; step > 1 && d+2*step > best; step /= 2 {
				for moved := true; moved; {
					moved = false
					for k := range 8 {
						sin, cos := math.Sincos(float64(k) * math.Pi / 4)
						if e := inside(x+step*cos, y+step*sin); e > d {
							x, y, d, moved = x+step*cos, y+step*sin, e, true
						}
					}
				}
			}
			best = max(best, d)
		}
	}
	return best
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
