package mend

import (
	"cmp"
	"math"
	"slices"

	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// A segment is one side of the boundary.
type segment struct{ a, b plane.Point }

// A drivable is the ground that a machine may drive on: the field, its edge
// included, its holes not.
type drivable struct {
	rings   []plane.Ring
	edges   []segment
	boxes   near.Boxes    // around the edges
	east    plane.Length  // no edge reaches farther
	corners []plane.Point // places from which a way round a corner can begin
}

func newGround(parts []plane.Polygon) *drivable {
	g := &drivable{}
	for _, p := range parts {
		g.rings = append(g.rings, p.Rings()...)
	}
	var boxes []plane.Box
	for _, r := range g.rings {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			g.edges, boxes = append(g.edges, segment{a, b}), append(boxes, plane.Ring{a, b}.Bounds())
		}
	}
	g.boxes = near.NewBoxes(boxes)
	for _, box := range boxes {
		g.east = max(g.east, box.Max.X)
	}
	for _, r := range g.rings {
		g.corners = append(g.corners, g.around(r)...)
	}
	return g
}

// Ways round a corner keep clear by berth of an outline that is simplified to within
// roughly. Berth is the larger, so that the ways between two corners also clear what
// the simple outline leaves out. Judgement. No test holds
// either closely.
const (
	roughly = 50 * plane.Centimetre
	berth   = 150 * plane.Centimetre
)

// around returns the places beside the corners of a ring that point into the
// ground: a shortest way bends at such corners only.
func (g *drivable) around(r plane.Ring) []plane.Point {
	if len(r) > 3 {
		r = r.Thinned(plane.Distance(roughly))
	}
	var out []plane.Point
	for i, p := range r {
		before, after := r[(i+len(r)-1)%len(r)], r[(i+1)%len(r)]
		if plane.Side(before, p, after) != plane.Right { // the ground is on the left
			continue
		}
		ux, uy := unit(before, p)
		vx, vy := unit(p, after)
		// Away from the corner, against the bend: u - v points out of a right turn.
		nx, ny := ux-vx, uy-vy
		if l := (plane.Vector{X: nx, Y: ny}).Length(); l > 0 {
			nx, ny = nx/l, ny/l
		}
		at := p
		for _, clear := range []float64{float64(berth), float64(berth) / 4} {
			q := plane.Point{X: p.X + plane.Round(nx*clear), Y: p.Y + plane.Round(ny*clear)}
			if g.holds(q) && g.sees(p, q) {
				at = q
				break
			}
		}
		out = append(out, at)
	}
	return out
}

// unit returns the direction from a to b, of length 1.
func unit(a, b plane.Point) (x, y float64) {
	l := float64(a.Distance(b))
	if l == 0 {
		return 0, 0
	}
	return float64(b.X-a.X) / l, float64(b.Y-a.Y) / l
}

// distanceTo returns how far p is from the line between a and b.
func distanceTo(a, b, p plane.Point) plane.Distance {
	_, d := nearestOn(a, b, p)
	return plane.Distance(d)
}

// nearestOn returns the place on the line between a and b that is nearest to p, and how far
// it is away.
func nearestOn(a, b, p plane.Point) (at plane.Vector, distance float64) {
	e := near.EdgeOf(a, b)
	x, y, _ := e.Nearest(float64(p.X), float64(p.Y))
	return plane.Vector{X: x, Y: y}, plane.Vector{X: float64(p.X) - x, Y: float64(p.Y) - y}.Length()
}

// nearestEdge returns the place of the boundary nearest to p.
func (g *drivable) nearestEdge(p plane.Point) plane.Point {
	at, best := p, math.Inf(1)
	for _, r := range g.rings {
		for i, a := range r {
			if q, d := nearestOn(a, r[(i+1)%len(r)], p); d < best {
				at, best = plane.Point{X: plane.Round(q.X), Y: plane.Round(q.Y)}, d
			}
		}
	}
	return at
}

// holds reports whether p lies on the ground or on its edge: whether a ray east from
// it crosses the edges an odd number of times, see [plane.EvenOdd].
func (g *drivable) holds(p plane.Point) bool {
	inside := false
	for i := range g.boxes.Meeting(g.ray(p, p)) {
		e := &g.edges[i]
		if plane.OnSegment(e.a, e.b, p) {
			return true
		}
		if plane.CrossesEast(e.a, e.b, p) {
			inside = !inside
		}
	}
	return inside
}

