package coverage

import (
	"math"
	"slices"

	"lapwing/geo/plane"
)

// A nearby finds the edges near a place. They lie in the order of a curve that
// runs through all squares of the plane (G. M. Morton, 1966), so that those
// that lie together are neighbours; every eight have a box around them, every
// eight boxes a larger one, and so on:
//
//	[.................] [...              levels[1]
//	[......]  [.......] [...              levels[0]
//	- | | - | | - - | | | -               edges
type nearby struct {
	edges  []edge
	levels [][]extents // from the runs of edges upward
}

// runSize is how many edges, or boxes, have a box together.
const runSize = 8

// fewEdges are quicker to go through than to sort.
const fewEdges = 4 * runSize

// extents are the sides of the box around some edges.
type extents struct{ x0, y0, x1, y1 float64 }

// newNearby makes edges ready to be searched, in an order of its own.
func newNearby(edges []edge) nearby {
	n := nearby{edges: edges}
	if len(edges) <= fewEdges {
		return n
	}
	n.edges = alongCurve(edges)
	level := make([]extents, 0, len(edges)/runSize+1)
	for run := range slices.Chunk(n.edges, runSize) {
		level = append(level, extentsOf(run))
	}
	n.levels = append(n.levels, level)
	for len(level) > runSize {
		next := make([]extents, 0, len(level)/runSize+1)
		for run := range slices.Chunk(level, runSize) {
			b := run[0]
			for _, c := range run[1:] {
				b = extents{min(b.x0, c.x0), min(b.y0, c.y0), max(b.x1, c.x1), max(b.y1, c.y1)}
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
func alongCurve(edges []edge) []edge {
	all := extentsOf(edges)
	scale := math.MaxUint16 / max(all.x1-all.x0, all.y1-all.y0, 1)
	keys := make([]uint64, len(edges)) // the place on the curve, and then the edge
	for i := range edges {
		e := &edges[i]
		x, y := ((e.ax+e.bx)/2-all.x0)*scale, ((e.ay+e.by)/2-all.y0)*scale
		keys[i] = uint64(everyOther(uint32(x))|everyOther(uint32(y))<<1)<<32 | uint64(i)
	}
	slices.Sort(keys)
	out := make([]edge, len(edges))
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

func extentsOf(edges []edge) extents {
	b := extents{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for i := range edges {
		e := &edges[i]
		b = extents{min(b.x0, e.ax, e.bx), min(b.y0, e.ay, e.by), max(b.x1, e.ax, e.bx), max(b.y1, e.ay, e.by)}
	}
	return b
}

// away returns the square of the distance from x, y to the box.
func (b *extents) away(x, y float64) float64 {
	dx, dy := max(b.x0-x, x-b.x1, 0), max(b.y0-y, y-b.y1, 0)
	return dx*dx + dy*dy
}

// A neighbour is the place of an edge that is nearest to another place.
type neighbour struct {
	edge *edge // nil for none
	x, y float64
	d2   float64 // the square of the distance
}

// nearest returns the edge nearest to x, y, if the square of its distance is
// below d2.
func (n *nearby) nearest(x, y, d2 float64) neighbour {
	m := neighbour{d2: d2}
	if top := len(n.levels) - 1; top >= 0 {
		n.look(x, y, top, n.levels[top], 0, &m)
	} else {
		m.look(x, y, n.edges)
	}
	return m
}

// distance returns the distance from p to the nearest edge that is no farther
// than most, or +Inf.
func (n *nearby) distance(p plane.Point, most float64) float64 {
	found := n.nearest(float64(p.X), float64(p.Y), most*most*(1+1e-12))
	if found.edge == nil {
		return math.Inf(1)
	}
	return math.Sqrt(found.d2)
}

// look searches some boxes of a level, the first of which is box first, from
// the nearest on.
func (n *nearby) look(x, y float64, level int, boxes []extents, first int, m *neighbour) {
	var r ranking
	for i := range boxes {
		if d := boxes[i].away(x, y); d < m.d2 {
			r.add(d, first+i)
		}
	}
	for _, o := range r.list[:r.count] {
		if o.away >= m.d2 {
			return
		}
		if level == 0 {
			m.look(x, y, n.run(o.at))
		} else {
			below, from := n.below(level, o.at)
			n.look(x, y, level-1, below, from, m)
		}
	}
}

// run returns the edges that have box i of the lowest level together.
func (n *nearby) run(i int) []edge {
	return n.edges[i*runSize : min((i+1)*runSize, len(n.edges))]
}

// below returns the boxes in box i of a level, and which the first of them is.
func (n *nearby) below(level, i int) ([]extents, int) {
	boxes := n.levels[level-1]
	return boxes[i*runSize : min((i+1)*runSize, len(boxes))], i * runSize
}

// look compares the edges one by one.
func (m *neighbour) look(x, y float64, edges []edge) {
	for i := range edges {
		if px, py, d := edges[i].nearest(x, y); d < m.d2 {
			*m = neighbour{&edges[i], px, py, d}
		}
	}
}

// A ranking holds boxes, the nearest first.
type ranking struct {
	list [runSize]struct {
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
