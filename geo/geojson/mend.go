package geojson

import (
	"cmp"
	"math/bits"
	"slices"
)

// Rounding to the ninth decimal moves a place by half a unit at most, but that
// is enough to carry a corner across an edge that passes close by, or to shut
// a thin ring. mend makes such a polygon valid again, nowhere by more than half
// a unit a round:
//
//  1. Where a corner lies within half a unit of an edge, the edge is bent
//     through it; where two edges cross all the same, both are bent through
//     the unit their crossing lies in. Again until nothing is near.
//  2. Edges run both ways enclose nothing and are dropped.
//  3. What is left is traced into rings, which then touch in corners only.
//
// Corners that lie no nearer than half a unit to any other edge also keep
// their side when a reader turns the decimals into float64, whose steps are
// 3e-5 units at 180 degrees.
func mend(rings []nanoRing) (parts []nanoPolygon, lost int) {
	kept := rings[:0:0]
	for i, r := range rings {
		if r = trimmed(r); len(r) >= 3 {
			kept = append(kept, r)
		} else if lost++; i == 0 {
			return nil, len(rings)
		}
	}
	const rounds = 12 // random slivers take three at most
	touched := false
	for range rounds {
		bends, touches := meetings(kept)
		touched = touched || touches || len(bends) > 0
		if len(bends) == 0 {
			break
		}
		kept = bent(kept, bends)
	}
	if !touched {
		return []nanoPolygon{kept}, lost
	}
	parts, more := trace(edgesOf(kept))
	if len(parts) == 0 && more == 0 {
		more = 1 // all of its edges ran both ways
	}
	return parts, lost + more
}

// trimmed drops places that repeat the one before, the last before the first
// among them.
func trimmed(r nanoRing) nanoRing {
	r = slices.Compact(r)
	for len(r) > 1 && r[0] == r[len(r)-1] {
		r = r[:len(r)-1]
	}
	return r
}

// A bend is a place that an edge, given by its number through all rings, must
// pass through.
type bend struct {
	edge int
	at   nano
}

// meetings looks at all pairs of edges that come close. touches says whether
// corners coincide.
//
// Edges that follow one another in a ring lie near each other, so the boxes of
// runs of 4, 8, 16, … edges are small, and most pairs of runs are told apart at
// once. What is left is little more than each edge and the next one.
func meetings(rings []nanoRing) (bends []bend, touches bool) {
	edges := edgesOf(rings)
	next := nextOf(rings)
	t := newEdgeRuns(edges)
	t.pairs(func(i, j int32) {
		var touch bool
		bends, touch = meeting(bends, int(i), int(j), edges[i], edges[j], next)
		touches = touches || touch
	})
	return bends, touches
}

// meeting adds the bends that one pair of edges needs.
func meeting(bends []bend, i, j int, e, f nanoEdge, next []int32) ([]bend, bool) {
	before := len(bends)
	for _, at := range [2]nano{f.a, f.b} {
		if e.near(at) {
			bends = append(bends, bend{i, at})
		}
	}
	for _, at := range [2]nano{e.a, e.b} {
		if f.near(at) {
			bends = append(bends, bend{j, at})
		}
	}
	shared := 0
	for _, same := range [4]bool{e.a == f.a, e.a == f.b, e.b == f.a, e.b == f.b} {
		if same {
			shared++
		}
	}
	if len(bends) == before && shared == 0 && e.crosses(f) {
		at := e.crossing(f)
		bends = append(bends, bend{i, at}, bend{j, at})
	}
	follows := 0
	if int(next[i]) == j {
		follows++
	}
	if int(next[j]) == i {
		follows++
	}
	return bends, shared > follows
}

// bent returns the rings with the bends in them.
func bent(rings []nanoRing, bends []bend) []nanoRing {
	slices.SortFunc(bends, func(p, q bend) int { return cmp.Compare(p.edge, q.edge) })
	out := make([]nanoRing, 0, len(rings))
	number := 0
	for _, r := range rings {
		ring := make(nanoRing, 0, len(r)+len(bends))
		for i, a := range r {
			ring = append(ring, a)
			n := 0
			for n < len(bends) && bends[n].edge == number {
				n++
			}
			e := nanoEdge{a, r[(i+1)%len(r)]}
			through := bends[:n]
			slices.SortFunc(through, func(p, q bend) int {
				return cmp.Compare(e.along(p.at), e.along(q.at))
			})
			for _, b := range through {
				ring = append(ring, b.at)
			}
			bends = bends[n:]
			number++
		}
		if ring = trimmed(ring); len(ring) > 1 { // two places: trace drops the edge run both ways
			out = append(out, ring)
		}
	}
	return out
}

