package near

import (
	"math"
	"slices"
)

// An Index finds the edges near a place. It is a packed R-tree (N.
// Roussopoulos, D. Leifker, "Direct spatial search on pictorial databases
// using packed R-trees", 1985): the edges lie in the order of a curve that
// runs through all squares of the plane (G. M. Morton, 1966), so that those
// that lie together are neighbours; every eight have a box around them, every
// eight boxes a larger one, and so on:
//
//	[.................] [...              levels[1]
//	[......]  [.......] [...              levels[0]
//	- | | - | | - - | | | -               edges
//
// It does not change once it is made: any number of goroutines may ask it. The
// zero Index holds no edge.
type Index struct {
	edges  []Edge
	levels [][]box // from the leaves, the boxes around edges, upward
}

// fanOut is how many edges, or boxes, have a box together: as many as take one
// look at two or three cache lines. BenchmarkIndex is slower with 4 and 16.
const fanOut = 8

// fewEdges are quicker to go through than to sort.
const fewEdges = 4 * fanOut

// A box is an upright rectangle around some edges.
type box struct{ x0, y0, x1, y1 float64 }

// New makes an index of edges, of which it keeps a copy or, where they are
// few, the slice itself.
func New(edges []Edge) Index {
	n := Index{edges: edges}
	if len(edges) <= fewEdges {
		return n
	}
	n.edges = alongCurve(edges)
	level := make([]box, 0, len(edges)/fanOut+1)
	for leaf := range slices.Chunk(n.edges, fanOut) {
		level = append(level, boxOf(leaf))
	}
	n.levels = append(n.levels, level)
	for len(level) > fanOut {
		next := make([]box, 0, len(level)/fanOut+1)
		for boxes := range slices.Chunk(level, fanOut) {
			b := boxes[0]
			for _, c := range boxes[1:] {
				b = box{min(b.x0, c.x0), min(b.y0, c.y0), max(b.x1, c.x1), max(b.y1, c.y1)}
			}
			next = append(next, b)
		}
		level = next
		n.levels = append(n.levels, level)
	}
	return n
}

// alongCurve returns the edges in the order in which Morton's curve comes to
// their middles.
func alongCurve(edges []Edge) []Edge {
	all := boxOf(edges)
	scale := math.MaxUint16 / max(all.x1-all.x0, all.y1-all.y0, 1)
	keys := make([]uint64, len(edges)) // the place on the curve, and then the edge
	for i := range edges {
		e := &edges[i]
		x, y := ((e.AX+e.BX)/2-all.x0)*scale, ((e.AY+e.BY)/2-all.y0)*scale
		keys[i] = uint64(everyOther(uint32(x))|everyOther(uint32(y))<<1)<<32 | uint64(i)
	}
	slices.Sort(keys)
	out := make([]Edge, len(edges))
	for i, k := range keys {
		out[i] = edges[uint32(k)]
	}
	return out
}

// everyOther puts the lowest 16 bits of v two bits apart.
func everyOther(v uint32) uint32 {
	v = (v | v<<8) & 0x00ff00ff
	v = (v | v<<4) & 0x0f0f0f0f
	v = (v | v<<2) & 0x33333333
	return (v | v<<1) & 0x55555555
}

func boxOf(edges []Edge) box {
	b := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for i := range edges {
		e := &edges[i]
		b = box{min(b.x0, e.AX, e.BX), min(b.y0, e.AY, e.BY), max(b.x1, e.AX, e.BX), max(b.y1, e.AY, e.BY)}
	}
	return b
}

// away returns the square of the distance from x, y to the box.
func (b *box) away(x, y float64) float64 {
	dx, dy := max(b.x0-x, x-b.x1, 0), max(b.y0-y, y-b.y1, 0)
	return dx*dx + dy*dy
}

// leaf returns the edges in box i of the lowest level.
func (n *Index) leaf(i int) []Edge {
	return n.edges[i*fanOut : min((i+1)*fanOut, len(n.edges))]
}

// below returns the boxes in box i of a level, and which the first of them is.
func (n *Index) below(level, i int) ([]box, int) {
	boxes := n.levels[level-1]
	return boxes[i*fanOut : min((i+1)*fanOut, len(boxes))], i * fanOut
}

// A ranking holds boxes of one level that have a box together, the nearest
// first.
type ranking struct {
	list [fanOut]struct {
		away float64
		at   int
	}
	count int
}

func (r *ranking) add(away float64, at int) {
	k := r.count
	for ; k > 0 && r.list[k-1].away > away; k-- {
		r.list[k] = r.list[k-1]
	}
	r.list[k].away, r.list[k].at = away, at
	r.count++
}
