package plane_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/plane"
)

// A field with a hole, 10 ticks a column and a line:
//
//	40  h-----------g
//	30  |   d---c   |
//	20  |   |   |   |
//	10  |   a---b   |
//	 0  e-----------f
//	    0   10  20  30
var holed = plane.Polygon{
	Shell: plane.Ring{{}, {X: 30}, {X: 30, Y: 40}, {Y: 40}},
	Holes: []plane.Ring{{{X: 10, Y: 10}, {X: 10, Y: 30}, {X: 20, Y: 30}, {X: 20, Y: 10}}},
}

func TestContains(t *testing.T) {
	for _, c := range []struct {
		name string
		at   plane.Point
		want bool
	}{
		{"beside the hole", plane.Point{X: 5, Y: 20}, true},
		{"in the hole", plane.Point{X: 15, Y: 20}, false},
		{"west of all", plane.Point{X: -1, Y: 20}, false},
		{"on a line with a corner of the hole", plane.Point{X: 5, Y: 10}, true},
		{"outside, on a line with the bottom", plane.Point{X: -5}, false},
		// What lies just east, or north, of an edge decides.
		{"on the west edge", plane.Point{Y: 20}, true},
		{"on the east edge", plane.Point{X: 30, Y: 20}, false},
		{"on the bottom", plane.Point{X: 5}, true},
		{"on the top", plane.Point{X: 5, Y: 40}, false},
		{"on the hole's west edge", plane.Point{X: 10, Y: 20}, false},
		{"on the hole's east edge", plane.Point{X: 20, Y: 20}, true},
		{"on the south-west corner", plane.Point{}, true},
		{"on the north-east corner", plane.Point{X: 30, Y: 40}, false},
	} {
		assert.Equal(t, c.want, holed.Contains(c.at), c.name)
	}
	assert.False(t, plane.EvenOdd(nil, plane.Point{}))
}

// A place off the edges is in a star where the star winds round it; the rings
// may begin anywhere and run either way.
func TestEvenOddIsWinding(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	in, out := 0, 0
	for range 100 {
		ring := star(r, 3+r.IntN(12), 5, 50)
		k := r.IntN(len(ring))
		turned := append(append(plane.Ring{}, ring[k:]...), ring[:k]...)
		for range 100 {
			p := plane.Point{X: plane.Length(r.IntN(1e6) - 5e5), Y: plane.Length(r.IntN(1e6) - 5e5)}
			n, edge := winding(ring, p)
			if edge {
				continue
			}
			got := plane.Polygon{Shell: ring}.Contains(p)
			assert.Equal(t, n != 0, got)
			assert.Equal(t, got, plane.EvenOdd([]plane.Ring{turned}, p))
			assert.Equal(t, got, plane.EvenOdd([]plane.Ring{ring.Reversed()}, p))
			if got {
				in++
			} else {
				out++
			}
		}
	}
	assert.Greater(t, in, 1000)
	assert.Greater(t, out, 1000)
}

// Of triangles round a place that share their edges, exactly one contains each
// point, those on the edges and corners too. The grid is so small that many are.
func TestOneContainsEachPoint(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	edges := 0
	for range 300 {
		n := 5 + r.IntN(4)
		var rim plane.Ring
		for _, p := range star(r, n, 1, 1) {
			rim = append(rim, plane.Point{X: p.X / 800, Y: p.Y / 800}) // 12 ticks about the middle
		}
		var fan []plane.Polygon
		for i, p := range rim {
			tri := plane.Ring{{}, p, rim[(i+1)%n]}
			if tri.Area() > 0 {
				fan = append(fan, plane.Polygon{Shell: tri})
			}
		}
		whole := plane.Polygon{Shell: rim}
		for x := plane.Length(-14); x <= 14; x++ {
			for y := plane.Length(-14); y <= 14; y++ {
				p := plane.Point{X: x, Y: y}
				count := 0
				for _, f := range fan {
					if f.Contains(p) {
						count++
					}
					if _, on := winding(f.Shell, p); on {
						edges++
					}
				}
				want := 0
				if whole.Contains(p) {
					want = 1
				}
				assert.Equal(t, want, count, "%v in %v", p, rim)
			}
		}
	}
	assert.Greater(t, edges, 1000)
}

func TestOnSegment(t *testing.T) {
	a, b := plane.Point{X: 3, Y: 1}, plane.Point{X: 9, Y: 4}
	for _, c := range []struct {
		p    plane.Point
		want bool
	}{
		{plane.Point{X: 5, Y: 2}, true}, {plane.Point{X: 7, Y: 3}, true}, {a, true}, {b, true},
		{plane.Point{X: 6, Y: 2}, false}, {plane.Point{X: 11, Y: 5}, false}, {plane.Point{X: 1}, false},
	} {
		assert.Equal(t, c.want, plane.OnSegment(a, b, c.p), "%v", c.p)
		assert.Equal(t, c.want, plane.OnSegment(b, a, c.p), "%v", c.p)
	}
	assert.True(t, plane.OnSegment(a, a, a))
	assert.False(t, plane.OnSegment(a, a, b))
}

// The level line goes over the hole: it is the wider stretch beside it.
//
//	40   -----------
//	    |  ____     |
//	20  |-|----|-x--|
//	    | |____|    |
//	 0   -----------
//	    0 5   15 x 30
func TestInteriorPoint(t *testing.T) {
	p := plane.Polygon{
		Shell: plane.Ring{{}, {X: 30}, {X: 30, Y: 40}, {Y: 40}},
		Holes: []plane.Ring{{{X: 5, Y: 10}, {X: 5, Y: 30}, {X: 15, Y: 30}, {X: 15, Y: 10}}},
	}
	assert.Equal(t, plane.Point{X: 23, Y: 20}, p.InteriorPoint()) // 22.5, halves upward
	r := rand.New(rand.NewPCG(10, 10))
	for range 500 {
		ring := star(r, 3+r.IntN(12), 5, 50)
		if ring.Area() <= 0 {
			continue // all its corners on one side of the middle
		}
		n, edge := winding(ring, plane.Polygon{Shell: ring}.InteriorPoint())
		assert.True(t, n > 0 || edge, "%v", ring)
	}
}

func TestPerimeter(t *testing.T) {
	assert.Equal(t, plane.Distance(140+60), holed.Perimeter())
}

// Winding is what summing angles gives, over all rings together, and a place on
// an edge is told.
func TestWinding(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	on := 0
	for range 100 {
		a, b := star(r, 3+r.IntN(12), 5, 50), star(r, 3+r.IntN(12), 5, 50).Reversed()
		rings := []plane.Ring{a, b, a}
		for range 100 {
			p := plane.Point{X: plane.Length(r.IntN(1e6) - 5e5), Y: plane.Length(r.IntN(1e6) - 5e5)}
			if r.IntN(20) == 0 {
				p = a[r.IntN(len(a))]
			}
			m, onA := winding(a, p)
			n, onB := winding(b, p)
			got, edge := plane.Winding(rings, p)
			require.Equal(t, onA || onB, edge)
			if edge {
				on++
				continue
			}
			require.Equal(t, 2*m+n, got)
		}
	}
	assert.Greater(t, on, 100)
}
