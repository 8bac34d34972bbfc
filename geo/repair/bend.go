package repair

import (
	"cmp"
	"slices"

	"lapwing/geo/plane"
)

// rounds is how often edges are bent at most: to bend one through a corner can
// bring it near to the next. Polygons as small as their grid take three
// (TestPolygonsOnASmallGrid).
const rounds = 12

// straightened bends edges through what lies within half a unit of them, again
// until nothing does: through corners, and where two edges cross through the
// unit that their crossing lies in. It says whether any edge was bent, or any
// corners coincide, where rings may cross.
//
//	    ·   c   ·          ·  .c.  ·
//	a-------------b      a--´  ·  `--b
func straightened(rings []plane.Ring) (out []plane.Ring, touched bool) {
	for range rounds {
		bends, touches := meetings(rings)
		touched = touched || touches || len(bends) > 0
		if len(bends) == 0 {
			break
		}
		rings = bent(rings, bends)
	}
	return rings, touched
}

// A bend is a place that an edge, given by its number through all rings, must
// pass through.
type bend struct {
	edge int32
	at   plane.Point
}

// meetings looks at all pairs of edges that come close. touches says whether
// corners coincide, other than where one edge follows on another.
func meetings(rings []plane.Ring) (bends []bend, touches bool) {
	t := newEdgeRuns(edgesOf(rings), 1, unlimited)
	next := nextOf(rings)
	t.pairs(func(i, j int32) bool {
		var touch bool
		bends, touch = meeting(bends, i, j, t.edges[i], t.edges[j], next)
		touches = touches || touch
		return true
	})
	return bends, touches
}

// meeting adds the bends that one pair of edges needs.
func meeting(bends []bend, i, j int32, e, f edge, next []int32) ([]bend, bool) {
	before := len(bends)
	for _, at := range [2]plane.Point{f.a, f.b} {
		if e.near(at) {
			bends = append(bends, bend{i, at})
		}
	}
	for _, at := range [2]plane.Point{e.a, e.b} {
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
	if next[i] == j {
		follows++
	}
	if next[j] == i {
		follows++
	}
	return bends, shared > follows
}

// nextOf gives the number of the edge that follows each edge in its ring.
func nextOf(rings []plane.Ring) []int32 {
	n := 0
	for _, r := range rings {
		n += len(r)
	}
	next := make([]int32, 0, n)
	for _, r := range rings {
		first := int32(len(next))
		for i := range r {
			next = append(next, first+int32((i+1)%len(r)))
		}
	}
	return next
}

// bent returns the rings with the bends in them.
func bent(rings []plane.Ring, bends []bend) []plane.Ring {
	slices.SortFunc(bends, func(p, q bend) int { return cmp.Compare(p.edge, q.edge) })
	out := make([]plane.Ring, 0, len(rings))
	number := int32(0)
	for _, r := range rings {
		ring := make(plane.Ring, 0, len(r)+len(bends))
		for i, a := range r {
			ring = append(ring, a)
			n := 0
			for n < len(bends) && bends[n].edge == number {
				n++
			}
			e := edge{a, r[(i+1)%len(r)]}
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
		if ring = trimmed(ring); len(ring) > 1 { // two places: an edge run both ways, which bounds nothing
			out = append(out, ring)
		}
	}
	return out
}

// trimmed returns a ring without corners that repeat the one before, the last
// before the first among them.
func trimmed(r plane.Ring) plane.Ring {
	for i := 1; i < len(r); i++ {
		if r[i] == r[i-1] {
			r = slices.Compact(slices.Clone(r))
		}
	}
	for len(r) > 1 && r[0] == r[len(r)-1] {
		r = r[:len(r)-1]
	}
	return r
}

// near reports whether p lies within half a unit of e, its ends left out.
func (e edge) near(p plane.Point) bool {
	if p == e.a || p == e.b {
		return false
	}
	dx, dy := float64(e.b.X-e.a.X), float64(e.b.Y-e.a.Y)
	px, py := float64(p.X-e.a.X), float64(p.Y-e.a.Y)
	length2 := dx*dx + dy*dy
	if t := px*dx + py*dy; t <= 0 || t >= length2 {
		return false // beyond its ends, and so a whole unit off at least
	}
	off := px*dy - py*dx
	return off*off < length2/4
}

// along orders places on e.
func (e edge) along(p plane.Point) float64 {
	return float64(p.X-e.a.X)*float64(e.b.X-e.a.X) + float64(p.Y-e.a.Y)*float64(e.b.Y-e.a.Y)
}

// crosses reports whether e and f cross within both.
func (e edge) crosses(f edge) bool {
	return plane.Side(e.a, e.b, f.a)*plane.Side(e.a, e.b, f.b) < 0 && plane.Side(f.a, f.b, e.a)*plane.Side(f.a, f.b, e.b) < 0
}

// crossing returns the place nearest to where e and f cross.
func (e edge) crossing(f edge) plane.Point {
	ex, ey := float64(e.b.X-e.a.X), float64(e.b.Y-e.a.Y)
	fx, fy := float64(f.b.X-f.a.X), float64(f.b.Y-f.a.Y)
	ox, oy := float64(f.a.X-e.a.X), float64(f.a.Y-e.a.Y)
	t := (ox*fy - oy*fx) / (ex*fy - ey*fx)
	return plane.Point{X: e.a.X + plane.Round(t*ex), Y: e.a.Y + plane.Round(t*ey)}
}

// atLine returns the place on e nearest to where it crosses the line from south
// to north at x, and whether it does.
func (e edge) atLine(x plane.Length) (plane.Point, bool) {
	if min(e.a.X, e.b.X) >= x || max(e.a.X, e.b.X) <= x {
		return plane.Point{}, false
	}
	t := float64(x-e.a.X) / float64(e.b.X-e.a.X)
	return plane.Point{X: x, Y: e.a.Y + plane.Round(t*float64(e.b.Y-e.a.Y))}, true
}
