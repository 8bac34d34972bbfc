package arrange

import (
	"cmp"
	"slices"
)

// edges are the distinct edges between nodes, each from its western end lo
// (southern, if upright) to hi. Those of one lo, node v, are from[v] up to
// from[v+1], sorted from the lowest direction to the highest.
//
// Crossing edge e from below (right of lo→hi) to above changes the winding
// numbers by changes[first[e]:first[e+1]].
type edges struct {
	hi      []int32
	first   []int32
	changes []wound
	from    []int32
}

// A piece is one stretch of a segment between neighbouring nodes.
type piece struct {
	hi int32
	wound
}

// join cuts the segments at their bends, and merges pieces that lie on each
// other. Pieces whose layers cancel out are no edges.
func join(segs []seg, bends []bend, nd nodes) edges {
	along := bendsAlong(segs, bends)
	var starts = make([]int32, len(nd.at)+2)
	walk := func(visit func(lo int32, p piece)) {
		next := 0
		corners := len(nd.of) - len(bends)
		for i := range segs {
			g := &segs[i]
			v := nd.of[g.from]
			step := func(w int32) {
				if v < w {
					visit(v, piece{w, wound{g.layer, 1}})
				} else if w < v {
					visit(w, piece{v, wound{g.layer, -1}})
				}
				v = w
			}
			for ; next < len(along) && bends[along[next]].seg == int32(i); next++ {
				step(nd.of[corners+int(along[next])])
			}
			step(nd.of[g.to])
		}
	}
	walk(func(lo int32, _ piece) { starts[lo+2]++ })
	for i := 1; i < len(starts); i++ {
		starts[i] += starts[i-1]
	}
	pieces := make([]piece, starts[len(starts)-1])
	walk(func(lo int32, p piece) {
		pieces[starts[lo+1]] = p
		starts[lo+1]++
	})

	out := edges{
		hi:    make([]int32, 0, len(pieces)),
		first: make([]int32, 1, len(pieces)+1), changes: make([]wound, 0, len(pieces)),
		from: make([]int32, len(nd.at)+1),
	}
	for v := range nd.at {
		out.from[v] = int32(len(out.hi))
		out.merge(int32(v), pieces[starts[v]:starts[v+1]], nd.at)
	}
	out.from[len(nd.at)] = int32(len(out.hi))
	return out
}

// merge adds the edges that the pieces from lo make up.
func (e *edges) merge(lo int32, pieces []piece, at []point) {
	if len(pieces) == 1 || len(pieces) == 2 && pieces[0].hi != pieces[1].hi { // by far the most common
		if len(pieces) == 2 && cross(at[lo], at[pieces[0].hi], at[pieces[1].hi]) < 0 {
			pieces[0], pieces[1] = pieces[1], pieces[0]
		}
		for _, p := range pieces {
			e.changes = append(e.changes, p.wound)
			e.hi, e.first = append(e.hi, p.hi), append(e.first, int32(len(e.changes)))
		}
		return
	}
	o := at[lo]
	slices.SortFunc(pieces, func(p, q piece) int {
		if p.hi != q.hi {
			// Pieces in one direction would overlap, which snapping rules
			// out: different ends are in different directions.
			return cmp.Compare(0, cross(o, at[p.hi], at[q.hi]))
		}
		return cmp.Compare(p.layer, q.layer)
	})
	for len(pieces) > 0 {
		hi, began := pieces[0].hi, len(e.changes)
		for len(pieces) > 0 && pieces[0].hi == hi {
			if n := len(e.changes); n > began && e.changes[n-1].layer == pieces[0].layer {
				e.changes[n-1].turns += pieces[0].turns
			} else {
				e.changes = append(e.changes, pieces[0].wound)
			}
			pieces = pieces[1:]
		}
		kept := e.changes[:began]
		for _, c := range e.changes[began:] {
			if c.turns != 0 {
				kept = append(kept, c)
			}
		}
		e.changes = kept
		if len(kept) > began {
			e.hi, e.first = append(e.hi, hi), append(e.first, int32(len(kept)))
		}
	}
}

// bendsAlong returns the bends by segment, and along each segment in the
// order it meets them. A segment that runs more east-west than north-south
// meets at most two cells of a column, and those in the order of its own
// direction; so for rows and the other segments.
func bendsAlong(segs []seg, bends []bend) []int32 {
	starts := make([]int32, len(segs)+1)
	for _, b := range bends {
		starts[b.seg+1]++
	}
	for i := 1; i < len(starts); i++ {
		starts[i] += starts[i-1]
	}
	out := make([]int32, len(bends))
	fill := slices.Clone(starts)
	for i, b := range bends {
		out[fill[b.seg]] = int32(i)
		fill[b.seg]++
	}
	for i := range segs {
		mine := out[starts[i]:starts[i+1]]
		if len(mine) < 2 {
			continue
		}
		dx, dy := int64(segs[i].b.x-segs[i].a.x), int64(segs[i].b.y-segs[i].a.y)
		level := max(dx, -dx) >= max(dy, -dy)
		slices.SortFunc(mine, func(p, q int32) int {
			ax, ay := ahead(bends[p].at, bends[q].at, dx, dy)
			if level {
				return cmp.Or(ax, ay)
			}
			return cmp.Or(ay, ax)
		})
	}
	return out
}

// ahead compares p and q along the directions of dx and dy.
func ahead(p, q point, dx, dy int64) (x, y int) {
	x, y = cmp.Compare(p.x, q.x), cmp.Compare(p.y, q.y)
	if dx < 0 {
		x = -x
	}
	if dy < 0 {
		y = -y
	}
	return x, y
}
