package arrange

import (
	"cmp"
	"iter"
	"slices"

	"lapwing/geo/parallel"
)

// edges are the distinct edges between nodes, each from its western end lo
// (southern, if upright) to hi: a run of pieces to one hi, sorted by layer and none of a
// layer twice. Crossing the edge from below (right of lo→hi) to above changes the winding
// numbers as its pieces say. Those that begin at node v are pieces[from[v]:to[v]], sorted
// from the lowest direction to the highest; see [edges.tidied].
type edges struct {
	pieces   []piece
	from, to []int32
}

// A piece is one stretch of a segment between neighbouring nodes.
type piece struct {
	hi int32
	wound
}

// join cuts the segments at their bends, and lists the pieces by the nodes that they begin
// at, not tidied yet.
func join(segs []seg, bends bendsAlong, nd nodes) *edges {
	c := cutter{segs: segs, bends: bends, of: nd.of, ofBend: nd.of[len(nd.of)-len(bends.order):]}
	parts := partsOf(len(segs), nil)
	t := parts.tally(len(nd.at))
	parts.each(func(k, from, to int) {
		counts := t.of(k)
		c.walk(from, to, func(lo int32, _ piece) { counts[lo]++ })
	})
	e := &edges{pieces: make([]piece, t.place()), to: make([]int32, len(nd.at))}
	e.from = append(slices.Clone(t.of(0)), int32(len(e.pieces)))
	parts.each(func(k, from, to int) {
		places := t.of(k)
		c.walk(from, to, func(lo int32, p piece) {
			e.pieces[places[lo]] = p
			places[lo]++
		})
	})
	return e
}

// A cutter cuts segments into pieces.
type cutter struct {
	segs       []seg
	bends      bendsAlong
	of, ofBend []int32 // the nodes of corners, and of bends
}

// walk visits the pieces of some segments, each with the node that it begins at.
func (c *cutter) walk(from, to int, visit func(lo int32, p piece)) {
	for i := from; i < to; i++ {
		g := &c.segs[i]
		v := c.of[g.from]
		bends := c.bends.of(i)
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

// tidied yields the nodes in their order, some at a time, from ≤ v < to, as soon as their
// edges are tidy. Those that follow are tidied on other processors meanwhile. One at a
// time, as [parallel.Ahead] has them, the whole arrangement would take a twentieth longer.
func (e *edges) tidied(at []point) iter.Seq2[int, int] {
	return func(yield func(from, to int) bool) {
		to := func(k int) int { return min((k+1)*fewInPart, len(at)) }
		for k := range parallel.Ahead((len(at)+fewInPart-1)/fewInPart, 1, func(k int) struct{} {
			for v := k * fewInPart; v < to(k); v++ {
				e.tidy(v, at)
			}
			return struct{}{}
		}) {
			if !yield(k*fewInPart, to(k)) {
				return
			}
		}
	}
}

// tidy sorts the pieces that begin at a node, and makes one of those that lie on each
// other and are of one layer. Pieces that cancel out are none.
func (e *edges) tidy(lo int, at []point) {
	pieces := e.pieces[e.from[lo]:e.from[lo+1]]
	o := at[lo]
	switch {
	case len(pieces) == 1:
	case len(pieces) == 2 && pieces[0].hi != pieces[1].hi: // nearly all the others
		if cross(o, at[pieces[0].hi], at[pieces[1].hi]) < 0 {
			pieces[0], pieces[1] = pieces[1], pieces[0]
		}
	default:
		slices.SortFunc(pieces, func(p, q piece) int {
			if p.hi != q.hi {
				// Pieces in one direction would overlap, which snapping rules
				// out: different ends are in different directions.
				return cmp.Compare(0, cross(o, at[p.hi], at[q.hi]))
			}
			return cmp.Compare(p.layer, q.layer)
		})
		kept := pieces[:0]
		for len(pieces) > 0 {
			p := pieces[0]
			for pieces = pieces[1:]; len(pieces) > 0 && pieces[0].hi == p.hi && pieces[0].layer == p.layer; pieces = pieces[1:] {
				p.turns += pieces[0].turns
			}
			if p.turns != 0 {
				kept = append(kept, p)
			}
		}
		pieces = kept
	}
	e.to[lo] = e.from[lo] + int32(len(pieces))
}

// edge returns where the edge ends that begins with piece i, of those up to to.
func (e *edges) edge(i, to int32) int32 {
	next := i + 1
	for next < to && e.pieces[next].hi == e.pieces[i].hi {
		next++
	}
	return next
}

// A bendsAlong lists the bends of each segment, those of segment i at
// order[first[i]:first[i+1]], in the order that the segment meets them.
type bendsAlong struct{ order, first []int32 }

func (b *bendsAlong) of(seg int) []int32 { return b.order[b.first[seg]:b.first[seg+1]] }

// alongSegs lists bends along their segments. A segment that runs more east-west than
// north-south meets at most two cells of a column, and those in the order of its own
// direction; so for rows and the other segments.
func alongSegs(segs []seg, bends []bend) bendsAlong {
	first := make([]int32, len(segs)+1)
	for _, b := range bends {
		first[b.seg+1]++
	}
	for i := 1; i < len(first); i++ {
		first[i] += first[i-1]
	}
	order := make([]int32, len(bends))
	fill := slices.Clone(first)
	for i, b := range bends {
		order[fill[b.seg]] = int32(i)
		fill[b.seg]++
	}
	for i := range segs {
		mine := order[first[i]:first[i+1]]
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
	return bendsAlong{order, first}
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
