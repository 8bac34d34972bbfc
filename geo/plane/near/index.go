package near

import (
	"math"
	"slices"
)

// An Index finds the edges near a place. It is a packed R-tree over the edges
// in the order of Morton's curve. It does not change once it is made: any
// number of goroutines may ask it. The zero Index holds no edge.
type Index struct {
	edges []Edge
	tree
}

// fewEdges are quicker to go through than to sort.
const fewEdges = 4 * fanOut

// New makes an index of edges, of which it keeps a copy or, where they are
// few, the slice itself.
func New(edges []Edge) Index {
	n := Index{edges: edges}
	if len(edges) <= fewEdges {
		return n
	}
	n.edges = alongCurve(edges)
	leaves := make([]box, 0, len(edges)/fanOut+1)
	for leaf := range slices.Chunk(n.edges, fanOut) {
		leaves = append(leaves, boxOf(leaf))
	}
	n.tree = newTree(leaves)
	return n
}

// alongCurve returns the edges in the order in which a curve comes to their
// middles that runs through all squares of the plane, and through the four
// quarters of each one after another (G. M. Morton, "A computer oriented
// geodetic data base and a new technique in file sequencing", 1966).
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
	b := nowhere
	for i := range edges {
		e := &edges[i]
		b = box{min(b.x0, e.AX, e.BX), min(b.y0, e.AY, e.BY), max(b.x1, e.AX, e.BX), max(b.y1, e.AY, e.BY)}
	}
	return b
}

// leaf returns the edges in box i of the lowest level.
func (n *Index) leaf(i int) []Edge {
	return n.edges[i*fanOut : min((i+1)*fanOut, len(n.edges))]
}
