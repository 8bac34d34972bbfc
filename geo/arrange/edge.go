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
	c := cutter{segs: segs, of: nd.of, ofBend: nd.of[len(nd.of)-len(bends):]}
	c.along, c.first = bendsAlong(segs, bends)
	parts := partsOf(len(segs), nil)
	t := parts.tally(len(nd.at))
	parts.each(func(k, from, to int) {
		counts := t.of(k)
		c.walk(from, to, func(lo int32, _ piece) { counts[lo]++ })
	})
	pieces := make([]piece, t.place())
	starts := append(slices.Clone(t.of(0)), int32(len(pieces))) // of each node, in pieces
	parts.each(func(k, from, to int) {
		places := t.of(k)
		c.walk(from, to, func(lo int32, p piece) {
			pieces[places[lo]] = p
			places[lo]++
		})
	})

	parts = partsOf(len(nd.at), nil)
	some := make([]edges, parts.len())
	parts.each(func(k, from, to int) { some[k] = merged(pieces, starts, nd.at, from, to) })
	return together(some)
}

// A cutter cuts segments into pieces.
type cutter struct {
	segs         []seg
	along, first []int32 // see [bendsAlong]
	of, ofBend   []int32 // the nodes of corners, and of bends
}

// walk visits the pieces of some segments, each with the node that it begins at.
func (c *cutter) walk(from, to int, visit func(lo int32, p piece)) {
	for i := from; i < to; i++ {
		g := &c.segs[i]
		v := c.of[g.from]
		bends := c.along[c.first[i]:c.first[i+1]]
		for k := 0; k <= len(bends); k++ {
			var w int32
			if k < len(bends) {
				w = c.ofBend[bends[k]]
			} else {
				w = c.of[g.to]
			}
			if v < w {
				visit(v, piece{w, wound{g.layer, 1}})
			} else if w < v {
				visit(w, piece{v, wound{g.layer, -1}})
			}
			v = w
		}
	}
}

// merged returns the edges that begin at some nodes.
func merged(pieces []piece, starts []int32, at []point, from, to int) edges {
	n := starts[to] - starts[from]
	out := edges{
		hi:    make([]int32, 0, n),
		first: make([]int32, 1, n+1), changes: make([]wound, 0, n),
		from: make([]int32, 1, to-from+1),
	}
	for v := from; v < to; v++ {
		out.merge(int32(v), pieces[starts[v]:starts[v+1]], at)
		out.from = append(out.from, int32(len(out.hi)))
	}
	return out
}

// together returns the edges of nodes that follow one another.
func together(some []edges) edges {
	out := some[0]
	for _, e := range some[1:] {
		before, changes := int32(len(out.hi)), int32(len(out.changes))
		out.hi, out.changes = append(out.hi, e.hi...), append(out.changes, e.changes...)
		for _, first := range e.first[1:] {
			out.first = append(out.first, changes+first)
		}
		for _, from := range e.from[1:] {
			out.from = append(out.from, before+from)
		}
	}
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

// bendsAlong returns the bends of each segment, those of segment i at
// along[first[i]:first[i+1]], in the order that the segment meets them. A segment that
// runs more east-west than north-south meets at most two cells of a column, and those in
// the order of its own direction; so for rows and the other segments.
func bendsAlong(segs []seg, bends []bend) (along, first []int32) {
	first = make([]int32, len(segs)+1)
	for _, b := range bends {
		first[b.seg+1]++
	}
	for i := 1; i < len(first); i++ {
		first[i] += first[i-1]
	}
	along = make([]int32, len(bends))
	fill := slices.Clone(first)
	for i, b := range bends {
		along[fill[b.seg]] = int32(i)
		fill[b.seg]++
	}
	for i := range segs {
		mine := along[first[i]:first[i+1]]
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
	return along, first
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
