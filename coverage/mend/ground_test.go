package mend

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"lapwing/geo/plane"
)

// ring makes a ring from metres: x0, y0, x1, y1, ...
func ring(metres ...float64) plane.Ring {
	var out plane.Ring
	for i := 0; i < len(metres); i += 2 {
		out = append(out, plane.Point{X: plane.Metres(metres[i]), Y: plane.Metres(metres[i+1])})
	}
	return out
}

func at(x, y float64) plane.Point { return plane.Point{X: plane.Metres(x), Y: plane.Metres(y)} }

// A field with a square hole:
//
//	100 +---------------+
//	    |     60        |
//	    |   +---+       |
//	    |   | # |       |
//	    | 40+---+60     |
//	  0 +---------------+ 100
func holed() []plane.Polygon {
	return []plane.Polygon{{
		Shell: ring(0, 0, 100, 0, 100, 100, 0, 100),
		Holes: []plane.Ring{ring(40, 40, 40, 60, 60, 60, 60, 40)},
	}}
}

func TestSees(t *testing.T) {
	g := newGround(holed())
	for _, c := range []struct {
		name string
		a, b plane.Point
		want bool
	}{
		{"past the hole", at(10, 10), at(90, 10), true},
		{"through the hole", at(10, 50), at(90, 50), false},
		{"along the hole's side", at(40, 10), at(40, 90), true},
		{"along the boundary", at(0, 0), at(0, 100), true},
		{"from corner to corner of the hole", at(40, 40), at(60, 60), false},
		{"touching a corner of the hole", at(20, 60), at(60, 20), true},
		{"out of the field", at(50, 90), at(50, 110), false},
		{"outside all along", at(-10, 0), at(-10, 100), false},
		{"from the boundary into the field", at(0, 50), at(39, 50), true},
		{"into the hole and no farther", at(10, 50), at(50, 50), false},
		{"nowhere, on the ground", at(10, 10), at(10, 10), true},
		{"nowhere, in the hole", at(50, 50), at(50, 50), false},
		{"a tick into the hole", at(10, 40.0001), at(90, 40.0001), false},
	} {
		assert.Equal(t, c.want, g.sees(c.a, c.b), c.name)
		assert.Equal(t, c.want, g.sees(c.b, c.a), c.name+", back")
	}
}

// The shortest way from one side of the hole to the other goes round two of
// its corners; it keeps the berth away from them and is that much longer.
func TestTravelRoundAHole(t *testing.T) {
	g := newGround(holed())
	w := g.travel([]plane.Point{at(10, 50), at(90, 50)})
	far, before := w.from(0)
	way := w.way(0, 1, before)
	tight := 2*math.Hypot(30, 10) + 20 // along the very corners
	aside := berth.Metres() / math.Sqrt2
	want := 2*math.Hypot(30-aside, 10+aside) + 20 + 2*aside
	assert.Len(t, way, 4)
	assert.InDelta(t, want, far[1].Metres(), 0.001) // corners lie on the grid
	assert.Greater(t, far[1].Metres(), tight)
}

// A gap narrower than the berth is gone through all the same: there is no
// other way.
//
//	+-----+ +-----+
//	|  a  |_|  b  |
//	+-------------+   the passage is 0.4 m wide
func TestTravelThroughANarrowGap(t *testing.T) {
	g := newGround([]plane.Polygon{{Shell: ring(0, 0, 100, 0, 100, 50, 51, 50, 51, 0.4, 49, 0.4, 49, 50, 0, 50)}})
	w := g.travel([]plane.Point{at(20, 40), at(80, 40)})
	_, before := w.from(0)
	assert.NotNil(t, w.way(0, 1, before))
}

// field draws a field with a ragged edge and some holes, and places on it.
func land(rt *rapid.T) ([]plane.Polygon, []plane.Point) {
	star := func(label string, cx, cy, least, most float64, corners int) plane.Ring {
		var out plane.Ring
		for i := range corners {
			r := rapid.Float64Range(least, most).Draw(rt, label)
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(corners))
			out = append(out, at(cx+r*cos, cy+r*sin))
		}
		return out
	}
	p := plane.Polygon{Shell: star("edge", 0, 0, 120, 300, rapid.IntRange(4, 16).Draw(rt, "corners"))}
	for i, c := range [][2]float64{{-45, -45}, {45, -45}, {45, 45}, {-45, 45}}[:rapid.IntRange(0, 4).Draw(rt, "holes")] {
		p.Holes = append(p.Holes, star("hole", c[0], c[1], 3, 30, 3+2*i).Reversed())
	}
	g := newGround([]plane.Polygon{p})
	var places []plane.Point
	for len(places) < 6 {
		q := at(rapid.Float64Range(-300, 300).Draw(rt, "x"), rapid.Float64Range(-300, 300).Draw(rt, "y"))
		if g.holds(q) {
			places = append(places, q)
		}
	}
	return []plane.Polygon{p}, places
}

