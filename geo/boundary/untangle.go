package boundary

import (
	"cmp"
	"fmt"
	"slices"
)

// A touch is a corner that lies on an edge between its ends.
type touch struct{ edge, corner int }

// untangle splits a ring where it touches itself, at a point or along a line,
// into loops that do not: outer ones, and inner ones that lie within an outer
// one. A pinched ring gives two outer loops, a hole joined to its shell by a
// slit an outer and an inner one. A ring that crosses itself is refused, since
// nobody can say which of its ground is meant.
func (d *draft) untangle(r ring, c []corner) (outer, inner [][]corner, err error) {
	touches, err := d.meetings(r, c)
	if err != nil {
		return nil, nil, err
	}
	loops := split(withTouches(c, touches))
	if len(loops) < 2 {
		return loops, nil, nil
	}
	d.note(r.line, "ring touches itself; split")
	sign := 0
	for i, loop := range loops {
		depth := 0
		for j, other := range loops {
			if i != j && d.within(loop, other) {
				depth++
			}
		}
		if d.steps < 0 {
			return nil, nil, d.tangled(r)
		}
		// In a ring that does not cross itself, loops side by side run the
		// same way and a loop within another runs against it.
		way := winding(loop)
		if depth%2 == 1 {
			way = -way
			inner = append(inner, loop)
		} else {
			outer = append(outer, loop)
		}
		if sign == 0 {
			sign = way
		}
		if way != sign {
			at := loops[min(i, len(loops)-2)][0] // all but the last start where the ring touches itself
			return nil, nil, d.crossing(r, at.at.Lon, at.at.Lat, at.line)
		}
	}
	return outer, inner, nil
}

func (d *draft) crossing(r ring, lon, lat float64, line int32) error {
	return d.fault(int(line), r.where, fmt.Sprintf("a ring that crosses itself at %.6f, %.6f (lon, lat)", lon, lat),
		"a ring that does not")
}

func (d *draft) tangled(r ring) error {
	return d.fault(r.line, r.where, fmt.Sprintf("a ring of %d points too tangled to check", len(r.at)), "a field boundary")
}

// An edge is an edge of a ring with its extent along the way swept.
type edge struct {
	from     int // its first corner
	low, top int64
}

// edgesOf returns the edges of c, sorted along the axis where they are
// shortest against the ring's extent, and says whether that is y.
func edgesOf(c []corner) (edges []edge, byY bool) {
	var dx, dy float64
	for i, p := range c {
		q := c[(i+1)%len(c)]
		dx += float64(max(p.x, q.x) - min(p.x, q.x))
		dy += float64(max(p.y, q.y) - min(p.y, q.y))
	}
	b := boxOf(c)
	byY = dy*float64(b.max.x-b.min.x) < dx*float64(b.max.y-b.min.y)
	edges = make([]edge, len(c))
	for i, p := range c {
		q := c[(i+1)%len(c)]
		edges[i] = edge{i, min(p.x, q.x), max(p.x, q.x)}
		if byY {
			edges[i] = edge{i, min(p.y, q.y), max(p.y, q.y)}
		}
	}
	slices.SortFunc(edges, func(a, b edge) int { return cmp.Compare(a.low, b.low) })
	return edges, byY
}

// meetings finds where corners lie on edges, and refuses edges that cross.
func (d *draft) meetings(r ring, c []corner) ([]touch, error) {
	edges, byY := edgesOf(c)
	var touches []touch
	for i, e := range edges {
		a, b := c[e.from], c[(e.from+1)%len(c)]
		for _, f := range edges[i+1:] {
			if f.low > e.top {
				break
			}
			if d.steps--; d.steps < 0 {
				return nil, d.tangled(r)
			}
			p, q := c[f.from], c[(f.from+1)%len(c)]
			if byY && (max(a.x, b.x) < min(p.x, q.x) || max(p.x, q.x) < min(a.x, b.x)) ||
				!byY && (max(a.y, b.y) < min(p.y, q.y) || max(p.y, q.y) < min(a.y, b.y)) {
				continue
			}
			d.steps -= 7 // side is dearer than a comparison
			sp, sq := side(a.spot, b.spot, p.spot), side(a.spot, b.spot, q.spot)
			if sp*sq > 0 {
				continue
			}
			sa, sb := side(p.spot, q.spot, a.spot), side(p.spot, q.spot, b.spot)
			if sp*sq < 0 && sa*sb < 0 {
				lon, lat := meet(a, b, p, q)
				return nil, d.crossing(r, lon, lat, max(a.line, p.line))
			}
			touches = appendTouch(touches, e.from, f.from, sp, a, b, p)
			touches = appendTouch(touches, e.from, (f.from+1)%len(c), sq, a, b, q)
			touches = appendTouch(touches, f.from, e.from, sa, p, q, a)
			touches = appendTouch(touches, f.from, (e.from+1)%len(c), sb, p, q, b)
		}
	}
	return touches, nil
}

