package boundary

import (
	"cmp"
	"fmt"
	"slices"

	"lapwing/geo"
	"lapwing/geo/arrange"
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

// overlap reports whether two parts share ground, or too many come near one another
// to find out.
func (d *draft) overlap(parts []patch) bool {
	rings := make([][]plane.Ring, len(parts))
	boxes := make([]plane.Box, len(parts))
	corners := make([]int, len(parts))
	order := make([]int, len(parts)) // from west to east
	for i, p := range parts {
		rings[i] = p.rings()
		boxes[i] = rings[i][0].Bounds()
		for _, r := range rings[i] {
			corners[i] += len(r)
		}
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int { return cmp.Compare(boxes[i].Min.X, boxes[j].Min.X) })
	steps := pairsOfParts
	for k, i := range order {
		for _, j := range order[k+1:] {
			if boxes[j].Min.X > boxes[i].Max.X {
				break
			}
			if steps--; steps < 0 {
				return true
			}
			if !boxes[i].Meets(boxes[j]) {
				continue
			}
			if steps -= corners[i] + corners[j]; steps < 0 {
				return true
			}
			both := repair.Lay(slices.Concat(rings[i], rings[j])...)
			p, q := both[:len(rings[i])], both[len(rings[i]):]
			if d.enters(p[0], q) || d.enters(q[0], p) {
				return true
			}
		}
	}
	return false
}

// pairsOfParts bounds the comparisons of parts that may overlap: to unite them takes
// less than to go on looking.
const pairsOfParts = 1 << 24

// What uniting the parts of one boundary may cost in crossings, see
// [arrange.Budget], and of all in a file: some seconds. Parts that overlap a hundred
// deep cost 8 for a corner, since what is united leaves few edges; a chequered weave
// costs hundreds, and what it leaves, all holes, is no field.
const (
	crossingsAtLeast   = 100_000
	crossingsPerCorner = 50
	mostCrossings      = 4_000_000
)

// united returns the ground of parts that overlap, as parts that do not.
func (d *draft) united(parts []patch, line int, where string) ([]patch, error) {
	corners := 0
	for _, p := range parts {
		corners += len(p.shell)
		for _, h := range p.holes {
			corners += len(h)
		}
	}
	most := min(crossingsAtLeast+crossingsPerCorner*corners, mostCrossings-d.crossings)
	budget := arrange.NewBudget(most)
	defer func() { d.crossings += budget.Spent() }()
	crossed := d.fault(line, where, fmt.Sprintf("%d polygons whose edges cross one another over %d times", len(parts), most), "the ground of a field")
	known := map[plane.Point]corner{}
	var polygons []plane.Polygon
	for _, p := range parts {
		for _, ring := range append([][]corner{p.shell}, p.holes...) {
			for _, c := range ring {
				known[c.Point] = c
			}
		}
		rings := p.rings()
		one := []plane.Polygon{{Shell: rings[0], Holes: rings[1:]}}
		if p.stray { // such a hole takes nothing from another part
			var err error
			if one, err = repair.Unite(one, budget); err != nil {
				return nil, crossed
			}
		}
		polygons = append(polygons, one...)
	}
	ground, err := repair.Unite(polygons, budget)
	if err != nil {
		return nil, crossed
	}
	out := make([]patch, len(ground))
	for i, p := range ground {
		out[i].shell = cornersOf(p.Shell, known, line)
		for _, h := range p.Holes {
			out[i].holes = append(out[i].holes, cornersOf(h, known, line))
		}
	}
	return out, nil
}

// Unite joins the parts of one boundary that came from several places of a file, or
// from several files, as readers do those of one: what overlaps counts once, with a
// note. file stands in errors only.
func Unite(file string, parts []geo.Polygon) ([]geo.Polygon, []geo.Note, error) {
	d := newDraft(file)
	corners := func(ring []geo.LonLat) []corner {
		out := make([]corner, len(ring))
		for i, at := range ring {
			out[i] = corner{pointOf(at), at, 0}
		}
		return out
	}
	patches := make([]patch, len(parts))
	for i, p := range parts {
		patches[i].shell = corners(p.Shell)
		for _, h := range p.Holes {
			patches[i].holes = append(patches[i].holes, corners(h))
		}
	}
	if err := d.keep("", patches, 0, ""); err != nil || len(d.out.Boundaries) == 0 {
		return nil, d.out.Notes, err
	}
	return d.out.Boundaries[0].Parts, d.out.Notes, nil
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