// outOf reports how far a way strays from the ground, looked at in small steps
// with a test of its own: rays to the east, in floating point.
func outOf(parts []plane.Polygon, way []plane.Point) float64 {
	worst := 0.0
	for i := 1; i < len(way); i++ {
		n := math.Ceil(way[i-1].Distance(way[i]).Metres()) + 1
		for k := 0.0; k <= n; k++ {
			x := float64(way[i-1].X) + k/n*float64(way[i].X-way[i-1].X)
			y := float64(way[i-1].Y) + k/n*float64(way[i].Y-way[i-1].Y)
			in, near := false, math.Inf(1)
			for _, p := range parts {
				for _, r := range p.Rings() {
					for j, a := range r {
						b := r[(j+1)%len(r)]
						ax, ay, bx, by := float64(a.X), float64(a.Y), float64(b.X), float64(b.Y)
						if (ay > y) != (by > y) && x < ax+(y-ay)/(by-ay)*(bx-ax) {
							in = !in
						}
						t := ((x-ax)*(bx-ax) + (y-ay)*(by-ay)) / ((bx-ax)*(bx-ax) + (by-ay)*(by-ay))
						t = max(0, min(1, t))
						near = min(near, math.Hypot(x-ax-t*(bx-ax), y-ay-t*(by-ay)))
					}
				}
			}
			if !in {
				worst = max(worst, near)
			}
		}
	}
	return worst
}

// Whatever the field, travel stays inside the boundary and out of the holes,
// every place is reached, and no way is shorter than the straight line.
func TestTravelStaysOnTheGround(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		parts, places := land(rt)
		w := newGround(parts).travel(places)
		for i := range places {
			far, before := w.from(i)
			for k := range places {
				way := w.way(i, k, before)
				if way == nil {
					rt.Fatalf("no way from %v to %v", places[i], places[k])
				}
				if out := outOf(parts, way); out > 1 { // a tick: corners are on the grid
					rt.Fatalf("the way %v leaves the ground by %g ticks", way, out)
				}
				if far[k] < places[i].Distance(places[k])-1e-6 {
					rt.Fatalf("%v to %v is shorter than straight", places[i], places[k])
				}
			}
		}
	})
}

// Places that are told by the edges at their height are those that are inside by all
// edges, or on one of them.
func TestHoldsAgainstAllEdges(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		parts, _ := land(rt)
		g := newGround(parts)
		ring := g.rings[rapid.IntRange(0, len(g.rings)-1).Draw(rt, "ring")]
		corner := ring[rapid.IntRange(0, len(ring)-1).Draw(rt, "corner")]
		off := rapid.OneOf(rapid.Int64Range(-2, 2), rapid.Int64Range(-4e6, 4e6)) // level with a corner, or anywhere
		p := plane.Point{X: corner.X + plane.Length(off.Draw(rt, "east")), Y: corner.Y + plane.Length(off.Draw(rt, "north"))}
		winding, on := plane.Winding(g.rings, p)
		assert.Equal(rt, on || winding != 0, g.holds(p), "%v", p)
	})
}

// Steps of a line that are looked at together are seen as each by itself, and places in a
// box that no edge comes near are all on the ground, or none.
func TestTogetherAsOneByOne(t *testing.T) {
	random := rand.New(rand.NewPCG(20, 26))
	seen, same := map[bool]int{}, map[bool]int{}
	for range 200 {
		ring := func(radius float64) (r plane.Ring) {
			n := 3 + random.IntN(30)
			for i := range n {
				sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
				far := radius * (0.7 + 0.3*random.Float64())
				r = append(r, at(far*cos, far*sin))
			}
			return r
		}
		hole := ring(80)
		slices.Reverse(hole)
		g := newGround([]plane.Polygon{{Shell: ring(300), Holes: []plane.Ring{hole}}})
		var line []plane.Point
		x, y, course := 700*random.Float64()-350, 700*random.Float64()-350, 2*math.Pi*random.Float64()
		for range 1 + random.IntN(300) {
			line = append(line, at(x, y))
			sin, cos := math.Sincos(course)
			x, y, course = x+2*sin, y+2*cos, course+0.1*random.NormFloat64()
		}
		each := g.seesEach(line)
		require.Len(t, each, len(line)-1)
		for i, sees := range each {
			seen[sees]++
			require.Equal(t, g.sees(line[i], line[i+1]), sees, "step %d", i)
		}
		for from := 0; from < len(line); from += 9 {
			places := line[from:min(from+9, len(line))]
			on, all := g.holdsAll(places)
			same[all]++
			for _, p := range places {
				require.True(t, !all || g.holds(p) == on)
			}
		}
	}
	for _, counted := range []map[bool]int{seen, same} {
		assert.Greater(t, counted[true], 100)
		assert.Greater(t, counted[false], 100)
	}
}