func appendTouch(to []touch, edge, corner, side int, a, b, p corner) []touch {
	if side == 0 && between(a.spot, b.spot, p.spot) {
		return append(to, touch{edge, corner})
	}
	return to
}

// meet is about where the edges ab and pq cross, for a message.
func meet(a, b, p, q corner) (lon, lat float64) {
	abx, aby := b.at.Lon-a.at.Lon, b.at.Lat-a.at.Lat
	pqx, pqy := q.at.Lon-p.at.Lon, q.at.Lat-p.at.Lat
	t := ((p.at.Lon-a.at.Lon)*pqy - (p.at.Lat-a.at.Lat)*pqx) / (abx*pqy - aby*pqx)
	return a.at.Lon + t*abx, a.at.Lat + t*aby
}

// withTouches returns c with the corners that touch an edge put into it, in
// the order along the edge.
func withTouches(c []corner, touches []touch) []corner {
	if len(touches) == 0 {
		return c
	}
	along := func(t touch) int64 { // rises along the edge
		a, b, p := c[t.edge].spot, c[(t.edge+1)%len(c)].spot, c[t.corner].spot
		if a.x != b.x {
			return max(p.x-a.x, a.x-p.x)
		}
		return max(p.y-a.y, a.y-p.y)
	}
	slices.SortFunc(touches, func(s, t touch) int {
		return cmp.Or(cmp.Compare(s.edge, t.edge), cmp.Compare(along(s), along(t)))
	})
	out := make([]corner, 0, len(c)+len(touches))
	for i, p := range c {
		out = append(out, p)
		for len(touches) > 0 && touches[0].edge == i {
			if t := c[touches[0].corner]; t.spot != out[len(out)-1].spot {
				out = append(out, t)
			}
			touches = touches[1:]
		}
	}
	return out
}

// split cuts a ring into loops in which no place comes twice. Loops of two
// places, out and back along one edge, have no area and fall away.
func split(c []corner) [][]corner {
	var loops [][]corner
	var stack []corner
	at := make(map[spot]int, len(c))
	for _, p := range c {
		if first, again := at[p.spot]; again {
			if len(stack)-first >= 3 {
				loops = append(loops, slices.Clone(stack[first:]))
			}
			for _, q := range stack[first+1:] {
				delete(at, q.spot)
			}
			stack = stack[:first+1]
			continue
		}
		at[p.spot] = len(stack)
		stack = append(stack, p)
	}
	if len(stack) >= 3 {
		loops = append(loops, stack)
	}
	return slices.DeleteFunc(loops, func(loop []corner) bool { return winding(loop) == 0 })
}

// within reports whether no corner of c lies outside the ring around, nor a
// corner of it inside c. Rings that are the same lie within each other.
func (d *draft) within(c, around []corner) bool {
	inner, outer := boxOf(c), boxOf(around)
	d.steps -= len(c) + len(around)
	if !outer.holds(inner.min) || !outer.holds(inner.max) {
		return false
	}
	for i, p := range c {
		if d.steps -= len(around); d.steps < 0 {
			return false
		}
		next := c[(i+1)%len(c)]
		if locate(around, p.doubled()) < 0 || locate(around, spot{p.x + next.x, p.y + next.y}) < 0 {
			return false
		}
	}
	for _, p := range around {
		if !inner.holds(p.spot) {
			continue
		}
		if d.steps -= len(c); d.steps < 0 || locate(c, p.doubled()) > 0 {
			return false
		}
	}
	return true
}

// overlap reports whether two parts share ground.
func (d *draft) overlap(parts []patch) bool {
	boxes := make([]box, len(parts))
	for i, p := range parts {
		boxes[i] = boxOf(p.shell)
	}
	for i, p := range parts {
		for j := range i {
			if d.steps--; d.steps >= 0 && boxes[i].meets(boxes[j]) && (d.enters(p, parts[j]) || d.enters(parts[j], p)) {
				return true
			}
		}
	}
	if d.steps < 0 {
		d.note(0, "too many polygons to look for overlaps between them")
	}
	return false
}

// enters reports whether the shell of p has a corner or the middle of an edge
// inside q, or is q's.
func (d *draft) enters(p, q patch) bool {
	room := boxOf(q.shell)
	off := false // some of p is not on q's edge
	for i, c := range p.shell {
		next := p.shell[(i+1)%len(p.shell)]
		for _, at := range []spot{c.doubled(), {c.x + next.x, c.y + next.y}} {
			if !(box{room.min.doubled(), room.max.doubled()}).holds(at) {
				off = true
				continue
			}
			if d.steps -= len(q.shell); d.steps < 0 {
				return false
			}
			switch locate(q.shell, at) {
			case -1:
				off = true
			case 1:
				off = true
				if !d.inHole(q, at) {
					return true
				}
			}
		}
	}
	return !off
}

func (d *draft) inHole(q patch, at spot) bool {
	for _, h := range q.holes {
		if d.steps -= len(h); d.steps < 0 || locate(h, at) >= 0 {
			return true
		}
	}
	return false
}
