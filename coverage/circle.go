package coverage

import (
	"math"

	"lapwing/geo/plane"
)

// How much wider than the circle found another may be, as a share and in
// ticks of radius: nobody acts on a skip that is a hundredth wider, and where
// its outline runs is known to Thin at best.
const (
	widerBy = 0.01
	wider   = float64(Thin) / 2
)

// mostTries is how many circles are tried for each edge of a patch at most.
// Hard patches take a tenth of it; a patch of millions of edges that are in
// each other's way all along must end too.
const mostTries = 40

// widestCircle finds a circle that fits into p, and its middle; no circle that
// fits is wider by more than widerBy and wider.
//
// The widest circle touches the outline along an edge or at a corner that
// points inward. So each edge is tried: the circle that touches its middle is
// grown until another edge is in the way at q. That edge is in the way of the
// circles that touch other places of the first one, too: none of them is wider
// than the widest that touches both. If that one may be wider than the best
// circle so far, the edge is halved, and each half tried again.
//
//	 ---------q----
//	        /   \        no circle on the left half goes beyond the upper
//	       (     )       edge, so that its bound is about this one's width
//	a-------`-m-´-------b
//
// At corners the circles that touch the corner are tried in the same way, from
// the direction square to the one edge to that square to the other.
func widestCircle(p plane.Polygon) (plane.Point, float64) {
	c := newCircles(p)
	first := c.longest()
	c.take(&first, c.grow(&first)) // so that even a hair has a middle
	for i := range c.outline {
		c.try(c.outline[i])
	}
	for tries := len(c.outline); len(c.rest) > 0 && tries < mostTries*len(c.outline); tries++ {
		s := c.rest[len(c.rest)-1]
		c.rest = c.rest[:len(c.rest)-1]
		c.try(s)
	}
	at := plane.Point{X: p.Shell[0].X + plane.Round(c.x), Y: p.Shell[0].Y + plane.Round(c.y)}
	return at, c.radius
}

// circles looks for the widest circle in a patch. Its places are seen from the
// shell's first corner.
type circles struct {
	outline []stretch
	rest    []stretch // halves not tried yet
	near    nearby
	last    *edge   // that was in the way
	most    float64 // no circle is larger than the patch
	x, y    float64 // of the best circle
	radius  float64
}

// A stretch is a part of an outline that a circle may touch from within: a
// piece of an edge, or some of the directions in which a corner points.
type stretch struct {
	x, y   float64 // its middle
	nx, ny float64 // the direction into the patch there
	half   float64 // half its length, of an edge
	turn   float64 // half the angle between its directions, at a corner
}

func newCircles(p plane.Polygon) circles {
	c := circles{most: math.Sqrt(math.Abs(float64(p.Area())) / 2 / math.Pi)}
	var edges []edge
	o := p.Shell[0]
	for _, r := range p.Rings() {
		first := len(edges)
		for i, a := range r {
			b := r[(i+1)%len(r)]
			edges = append(edges, edge{float64(a.X - o.X), float64(a.Y - o.Y), float64(b.X - o.X), float64(b.Y - o.Y)})
		}
		ring := edges[first:]
		before := ring[len(ring)-1].normal()
		for i := range ring {
			e := &ring[i]
			n := e.normal()
			if sin := before.nx*n.ny - before.ny*n.nx; sin < 0 { // turns right: points inward
				c.outline = append(c.outline, cornerBetween(e.ax, e.ay, before, n))
			}
			c.outline = append(c.outline, n)
			before = n
		}
	}
	c.near = newNearby(edges)
	return c
}

// normal returns the whole of an edge as a stretch.
func (e *edge) normal() stretch {
	dx, dy := e.bx-e.ax, e.by-e.ay
	l := math.Hypot(dx, dy)
	return stretch{x: (e.ax + e.bx) / 2, y: (e.ay + e.by) / 2, nx: -dy / l, ny: dx / l, half: l / 2}
}

// cornerBetween returns all directions of a corner between two edges.
func cornerBetween(x, y float64, before, after stretch) stretch {
	sin, cos := before.nx*after.ny-before.ny*after.nx, before.nx*after.nx+before.ny*after.ny
	turn := math.Atan2(sin, cos) / 2
	s, c := math.Sincos(turn)
	return stretch{x: x, y: y, nx: before.nx*c - before.ny*s, ny: before.nx*s + before.ny*c, turn: math.Abs(turn)}
}

// longest returns the longest edge.
func (c *circles) longest() stretch {
	best := c.outline[0]
	for i := range c.outline {
		if c.outline[i].half > best.half {
			best = c.outline[i]
		}
	}
	return best
}

// try looks for a circle that touches s and is wider than the best so far, and
// leaves the halves of s to be tried if there may be one yet.
func (c *circles) try(s stretch) {
	enough := c.radius*(1+widerBy) + wider
	if enough > c.most || c.last != nil && c.bars(c.last, &s, enough) {
		return
	}
	n := c.inTheWay(&s, enough)
	if n.edge == nil {
		c.take(&s, c.grow(&s))
		enough = c.radius*(1+widerBy) + wider
		n = c.inTheWay(&s, enough)
	}
	if n.edge == nil {
		return
	}
	c.last = n.edge
	if s.bound(&n) > enough {
		a, b := s.halves()
		c.rest = append(c.rest, a, b)
	}
}