// holdsAll reports whether all places in the box around some lie on the ground, or none of
// them, as where no edge is near. It is same where that is known.
func (g *drivable) holdsAll(places []plane.Point) (on, same bool) {
	box := plane.Ring(places).Bounds()
	box.Min, box.Max = box.Min.Sub(plane.Point{X: 1, Y: 1}), box.Max.Add(plane.Point{X: 1, Y: 1})
	for range g.boxes.Meeting(box) {
		return false, false
	}
	return g.holds(places[0]), true
}

// ray returns a box around the rays east from all places between two corners.
func (g *drivable) ray(from, to plane.Point) plane.Box {
	return plane.Box{Min: from, Max: plane.Point{X: max(g.east, to.X), Y: to.Y}}
}

// sees reports whether the straight way from a to b stays on the ground. It
// may touch the edge and run along it.
func (g *drivable) sees(a, b plane.Point) bool {
	if a == b {
		return g.holds(a)
	}
	length2 := float64(b.X-a.X)*float64(b.X-a.X) + float64(b.Y-a.Y)*float64(b.Y-a.Y)
	share := func(p plane.Point) float64 {
		return (float64(p.X-a.X)*float64(b.X-a.X) + float64(p.Y-a.Y)*float64(b.Y-a.Y)) / length2
	}
	touches := []float64{0, 1} // where the way meets the edge without crossing it
	var along [][2]float64     // where it runs along it
	clear := true
	g.near(a, b, func(e segment) bool {
		s1, s2 := plane.Side(a, b, e.a), plane.Side(a, b, e.b)
		t1, t2 := plane.Side(e.a, e.b, a), plane.Side(e.a, e.b, b)
		if s1*s2 < 0 && t1*t2 < 0 {
			clear = false
			return false
		}
		for _, p := range [2]plane.Point{e.a, e.b} {
			if plane.OnSegment(a, b, p) {
				touches = append(touches, share(p))
			}
		}
		if s1 == plane.Straight && s2 == plane.Straight {
			from, to := share(e.a), share(e.b)
			along = append(along, [2]float64{min(from, to), max(from, to)})
		}
		return true
	})
	if !clear {
		return false
	}
	slices.SortFunc(touches, cmp.Compare)
	for i := 1; i < len(touches); i++ {
		from, to := touches[i-1], touches[i]
		mid := (from + to) / 2
		if to-from <= 0 || slices.ContainsFunc(along, func(s [2]float64) bool { return s[0] <= mid && mid <= s[1] }) {
			continue
		}
		if !g.inside(float64(a.X)+mid*float64(b.X-a.X), float64(a.Y)+mid*float64(b.Y-a.Y)) {
			return false
		}
	}
	return true
}

// inside is holds for a place that need not be on the grid and lies on no edge.
func (g *drivable) inside(x, y float64) bool {
	inside := false
	low := plane.Point{X: plane.Length(math.Floor(x)), Y: plane.Length(math.Floor(y))}
	for i := range g.boxes.Meeting(g.ray(low, low.Add(plane.Point{X: 1, Y: 1}))) {
		a, b := g.edges[i].a, g.edges[i].b
		ay, by := float64(a.Y), float64(b.Y)
		if (ay > y) != (by > y) && x < float64(a.X)+(y-ay)/(by-ay)*float64(b.X-a.X) {
			inside = !inside
		}
	}
	return inside
}

// near calls f for the edges near the way from a to b until f returns false; for
// some edges more than once. A long way is looked at in parts, whose boxes are small.
func (g *drivable) near(a, b plane.Point, f func(segment) bool) {
	const most, long = 8, 25 * plane.Metre // speed alone: what is near is told by the edges themselves
	parts := 1 + min(most-1, plane.Round(float64(a.Distance(b)))/long)
	for k := range parts {
		at := func(k plane.Length) plane.Point { // to within a tick
			return plane.Point{X: a.X + (b.X-a.X)*k/parts, Y: a.Y + (b.Y-a.Y)*k/parts}
		}
		box := plane.Ring{at(k), at(k + 1)}.Bounds()
		box.Min, box.Max = box.Min.Sub(plane.Point{X: 1, Y: 1}), box.Max.Add(plane.Point{X: 1, Y: 1})
		for i := range g.boxes.Meeting(box) {
			if !f(g.edges[i]) {
				return
			}
		}
	}
}

// corner returns the corner of the boundary nearest to p.
func (g *drivable) corner(p plane.Point) plane.Point {
	at, best := p, plane.Distance(math.Inf(1))
	for _, r := range g.rings {
		for _, q := range r {
			if d := p.Distance(q); d < best {
				at, best = q, d
			}
		}
	}
	return at
}
