package region

import (
	"slices"

	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// Measured returns the ground of the field that was measured: its parts united
// where they overlap, its holes taken out, and only as far as they lie in it.
// Its edges are those of the regions, point for point, so that its area is
// Totals.Field. To cut the boundary by itself would bend other edges.
func (l *Layout) Measured() []plane.Polygon {
	outside := make([]bool, len(l.classes)+1) // by label
	outside[arrange.None] = true
	for i := range l.classes {
		outside[i+1] = l.classes[i].Kind == OverReach
	}
	r := rim{}
	var edges [][2]plane.Point
	for i := range l.Regions {
		reg := &l.Regions[i]
		if reg.Kind == OverReach {
			continue
		}
		for j, ring := range reg.Shape.Rings() {
			for k, p := range ring {
				if outside[reg.Across[j][k]] {
					q := ring[(k+1)%len(ring)]
					r[p] = append(r[p], q)
					edges = append(edges, [2]plane.Point{p, q})
				}
			}
		}
	}
	var out []plane.Polygon
	var holes []plane.Ring // that do not touch the edge around them
	gone := make(map[[2]plane.Point]bool, len(edges))
	for _, e := range edges {
		if gone[e] {
			continue
		}
		shell, within := unpick(r.follow(e, gone))
		if shell == nil {
			holes = append(holes, within...)
			continue
		}
		out = append(out, plane.Polygon{Shell: shell, Holes: within})
	}
	for _, hole := range holes {
		if p := around(out, hole[0]); p != nil {
			p.Holes = append(p.Holes, hole)
		}
	}
	return out
}

// A rim is the edge of the field: from each point the points that it goes on to,
// the field on its left.
type rim map[plane.Point][]plane.Point

// follow returns the way along the edge from one of its edges until it comes
// back, round one connected piece of ground, and notes the edges it has gone.
func (r rim) follow(first [2]plane.Point, gone map[[2]plane.Point]bool) (way plane.Ring) {
	for e := first; !gone[e]; {
		gone[e] = true
		way = append(way, e[0])
		beyond := r[e[1]]
		e = [2]plane.Point{e[1], beyond[sharpest(e[0], e[1], beyond)]}
	}
	return way
}

// sharpest returns which of the points beyond at is the first clockwise from
// where one came from: between the two edges lies ground of one piece.
//
//	        / 0
//	       /            the ground is on the left of all three
//	from--at--1
func sharpest(from, at plane.Point, beyond []plane.Point) int {
	best := 0
	for k := 1; k < len(beyond); k++ {
		if clockwise(at, from, beyond[k], beyond[best]) {
			best = k
		}
	}
	return best
}

// clockwise reports whether, turning clockwise about a centre from the direction
// of a place, b is met before c. None of the three directions are the same.
func clockwise(centre, from, b, c plane.Point) bool {
	right := func(p plane.Point) bool { return plane.Side(centre, from, p) == plane.Right }
	straight := func(p plane.Point) bool { return plane.Side(centre, from, p) == plane.Straight }
	half := func(p plane.Point) int { // 0: the first half turn, 1: straight behind, 2: the second
		switch {
		case right(p):
			return 0
		case straight(p):
			return 1
		}
		return 2
	}
	if half(b) != half(c) {
		return half(b) < half(c)
	}
	return plane.Side(centre, b, c) == plane.Right
}

// unpick cuts a way that may meet a point more than once into rings that do not:
// a shell, if it goes round ground at all, and holes.
func unpick(way plane.Ring) (shell plane.Ring, holes []plane.Ring) {
	at := map[plane.Point]int{} // where a point stands on the way so far
	var so plane.Ring
	cut := func(ring plane.Ring) {
		if ring = slices.Clone(ring); ring.Area() > 0 {
			shell = ring
		} else {
			holes = append(holes, ring)
		}
	}
	for _, p := range way {
		if k, seen := at[p]; seen {
			cut(so[k:])
			for _, q := range so[k:] {
				delete(at, q)
			}
			so = so[:k]
		}
		at[p] = len(so)
		so = append(so, p)
	}
	cut(so)
	return shell, holes
}

// around returns the smallest polygon whose shell is around a place.
func around(polygons []plane.Polygon, p plane.Point) (smallest *plane.Polygon) {
	var area plane.Area
	for i := range polygons {
		shell := polygons[i].Shell
		if a := shell.Area(); smallest == nil || a < area {
			if winding, on := plane.Winding([]plane.Ring{shell}, p); winding > 0 && !on {
				smallest, area = &polygons[i], a
			}
		}
	}
	return smallest
}
