package inscribed

import (
	"math"

	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// How much wider than the circle found another may be: by RelativeError of its
// radius and AbsoluteError ticks. Both are judgement: a hundredth of a width changes
// no decision, and outlines are known to twice AbsoluteError at best, since swaths
// are thinned to that before they are laid. No test of the package fails where one of
// them is halved or doubled.
const (
	RelativeError = 0.01
	AbsoluteError = 2.5 * float64(plane.Millimetre)
)

// mostTries is how many circles are tried for each edge of a polygon at most:
// judgement. Ragged patches of ground take four; the bound makes the search of any
// polygon end, however its edges are in one another's way. No test of the package fails
// where it is halved or doubled.
const mostTries = 20

// A Finder finds the widest inscribed circle of one polygon after another. The
// room it works in is kept from one to the next. The zero Finder is ready; it
// is not for several goroutines at once.
//
// Its places are seen from the shell's first corner, so that a shift by whole
// ticks changes no digit.
type Finder struct {
	edges   []near.Edge // ring by ring
	outline []stretch
	rest    []stretch // parts not tried yet
	near    near.Index
	last    *near.Edge // that was in the way
	most    float64    // no circle is larger
	x, y    float64    // of the best circle
	radius  float64
	sides   sides
}

// Circle returns a circle inside p: its centre, rounded to the tick, and its
// radius. No circle inside is wider by more than [RelativeError] and
// [AbsoluteError].
//
// The widest circle touches the outline along an edge or at a corner that
// points inward. So each edge is tried: if nothing is in the circle that touches
// its middle and is wider than the best so far, that is grown. Else an edge is
// in its way, and in that of circles that touch other places of the first one,
// too. What parts it leaves of that are tried in their turn.
//
//	 ---------q----
//	        /   \        no wider circle touches the lower edge from c to d:
//	       (     )       the upper one is in its way
//	a----c--`-m-´--d----b
//
// At corners the circles that touch the corner are tried in the same way, from
// the direction square to the one edge to that square to the other.
//
// Most patches of ground are slivers along a pass. No circle in them is wider
// than they are anywhere across (see breadth), and the one that touches them
// there is nearly as wide.
func (c *Finder) Circle(p plane.Polygon) (centre plane.Point, radius plane.Distance) {
	c.begin(p)
	if len(p.Holes) == 0 {
		if b, ok := c.sides.longest(c.edges); ok {
			c.most = min(c.most, b.length/2)
			foot := normal(b.on)
			foot.x, foot.y = b.x, b.y
			c.take(&foot, c.grow(&foot))
		}
	}
	if c.radius == 0 || c.enough() <= c.most {
		c.search(p)
	}
	return plane.Point{X: p.Shell[0].X + plane.Round(c.x), Y: p.Shell[0].Y + plane.Round(c.y)}, plane.Distance(c.radius)
}

// begin makes ready for a polygon. No circle is larger than that.
func (c *Finder) begin(p plane.Polygon) {
	*c = Finder{edges: c.edges[:0], outline: c.outline[:0], rest: c.rest[:0], sides: c.sides,
		most: math.Sqrt(math.Abs(float64(p.Area())) / 2 / math.Pi)}
	o := p.Shell[0]
	add := func(r plane.Ring) {
		for i, a := range r {
			b := r[0]
			if i+1 < len(r) {
				b = r[i+1]
			}
			c.edges = append(c.edges, near.EdgeOf(a.Sub(o), b.Sub(o)))
		}
	}
	add(p.Shell)
	for _, h := range p.Holes {
		add(h)
	}
	c.near = near.New(c.edges)
}

// enough is the radius from which on a circle is wider than the best so far.
func (c *Finder) enough() float64 { return c.radius*(1+RelativeError) + AbsoluteError }

// search tries the whole outline.
func (c *Finder) search(p plane.Polygon) {
	edges := c.edges
	c.trace(edges[:len(p.Shell)])
	edges = edges[len(p.Shell):]
	for _, h := range p.Holes {
		c.trace(edges[:len(h)])
		edges = edges[len(h):]
	}
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
}

// trace adds a ring to the outline.
func (c *Finder) trace(ring []near.Edge) {
	before := normal(&ring[len(ring)-1])
	for i := range ring {
		e := &ring[i]
		n := normal(e)
		if sin := before.nx*n.ny - before.ny*n.nx; sin < 0 { // turns right: points inward
			c.outline = append(c.outline, cornerBetween(e.AX, e.AY, before, n))
		}
		c.outline = append(c.outline, n)
		before = n
	}
}

// A stretch is a part of an outline that a circle may touch from within: a
// piece of an edge, or some of the directions in which a corner points.
type stretch struct {
	x, y   float64 // its middle
	nx, ny float64 // the direction into the polygon there
	half   float64 // half its length, of an edge
	turn   float64 // half the angle between its directions, at a corner
}

// normal returns the whole of an edge as a stretch.
func normal(e *near.Edge) stretch {
	dx, dy := e.BX-e.AX, e.BY-e.AY
	l := math.Hypot(dx, dy)
	return stretch{x: (e.AX + e.BX) / 2, y: (e.AY + e.BY) / 2, nx: -dy / l, ny: dx / l, half: l / 2}
}

// cornerBetween returns all directions of a corner between two edges.
func cornerBetween(x, y float64, before, after stretch) stretch {
	sin, cos := before.nx*after.ny-before.ny*after.nx, before.nx*after.nx+before.ny*after.ny
	turn := math.Atan2(sin, cos) / 2
	s, c := math.Sincos(turn)
	return stretch{x: x, y: y, nx: before.nx*c - before.ny*s, ny: before.nx*s + before.ny*c, turn: math.Abs(turn)}
}

// longest returns the longest edge.
func (c *Finder) longest() stretch {
	best := c.outline[0]
	for i := range c.outline {
		if c.outline[i].half > best.half {
			best = c.outline[i]
		}
	}
	return best
}

// try looks for a circle that touches s and is wider than the best so far, and
// leaves the parts of s to be tried where there may be one yet.
func (c *Finder) try(s stretch) {
	enough := c.enough()
	if enough > c.most || c.last != nil && c.bars(c.last, &s, enough) {
		return
	}
	n := c.inTheWay(&s, enough)
	if n.Edge == nil {
		c.take(&s, c.grow(&s))
		enough = c.enough()
		n = c.inTheWay(&s, enough)
	}
	if n.Edge == nil {
		return
	}
	c.last = n.Edge
	barred, whole := s.barred(&n, enough), s.whole()
	if barred.From > whole.From {
		c.rest = append(c.rest, s.part(near.Interval{From: whole.From, To: barred.From}))
	}
	if barred.To < whole.To {
		c.rest = append(c.rest, s.part(near.Interval{From: barred.To, To: whole.To}))
	}
}

// take keeps the circle of radius r that touches the middle of s if it is wider than
// the best and its centre lies in the polygon. At the tip of a needle the other side
// is too near the middle of an edge to be in the way, so the centre may lie outside.
func (c *Finder) take(s *stretch, r float64) {
	x, y := s.x+r*s.nx, s.y+r*s.ny
	if r <= c.radius {
		return
	}
	out := near.Ray{X: x, Y: y, DX: 0.6, DY: 0.8}
	if c.near.Cast(&out).Leaves {
		c.x, c.y, c.radius = x, y, r
	}
}

// bars reports whether an edge is known to be in the way of all circles of
// radius r that touch s. What was in the way of one stretch is mostly in the
// way of the next.
func (c *Finder) bars(e *near.Edge, s *stretch, r float64) bool {
	n := near.Nearest{Edge: e}
	n.X, n.Y, n.D2 = e.Nearest(s.x+r*s.nx, s.y+r*s.ny)
	if n.D2 >= tooNear(r) {
		return false
	}
	barred, whole := s.barred(&n, r), s.whole()
	return barred.From <= whole.From && whole.To <= barred.To
}

// tooNear is the square of the distance within which an edge is in a circle
// of radius r by more than rounding.
func tooNear(r float64) float64 { return r*r*(1-1e-9) - r*1e-6 }

// inTheWay returns the edge nearest to the middle of the circle of radius r
// that touches the middle of s, if it is in the circle.
func (c *Finder) inTheWay(s *stretch, r float64) near.Nearest {
	return c.near.Nearest(s.x+r*s.nx, s.y+r*s.ny, tooNear(r))
}

// grow returns the radius of the widest circle that touches the middle of s
// and fits (J. Ma, S. Bae, S. Choi, "3D medial axis point approximation using
// nearest neighbors and the normal field", The Visual Computer 28, 2012): one
// that is too large is shrunk to what is in its way, until nothing is.
func (c *Finder) grow(s *stretch) float64 {
	r := c.most
	for range 100 {
		n := c.inTheWay(s, r)
		if n.Edge == nil {
			return r
		}
		// The circle through the two places with its middle on the normal.
		x, y := n.X-s.x, n.Y-s.y
		away := x*s.nx + y*s.ny
		if away <= 0 {
			return 0
		}
		r = min(r*(1-1e-7), (x*x+y*y)/(2*away))
	}
	return 0 // still not known to fit
}

// whole returns all of s as an interval: in ticks along it from its middle, or in
// radians at a corner.
func (s *stretch) whole() near.Interval {
	return near.Interval{From: -s.half - s.turn, To: s.half + s.turn}
}

// barred returns the interval of s in which an edge is known to be in the way of
// all circles wider than r. It is in the way of the one at the middle.
func (s *stretch) barred(n *near.Nearest, r float64) near.Interval {
	// The nearest place of the edge is in the circle from as far either way.
	x, y := s.local(n.X, n.Y)
	if s.turn > 0 {
		angle := math.Atan2(x, y)
		by := math.Acos(min(1, math.Hypot(x, y)/(2*r)))
		return near.Interval{From: angle - by, To: angle + by}
	}
	by := math.Sqrt(max(0, 2*y*r-y*y))
	i := near.Interval{From: x - by, To: x + by}
	if line := s.barredByLine(n.Edge, r); line.From <= i.To && i.From <= line.To {
		i = near.Interval{From: min(i.From, line.From), To: max(i.To, line.To)}
	}
	return i
}

// local returns a place as seen from the middle of s: along it, and into the
// polygon.
func (s *stretch) local(x, y float64) (along, away float64) {
	dx, dy := x-s.x, y-s.y
	return dx*s.ny - dy*s.nx, dx*s.nx + dy*s.ny
}

// barredByLine returns the interval of s from which the circle that touches s and
// the line of an edge touches it within the edge, and is no wider than r.
//
// With s on the x-axis, and the line where m·p + k = 0, m of length 1 and
// towards s, the circle that touches both, from x, has the radius at which it
// is as far from its middle (x, r) to the line: m.x x + m.y r + k = r. So r is
// a + b x, and the place at which it touches the edge runs evenly too.
func (s *stretch) barredByLine(e *near.Edge, r float64) near.Interval {
	ax, ay := s.local(e.AX, e.AY)
	bx, by := s.local(e.BX, e.BY)
	l := math.Hypot(bx-ax, by-ay)
	ux, uy := (bx-ax)/l, (by-ay)/l
	mx, my := -uy, ux
	k := -(mx*ax + my*ay)
	if k < 0 {
		mx, my, k = -mx, -my, -k
	}
	if 1-my < 1e-12 { // the line lies behind s
		return near.Interval{From: 1, To: 0}
	}
	a, b := k/(1-my), mx/(1-my)
	i := near.Interval{From: -s.half, To: s.half}
	i.Clip(a, b)    // on the line's inner side
	i.Clip(r-a, -b) // no wider
	at, on := (a-ay)*uy-ax*ux, ux+b*uy
	i.Clip(at, on) // touches between the edge's ends
	i.Clip(l-at, -on)
	return i
}

// part returns an interval of s as a stretch.
func (s *stretch) part(i near.Interval) stretch {
	p, middle := *s, (i.From+i.To)/2
	if s.turn > 0 {
		sin, cos := math.Sincos(middle)
		p.nx, p.ny, p.turn = s.nx*cos+s.ny*sin, s.ny*cos-s.nx*sin, (i.To-i.From)/2
		return p
	}
	p.x, p.y, p.half = s.x+middle*s.ny, s.y-middle*s.nx, (i.To-i.From)/2
	return p
}
