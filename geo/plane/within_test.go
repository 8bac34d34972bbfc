package plane_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/plane"
)

// winding is how often r winds round p; onEdge, whether p lies on it.
func winding(r plane.Ring, p plane.Point) (n int, onEdge bool) {
	for i, a := range r {
		b := r[(i+1)%len(r)]
		side := plane.Side(a, b, p)
		if side == plane.Straight && min(a.X, b.X) <= p.X && p.X <= max(a.X, b.X) && min(a.Y, b.Y) <= p.Y && p.Y <= max(a.Y, b.Y) {
			return 0, true
		}
		switch {
		case a.Y <= p.Y && b.Y > p.Y && side == plane.Left:
			n++
		case a.Y > p.Y && b.Y <= p.Y && side == plane.Right:
			n--
		}
	}
	return n, false
}

// toRing is the distance from p to the nearest place of r, in ticks.
func toRing(r plane.Ring, p plane.Point) float64 {
	best := math.Inf(1)
	for i, a := range r {
		b := r[(i+1)%len(r)]
		dx, dy := float64(b.X-a.X), float64(b.Y-a.Y)
		px, py := float64(p.X-a.X), float64(p.Y-a.Y)
		t := max(0, min(1, (px*dx+py*dy)/(dx*dx+dy*dy)))
		best = min(best, math.Hypot(px-t*dx, py-t*dy))
	}
	return best
}

// star is a ring about a place whose corners lie at rising angles: simple,
// with reflex corners wherever a radius is short.
func star(r *rand.Rand, corners int, least, most float64) plane.Ring {
	out := make(plane.Ring, corners)
	for i := range out {
		angle := 2 * math.Pi * (float64(i) + 0.8*r.Float64()) / float64(corners)
		radius := (least + (most-least)*r.Float64()) * float64(plane.Metre)
		out[i] = plane.Point{X: plane.Round(radius * math.Cos(angle)), Y: plane.Round(radius * math.Sin(angle))}
	}
	return out
}

// rimError is how far the rim of Within may lie from the true one: a chord of
// a round corner lies up to 1 mm inside its arc, and rounding moves a point by
// up to 0.7 ticks; a shared corner adds half a tick.
const rimError = 1*plane.Millimetre + 2*plane.Tick

// The ground within d of a ring, on its left, is what Within's rings cover.
// Each random place is asked by brute force how far it is.
//
// Near a corner that turns left the rectangles reach across the other edge, to
// the right of the ring: outside a shell that is no field, and not asked.
func TestWithin(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 14))
	inside, outside := 0, 0
	for range 60 {
		corners := 3 + r.IntN(9)
		ring := star(r, corners, 30, 100)
		if r.IntN(2) == 0 { // convex: corners on a circle
			ring = star(r, corners, 80, 80)
		}
		hole := r.IntN(3) == 0
		if hole {
			ring = ring.Reversed() // the ground is now outside
		}
		d := plane.Metres(1 + 25*r.Float64())
		rings := plane.Within(ring, d)
		for _, s := range rings {
			require.Positive(t, s.Area(), "rings run anticlockwise")
		}
		for range 400 {
			p := plane.Point{X: plane.Length(r.IntN(2600000) - 1300000), Y: plane.Length(r.IntN(2600000) - 1300000)}
			n, edge := winding(ring, p)
			if edge || (n != 0) == hole {
				continue // not on the left
			}
			gap := toRing(ring, p) - float64(d)
			if math.Abs(gap) <= float64(rimError) {
				continue
			}
			covered := false
			for _, s := range rings {
				w, on := winding(s, p)
				covered = covered || w > 0 || on
			}
			assert.Equal(t, gap < 0, covered, "%v is %v ticks from the rim of %v within %v", p, gap, ring, d)
			if covered {
				inside++
			} else {
				outside++
			}
		}
	}
	assert.Greater(t, inside, 1000)
	assert.Greater(t, outside, 1000)
}

// Just inside the rim all is covered and just outside nothing: places are
// taken along the true rim, from edges and from round corners alike.
func TestWithinRim(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 71))
	for range 40 {
		ring := star(r, 4+r.IntN(8), 40, 120)
		d := plane.Metres(2 + 10*r.Float64())
		rings := plane.Within(ring, d)
		for range 200 {
			angle := 2 * math.Pi * r.Float64()
			i := r.IntN(len(ring))
			k := r.Float64()
			if r.IntN(2) == 0 {
				k = 0 // a corner
			}
			a, b := ring[i], ring[(i+1)%len(ring)]
			x, y := float64(a.X)+k*float64(b.X-a.X), float64(a.Y)+k*float64(b.Y-a.Y)
			for _, off := range []float64{-15, 15} {
				sin, cos := math.Sincos(angle)
				reach := float64(d) + off
				p := plane.Point{X: plane.Round(x + reach*cos), Y: plane.Round(y + reach*sin)}
				if n, edge := winding(ring, p); edge || n == 0 {
					continue
				}
				gap := toRing(ring, p) - float64(d)
				if math.Abs(gap) <= float64(rimError) {
					continue
				}
				covered := false
				for _, s := range rings {
					w, on := winding(s, p)
					covered = covered || w > 0 || on
				}
				assert.Equal(t, gap < 0, covered, "%v is %v ticks from the rim", p, gap)
			}
		}
	}
}