func edgesOf(rings []nanoRing) []nanoEdge {
	n := 0
	for _, r := range rings {
		n += len(r)
	}
	edges := make([]nanoEdge, 0, n)
	for _, r := range rings {
		for i, a := range r {
			b := r[0]
			if i+1 < len(r) {
				b = r[i+1]
			}
			edges = append(edges, nanoEdge{a, b})
		}
	}
	return edges
}

// nextOf gives the number of the edge that follows each edge in its ring.
func nextOf(rings []nanoRing) []int32 {
	var next []int32
	for _, r := range rings {
		first := int32(len(next))
		for i := range r {
			next = append(next, first+int32((i+1)%len(r)))
		}
	}
	return next
}

// A nanoEdge is a straight edge from a to b.
type nanoEdge struct{ a, b nano }

func abs(v int64) int64 { return max(v, -v) }

// near reports whether p lies within half a unit of e, its ends left out.
func (e nanoEdge) near(p nano) bool {
	if p == e.a || p == e.b {
		return false
	}
	dx, dy := float64(e.b.lon-e.a.lon), float64(e.b.lat-e.a.lat)
	px, py := float64(p.lon-e.a.lon), float64(p.lat-e.a.lat)
	length2 := dx*dx + dy*dy
	if t := px*dx + py*dy; t <= 0 || t >= length2 {
		return false // beyond its ends, and so a whole unit off at least
	}
	off := px*dy - py*dx
	return off*off < length2/4
}

// along orders places on e.
func (e nanoEdge) along(p nano) float64 {
	return float64(p.lon-e.a.lon)*float64(e.b.lon-e.a.lon) + float64(p.lat-e.a.lat)*float64(e.b.lat-e.a.lat)
}

// crosses reports whether e and f cross within both.
func (e nanoEdge) crosses(f nanoEdge) bool {
	return turn(e.a, e.b, f.a)*turn(e.a, e.b, f.b) < 0 && turn(f.a, f.b, e.a)*turn(f.a, f.b, e.b) < 0
}

// crossing returns the place nearest to where e and f cross.
func (e nanoEdge) crossing(f nanoEdge) nano {
	ex, ey := float64(e.b.lon-e.a.lon), float64(e.b.lat-e.a.lat)
	fx, fy := float64(f.b.lon-f.a.lon), float64(f.b.lat-f.a.lat)
	ox, oy := float64(f.a.lon-e.a.lon), float64(f.a.lat-e.a.lat)
	t := (ox*fy - oy*fx) / (ex*fy - ey*fx)
	return nano{e.a.lon + int64(roundHalfUp(t*ex)), e.a.lat + int64(roundHalfUp(t*ey))}
}

// turn is the side of the line from a to b on which c lies: 1 left, -1 right.
// It is exact: differences fit 40 bits, so their products are taken in 128.
func turn(a, b, c nano) int {
	return compareProducts(b.lon-a.lon, c.lat-a.lat, b.lat-a.lat, c.lon-a.lon)
}

// compareProducts returns the sign of p·q - r·s.
func compareProducts(p, q, r, s int64) int {
	const small = 1 << 31
	if abs(p) < small && abs(q) < small && abs(r) < small && abs(s) < small {
		return cmp.Compare(p*q, r*s)
	}
	hi1, lo1 := multiply(p, q)
	hi2, lo2 := multiply(r, s)
	if c := cmp.Compare(hi1, hi2); c != 0 {
		return c
	}
	return cmp.Compare(lo1, lo2)
}

// multiply returns p·q as a 128-bit number in two's complement.
func multiply(p, q int64) (hi int64, lo uint64) {
	h, l := bits.Mul64(uint64(abs(p)), uint64(abs(q)))
	if (p < 0) != (q < 0) {
		var borrow uint64
		l, borrow = bits.Sub64(0, l, 0)
		h, _ = bits.Sub64(0, h, borrow)
	}
	return int64(h), l
}
