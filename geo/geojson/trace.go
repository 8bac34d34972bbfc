package geojson

import (
	"cmp"
	"math"
	"slices"
)

// trace joins edges, each with the ground on its left, into polygons whose
// rings touch in corners at most. The edges must not cross, nor pass through a
// corner. Rings that enclose nothing, or ground that another ring has already,
// are lost.
func trace(edges []nanoEdge) (parts []nanoPolygon, lost int) {
	edges = withoutDoubles(edges)
	leaving := make(map[nano][]int32, len(edges))
	for i, e := range edges {
		leaving[e.a] = append(leaving[e.a], int32(i))
	}
	used := make([]bool, len(edges))
	var loops []nanoRing
	for i := range edges {
		if used[i] {
			continue
		}
		var walk nanoRing
		for j := i; j >= 0; {
			used[j] = true
			walk = append(walk, edges[j].a)
			j = leftmost(edges, leaving[edges[j].b], used, j, i)
		}
		loops = append(loops, loopsOf(walk)...)
	}
	return assemble(loops)
}

// withoutDoubles drops edges that are run both ways.
func withoutDoubles(edges []nanoEdge) []nanoEdge {
	runs := make(map[nanoEdge]int, len(edges))
	for _, e := range edges {
		runs[e]++
	}
	kept := make([]nanoEdge, 0, len(edges))
	for _, e := range edges {
		back := nanoEdge{e.b, e.a}
		if runs[back] > 0 && runs[e] > 0 {
			runs[back]--
			runs[e]--
			continue
		}
		if runs[e] > 0 {
			runs[e]--
			kept = append(kept, e)
		}
	}
	return kept
}

// leftmost picks, of the ways not used yet, the one that turns farthest left
// after edge e: it bounds the same ground. It is -1 where that is the edge the
// walk began with.
//
//	    |ground
//	    |  ^ next
//	    |  |
//	e ------>+----- (not this one: other ground lies along it)
func leftmost(edges []nanoEdge, ways []int32, used []bool, e, first int) int {
	best := -1
	for _, w := range ways {
		if used[w] && int(w) != first {
			continue
		}
		if best < 0 || clockwiseBefore(edges[e].b, edges[e].a, edges[w].b, edges[best].b) {
			best = int(w)
		}
	}
	if best == first {
		return -1
	}
	return best
}

// clockwiseBefore reports whether, turning clockwise around o from the
// direction of r, one meets p before q.
func clockwiseBefore(o, r, p, q nano) bool {
	if hp, hq := clockwiseHalf(o, r, p), clockwiseHalf(o, r, q); hp != hq {
		return hp < hq
	}
	return turn(o, p, q) < 0
}

// clockwiseHalf is 0 for directions less than half a turn clockwise of r, 1
// for straight on, 2 for more, 3 for r itself.
func clockwiseHalf(o, r, p nano) int {
	switch turn(o, r, p) {
	case -1:
		return 0
	case 1:
		return 2
	}
	back := cmp.Compare(p.lon, o.lon) == -cmp.Compare(r.lon, o.lon) && cmp.Compare(p.lat, o.lat) == -cmp.Compare(r.lat, o.lat)
	if back {
		return 1
	}
	return 3
}

// loopsOf splits a closed walk where it comes back to a corner.
func loopsOf(walk nanoRing) []nanoRing {
	var loops []nanoRing
	var open nanoRing
	at := make(map[nano]int, len(walk))
	for _, p := range walk {
		if k, again := at[p]; again {
			loops = append(loops, slices.Clone(open[k:]))
			for _, q := range open[k+1:] {
				delete(at, q)
			}
			open = open[:k]
		}
		at[p] = len(open)
		open = append(open, p)
	}
	return append(loops, open)
}

// assemble finds the shell of each hole.
func assemble(loops []nanoRing) (parts []nanoPolygon, lost int) {
	var shells, holes []nanoRing
	for _, l := range loops {
		switch a := l.area(); {
		case len(l) < 3 || a == 0:
			lost++
		case a > 0:
			shells = append(shells, l)
		default:
			holes = append(holes, l)
		}
	}
	for i, s := range shells {
		around := 0
		for j, t := range shells {
			if i != j && t.holds(s) {
				around++
			}
		}
		for _, h := range holes {
			if around > 0 && h.holds(s) {
				around--
			}
		}
		if around > 0 { // ground that is there already
			lost++
			continue
		}
		parts = append(parts, nanoPolygon{s})
	}
	for _, h := range holes {
		best := -1
		for i, p := range parts {
			if p[0].holds(h) && (best < 0 || p[0].area() < parts[best][0].area()) {
				best = i
			}
		}
		if best < 0 {
			lost++
			continue
		}
		parts[best] = append(parts[best], h)
	}
	return parts, lost
}

// area returns the signed area of r in square units, to float64 precision and
// with the right sign: a ring whose area rounds to nothing has none.
func (r nanoRing) area() float64 {
	var sum float64
	for i := 2; i < len(r); i++ {
		sum += float64(r[i-1].lon-r[0].lon)*float64(r[i].lat-r[0].lat) -
			float64(r[i-1].lat-r[0].lat)*float64(r[i].lon-r[0].lon)
	}
	return sum / 2
}

// holds reports whether s, which does not cross r nor share an edge with it,
// lies in r. It asks for the middle of an edge of s, since corners may touch,
// in half units.
func (r nanoRing) holds(s nanoRing) bool {
	x, y := s[0].lon+s[1].lon, s[0].lat+s[1].lat
	in := false
	for i, p := range r {
		q := r[(i+1)%len(r)]
		if (2*p.lat > y) == (2*q.lat > y) {
			continue
		}
		// Whether the edge passes the level of y to the east of x.
		side := compareProducts(2*(q.lon-p.lon), y-2*p.lat, 2*(q.lat-p.lat), x-2*p.lon)
		if (side > 0) == (q.lat > p.lat) {
			in = !in
		}
	}
	return in
}

func roundHalfUp(v float64) float64 { return math.Floor(v + 0.5) }