// No ring, no ground; nor within nothing.
func TestWithinNothing(t *testing.T) {
	assert.Empty(t, plane.Within(nil, plane.Metre))
	assert.Empty(t, plane.Within(plane.Ring{{X: 1}}, plane.Metre))
	square := plane.Ring{{}, {X: plane.Metre}, {X: plane.Metre, Y: plane.Metre}, {Y: plane.Metre}}
	assert.Empty(t, plane.Within(square, 0))
}

// A straight edge given in pieces, and a gentle curve, leave no wedge open
// between one piece's rectangle and the next.
func TestWithinGentleCurve(t *testing.T) {
	var ring plane.Ring
	for k := range 720 {
		sin, cos := math.Sincos(float64(k) * math.Pi / 360)
		ring = append(ring, plane.Point{X: plane.Metres(200 * cos), Y: plane.Metres(150 * sin)})
	}
	for _, r := range []plane.Ring{ring, ring.Reversed()} { // a shell, and a hole
		d := 12 * plane.Metre
		rings := plane.Within(r, d)
		g := rand.New(rand.NewPCG(1, 1))
		for range 3000 {
			k := g.IntN(len(r))
			p := plane.Point{X: r[k].X + plane.Length(g.IntN(300000)-150000), Y: r[k].Y + plane.Length(g.IntN(300000)-150000)}
			n, edge := winding(ring, p)
			if edge || (n != 0) != (r.Area() > 0) {
				continue
			}
			gap := toRing(r, p) - float64(d)
			if math.Abs(gap) <= float64(rimError) {
				continue
			}
			covered := false
			for _, s := range rings {
				w, on := winding(s, p)
				covered = covered || w > 0 || on
			}
			require.Equal(t, gap < 0, covered, "%v is %v ticks from the rim", p, gap)
		}
	}
}

// covered reports whether the rings of Within, as one layer, are over p: what one
// winds round the wrong way another may make up for.
func covered(rings []plane.Ring, p plane.Point) bool {
	n := 0
	for _, r := range rings {
		w, on := winding(r, p)
		if on {
			return true
		}
		n += w
	}
	return n > 0
}

// Beyond 100 m a corner takes no more points than there: its arc is off by more, as
// the square of the distance, and by nothing else.
func TestWithinFar(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 100))
	near, far := 0, 0
	for range 40 {
		ring := star(r, 3+r.IntN(9), 300, 1000).Reversed() // a hole: the ground is outside
		d := plane.Metres(100 + 900*r.Float64())
		share := float64(d) / float64(100*plane.Metre)
		off := float64(plane.Millimetre)*share*share + 2*float64(plane.Tick)
		rings := plane.Within(ring, d)
		for _, s := range rings {
			assert.LessOrEqual(t, len(s), 360, "points of a corner")
		}
		for range 400 {
			p := plane.Point{X: plane.Length(r.IntN(40_000_000) - 20_000_000), Y: plane.Length(r.IntN(40_000_000) - 20_000_000)}
			if n, edge := winding(ring, p); n != 0 || edge {
				continue
			}
			gap := toRing(ring, p) - float64(d)
			if math.Abs(gap) <= off {
				continue
			}
			require.Equal(t, gap < 0, covered(rings, p), "%v is %v ticks from the rim of %v within %v", p, gap, ring, d)
			if gap < 0 {
				near++
			} else {
				far++
			}
		}
	}
	assert.Greater(t, near, 1000)
	assert.Greater(t, far, 1000)
}

// A round boundary with a corner each metre is one ring far out, not thousands that
// run side by side.
func TestWithinFarRound(t *testing.T) {
	const radius = 1500.0
	var ring plane.Ring
	for k := range 9000 {
		sin, cos := math.Sincos(float64(k) * 2 * math.Pi / 9000)
		ring = append(ring, plane.Point{X: plane.Metres(radius * cos), Y: plane.Metres(radius * sin)})
	}
	for _, tc := range []struct {
		name string
		ring plane.Ring
	}{{"a shell", ring}, {"a hole", ring.Reversed()}} {
		t.Run(tc.name, func(t *testing.T) {
			d := 400 * plane.Metre
			rings := plane.Within(tc.ring, d)
			assert.Len(t, rings, 1)
			g := rand.New(rand.NewPCG(1, 2))
			for range 300 {
				sin, cos := math.Sincos(2 * math.Pi * g.Float64())
				from := radius + 600*(2*g.Float64()-1) // m from the middle
				p := plane.Point{X: plane.Metres(from * cos), Y: plane.Metres(from * sin)}
				in := from < radius
				if in != (tc.ring.Area() > 0) || math.Abs(math.Abs(from-radius)-400) < 0.02 || math.Abs(from-radius) < 0.02 {
					continue
				}
				require.Equal(t, math.Abs(from-radius) < 400, covered(rings, p), "%v m from the middle", from)
			}
		})
	}
}
