package inscribed_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/arrange"
	"lapwing/geo/plane"
	"lapwing/geo/plane/inscribed"
	"lapwing/geo/plane/near"
)

// The circles of the table, in a square and in a strip:
//
//	 ________
//	| .----. |     ______________________
//	|(      )|    |         ( )          |
//	|_`----´_|     ----------------------
func TestCircle(t *testing.T) {
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
		// Its centre is r from the outer sides, so 4 - r west and south of the
		// inner corner, which it touches: r = (4 - r)√2.
		//
		//	 ___
		//	|   |
		//	|   |_____
		//	|_________|
		{"an L in its corner", plane.Polygon{Shell: plane.Ring{{X: 0, Y: 0}, {X: 10 * m, Y: 0}, {X: 10 * m, Y: 4 * m}, {X: 4 * m, Y: 4 * m}, {X: 4 * m, Y: 10 * m}, {X: 0, Y: 10 * m}}}, 4 * math.Sqrt2 / (1 + math.Sqrt2)},
		// Its width is that of the strip; the needle is two ticks wide at most.
		{"a strip with a needle at its corner", plane.Polygon{Shell: plane.Ring{{X: 0, Y: 0}, {X: 100000, Y: -3}, {X: 100002, Y: 86662}, {X: 99999, Y: 19996}, {X: 0, Y: 19998}}}, 1},
	} {
		t.Run(tc.name, func(t *testing.T) {
			at, r := new(inscribed.Finder).Circle(tc.shape)
			assert.InEpsilon(t, tc.radius, float64(r)/float64(m), inscribed.RelativeError)
			assert.True(t, tc.shape.Contains(at))
		})
	}
}

// Whatever the shape, the circle lies inside: its middle does, no edge is
// nearer than its radius, and its area is no larger.
func TestCircleIsInside(t *testing.T) {
	var finder inscribed.Finder
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
		at, r := finder.Circle(p)
		assert.LessOrEqual(t, float64(math.Pi*r*r), float64(p.Area())/2*1.0001, "seed %d", seed)
		nearest := math.Inf(1)
		for _, e := range edgesOf(p) {
			_, _, d2 := e.Nearest(float64(at.X), float64(at.Y))
			nearest = min(nearest, math.Sqrt(d2))
		}
		assert.GreaterOrEqual(t, nearest, float64(r-1), "seed %d", seed) // the middle is rounded to the tick
		if r > 2 {
			assert.True(t, p.Contains(at), "seed %d", seed)
		}
	}
}

// No circle that fits is wider by more than it says: on random shapes with
// holes, long and thin, round and ragged, a fine grid of places is asked how
// far each is from the outline, and the best is moved about.
func TestCircleIsWidest(t *testing.T) {
	var finder inscribed.Finder
	shapes := 0
	for seed := range uint64(300) {
		rng := rand.New(rand.NewPCG(seed, 11))
		var swept arrange.Layer
		for range 1 + rng.IntN(6) { // triangles and bars that overlap
			swept = append(swept, randomRing(rng))
		}
		for _, f := range arrange.Cut([]arrange.Layer{swept}, func([]int) arrange.Label { return 1 }).Faces {
			shapes++
			_, r := finder.Circle(f.Shape)
			want := widestByGrid(f.Shape)
			assert.LessOrEqual(t, want, float64(r)*(1+inscribed.RelativeError)+inscribed.AbsoluteError+1, "seed %d", seed)
		}
	}
	assert.Greater(t, shapes, 300)
}

// A shift of the polygon by whole ticks shifts the circle, and changes no digit
// of its radius; nor does what the finder found before.
func TestCircleShifts(t *testing.T) {
	var used inscribed.Finder
	for seed := range uint64(200) {
		rng := rand.New(rand.NewPCG(seed, 17))
		ring := randomRing(rng)
		by := plane.Point{X: plane.Length(rng.IntN(8e8) - 4e8), Y: plane.Length(rng.IntN(8e8) - 4e8)}
		shifted := make(plane.Ring, len(ring))
		for i, p := range ring {
			shifted[i] = p.Add(by)
		}
		at, r := new(inscribed.Finder).Circle(plane.Polygon{Shell: ring})
		there, q := used.Circle(plane.Polygon{Shell: shifted})
		assert.Equal(t, r, q, "seed %d", seed)
		assert.Equal(t, at.Add(by), there, "seed %d", seed)
	}
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
