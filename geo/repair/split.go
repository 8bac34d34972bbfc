package repair

import (
	"cmp"
	"slices"

	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// Split cuts a ring that touches itself, at a point or along a line, into loops
// that do not: outer ones, and inner ones that lie within an outer one. A
// pinched ring gives two outer loops, a hole joined to its shell by a slit an
// outer and an inner one; edges run out and back fall away.
//
//	+---+   +---+       +-----------+
//	|    \ /    |       |   +---+   |
//	|     x     |       +---+   |   |      (the slit)
//	|    / \    |       |   +---+   |
//	+---+   +---+       +-----------+
//
// Loops are numbers of corners, in the order in which the ring closes them;
// each begins with the first. A ring whose ground is to the left in one place
// and to the right in another, or that winds around some place twice, crosses
// itself at a corner, without two edges that do: that corner is returned, -1
// where there is none. The meetings are those that [Meet] found.
func Split(r plane.Ring, m Meetings) (outer, inner [][]int, crossing int) {
	flat := gridUnder([]plane.Ring{r}, half).lay(r)[0]
	corners := make(map[plane.Point]int, len(flat))
	for i, p := range flat {
		if _, again := corners[p]; !again {
			corners[p] = i
		}
	}
	if flat.Area() < 0 {
		flat = flat.Reversed()
	}
	// Where the ring winds once, only the first layer lies over the ground; where
	// it winds backward the second does, and where it winds twice the third too.
	once := arrange.Layer{flat}
	sorted := faces([]arrange.Layer{once, reversed(once), unwound(once)}, func(under []int) int {
		if slices.Equal(under, []int{0}) {
			return 0
		}
		return 1
	})
	if wrong := sorted[1]; len(wrong) > 0 {
		return nil, nil, crossingOf(wrong, corners, m)
	}
	for _, p := range sorted[0] {
		for i, loop := range p.Rings() {
			n, known := numbers(loop, corners)
			switch {
			case !known:
				return nil, nil, m.Corners[0]
			case i == 0:
				outer = append(outer, n)
			default:
				inner = append(inner, n)
			}
		}
	}
	closed := func(a, b []int) int {
		return cmp.Or(cmp.Compare(slices.Max(a), slices.Max(b)), cmp.Compare(slices.Min(b), slices.Min(a)))
	}
	slices.SortFunc(outer, closed)
	slices.SortFunc(inner, closed)
	return outer, inner, -1
}

// numbers are the corners of a loop, the first of the ring first. A loop has no
// others, since no two edges of the ring cross, unless a coarse grid has made
// some that touched cross a little beside.
func numbers(loop plane.Ring, corners map[plane.Point]int) (out []int, known bool) {
	out = make([]int, len(loop))
	for i, p := range loop {
		if out[i], known = corners[p]; !known {
			return nil, false
		}
	}
	least := slices.Index(out, slices.Min(out))
	return slices.Concat(out[least:], out[:least]), true
}

// crossingOf returns the first corner at which the ring crosses over to ground
// that is on the wrong side of it.
func crossingOf(wrong []plane.Polygon, corners map[plane.Point]int, m Meetings) int {
	var met []int
	for _, p := range wrong {
		for _, ring := range p.Rings() {
			for _, at := range ring {
				if _, touches := slices.BinarySearch(m.Corners, corners[at]); touches {
					met = append(met, corners[at])
				}
			}
		}
	}
	if len(met) == 0 { // on a coarse grid only: it touches itself where it crosses itself
		return m.Corners[0]
	}
	return slices.Min(met)
}
