package boundary

import (
	"slices"

	"lapwing/geo/plane"
	"lapwing/geo/repair"
)

// within reports whether no corner of c lies outside the ring around, nor a
// corner of it inside c. Rings that are the same lie within each other.
func (d *draft) within(c, around []corner) bool {
	if d.steps -= len(c) + len(around); d.steps < 0 {
		return false
	}
	inner, outer := flat(c), flat(around)
	if box, room := inner.Bounds(), outer.Bounds(); !holds(room, box.Min) || !holds(room, box.Max) {
		return false
	}
	laid := repair.Lay(inner, outer)
	inner, outer = laid[0], laid[1]
	box := inner.Bounds()
	for i, p := range inner {
		if d.steps -= len(outer); d.steps < 0 {
			return false
		}
		next := inner[(i+1)%len(inner)]
		if locate(outer, p.Add(p)) < 0 || locate(outer, p.Add(next)) < 0 {
			return false
		}
	}
	for _, p := range outer {
		if !holds(box, p) {
			continue
		}
		if d.steps -= len(inner); d.steps < 0 || locate(inner, p.Add(p)) > 0 {
			return false
		}
	}
	return true
}

func holds(b plane.Box, p plane.Point) bool {
	return b.Min.X <= p.X && p.X <= b.Max.X && b.Min.Y <= p.Y && p.Y <= b.Max.Y
}

// overlap reports whether two parts share ground.
func (d *draft) overlap(parts []patch) bool {
	rings := make([][]plane.Ring, len(parts))
	boxes := make([]plane.Box, len(parts))
	corners := make([]int, len(parts))
	for i, p := range parts {
		rings[i] = p.rings()
		boxes[i] = rings[i][0].Bounds()
		for _, r := range rings[i] {
			corners[i] += len(r)
		}
	}
	for i := range parts {
		for j := range i {
			if d.steps--; d.steps < 0 || !boxes[i].Meets(boxes[j]) {
				continue
			}
			if d.steps -= corners[i] + corners[j]; d.steps < 0 {
				continue
			}
			both := repair.Lay(slices.Concat(rings[i], rings[j])...)
			p, q := both[:len(rings[i])], both[len(rings[i]):]
			if d.enters(p[0], q) || d.enters(q[0], p) {
				return true
			}
		}
	}
	if d.steps < 0 {
		d.note(0, "too many polygons to look for overlaps between them")
	}
	return false
}

// enters reports whether a shell has a corner or the middle of an edge inside a
// polygon, or is its shell.
func (d *draft) enters(shell plane.Ring, polygon []plane.Ring) bool {
	around := polygon[0]
	room := around.Bounds()
	room.Min, room.Max = room.Min.Add(room.Min), room.Max.Add(room.Max)
	off := false // some of the shell is not on the polygon's edge
	for i, p := range shell {
		next := shell[(i+1)%len(shell)]
		for _, at := range []plane.Point{p.Add(p), p.Add(next)} {
			if !holds(room, at) {
				off = true
				continue
			}
			if d.steps -= len(around); d.steps < 0 {
				return false
			}
			switch locate(around, at) {
			case -1:
				off = true
			case 1:
				off = true
				if !d.inHole(polygon[1:], at) {
					return true
				}
			}
		}
	}
	return !off
}

func (d *draft) inHole(holes []plane.Ring, at plane.Point) bool {
	for _, h := range holes {
		if d.steps -= len(h); d.steps < 0 || locate(h, at) >= 0 {
			return true
		}
	}
	return false
}

// locate is 1 where p lies inside the ring, -1 outside, 0 on its edge. p is in
// halves of the ring's unit, so that middles of edges can be asked for. It is
// exact: differences of halves stay within 2e9, and their products' difference
// within 8e18.
func locate(r plane.Ring, p plane.Point) int {
	inside := -1
	a := r[len(r)-1].Add(r[len(r)-1])
	for i := range r {
		b := r[i].Add(r[i])
		if min(a.Y, b.Y) <= p.Y && p.Y <= max(a.Y, b.Y) {
			side := plane.Side(a, b, p)
			if side == plane.Straight && min(a.X, b.X) <= p.X && p.X <= max(a.X, b.X) {
				return 0
			}
			if (a.Y > p.Y) != (b.Y > p.Y) && (side == plane.Left) == (b.Y > a.Y) {
				inside = -inside
			}
		}
		a = b
	}
	return inside
}