// take makes the circle of radius r that touches the middle of s the best, if
// it is. At the tip of a needle the other side is too near the middle of an
// edge to be in the way, and a circle may lie beyond it.
func (c *circles) take(s *stretch, r float64) {
	x, y := s.x+r*s.nx, s.y+r*s.ny
	if r <= c.radius {
		return
	}
	out := ray{x: x, y: y, dx: 0.6, dy: 0.8}
	if c.near.see(&out); out.leaves {
		c.x, c.y, c.radius = x, y, r
	}
}

// bars reports whether an edge is known to be in the way of all circles of
// radius r that touch s. What was in the way of one stretch is mostly in the
// way of the next.
func (c *circles) bars(e *edge, s *stretch, r float64) bool {
	n := neighbour{edge: e}
	n.x, n.y, n.d2 = e.nearest(s.x+r*s.nx, s.y+r*s.ny)
	return n.d2 < tooNear(r) && s.bound(&n) <= r
}

// tooNear is the square of the distance within which an edge is in a circle
// of radius r by more than rounding.
func tooNear(r float64) float64 { return r*r*(1-1e-9) - r*1e-6 }

// inTheWay returns the edge nearest to the middle of the circle of radius r
// that touches the middle of s, if it is in the circle.
func (c *circles) inTheWay(s *stretch, r float64) neighbour {
	return c.near.nearest(s.x+r*s.nx, s.y+r*s.ny, tooNear(r))
}

// grow returns the radius of the widest circle that touches the middle of s
// and fits (J. Ma, S. Bae, S. Choi, "3D medial axis point approximation using
// nearest neighbors and the normal field", The Visual Computer 28, 2012): one
// that is too large is shrunk to what is in its way, until nothing is.
func (c *circles) grow(s *stretch) float64 {
	r := c.most
	for range 100 {
		n := c.inTheWay(s, r)
		if n.edge == nil {
			return r
		}
		// The circle through the two places with its middle on the normal.
		x, y := n.x-s.x, n.y-s.y
		away := x*s.nx + y*s.ny
		if away <= 0 {
			return 0
		}
		r = min(r*(1-1e-7), (x*x+y*y)/(2*away))
	}
	return 0 // still not known to fit
}

// bound returns how wide a circle can be at most that touches any place of s
// and has no part of an edge in it.
func (s *stretch) bound(n *neighbour) float64 {
	// The nearest place of the edge, along s and away from it.
	x, y := s.local(n.x, n.y)
	if s.turn > 0 {
		angle := math.Atan2(math.Abs(x), y) + s.turn
		if angle >= math.Pi/2 {
			return math.Inf(1)
		}
		return math.Hypot(x, y) / (2 * math.Cos(angle))
	}
	if y <= 0 {
		return math.Inf(1)
	}
	far := math.Abs(x) + s.half
	return min((far*far+y*y)/(2*y), s.boundByLine(n.edge))
}

// local returns a place as seen from the middle of s: along it, and into the
// patch.
func (s *stretch) local(x, y float64) (along, away float64) {
	dx, dy := x-s.x, y-s.y
	return dx*s.ny - dy*s.nx, dx*s.nx + dy*s.ny
}

// boundByLine returns the width of the widest circle that touches s and the
// whole line of an edge, if it touches that within the edge from anywhere
// on s; else infinity.
//
// With s on the x-axis, and the line where m·p + k = 0, m of length 1 and
// towards s, the circle that touches both, from x, has the radius r at which
// it is as far from its middle (x, r) to the line: m.x x + m.y r + k = r.
func (s *stretch) boundByLine(e *edge) float64 {
	ax, ay := s.local(e.ax, e.ay)
	bx, by := s.local(e.bx, e.by)
	l := math.Hypot(bx-ax, by-ay)
	ux, uy := (bx-ax)/l, (by-ay)/l
	mx, my := -uy, ux
	k := -(mx*ax + my*ay)
	if k < 0 {
		mx, my, k = -mx, -my, -k
	}
	widest := 0.0
	for _, x := range [2]float64{-s.half, s.half} {
		r := (k + mx*x) / (1 - my)
		if !(r >= 0) { // nor where the line is the x-axis
			return math.Inf(1)
		}
		if at := (x-ax)*ux + (r-ay)*uy; at < 0 || at > l {
			return math.Inf(1)
		}
		widest = max(widest, r)
	}
	return widest
}

// halves cuts s in two.
func (s *stretch) halves() (a, b stretch) {
	a, b = *s, *s
	a.half, b.half = s.half/2, s.half/2
	a.turn, b.turn = s.turn/2, s.turn/2
	dx, dy := s.ny*a.half, -s.nx*a.half
	a.x, a.y, b.x, b.y = s.x-dx, s.y-dy, s.x+dx, s.y+dy
	sin, cos := math.Sincos(a.turn)
	a.nx, a.ny = s.nx*cos-s.ny*sin, s.nx*sin+s.ny*cos
	b.nx, b.ny = s.nx*cos+s.ny*sin, s.ny*cos-s.nx*sin
	return a, b
}
