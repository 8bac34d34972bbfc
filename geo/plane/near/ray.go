package near

import (
	"math"

	"lapwing/geo/plane"
)

// A Ray looks from X, Y in the direction DX, DY, of length 1. It does not see
// edges that are no farther away than Beyond. An end of an edge that lies on the
// ray counts as on its left, so that where two edges meet it crosses one of
// them or neither.
type Ray struct {
	X, Y, DX, DY float64
	Beyond       plane.Distance
}

// A Hit is where a ray first crosses an edge.
//
//	      b
//	      |         Leaves: the ray goes from the
//	o---->|         edge's left to its right, and
//	      |         so out of the ground it bounds
//	      a
type Hit struct {
	Distance plane.Distance // from the ray's start; infinite where it crosses none
	Leaves   bool           // it crosses from the edge's left to its right
}

// Cast finds the first edge that a ray crosses.
func (n *Index) Cast(r *Ray) Hit {
	h := Hit{Distance: plane.Distance(math.Inf(1))}
	if top := len(n.levels) - 1; top >= 0 {
		h.lookAt(r, n, top, n.levels[top], 0)
	} else {
		h.look(r, n.edges)
	}
	return h
}

// lookAt searches some boxes of a level, the first of which is box first, from
// the nearest on.
func (h *Hit) lookAt(r *Ray, n *Index, level int, boxes []box, first int) {
	var near ranking
	for i := range boxes {
		if from, on := r.reaches(&boxes[i]); on && from < float64(h.Distance) {
			near.add(from, first+i)
		}
	}
	for _, o := range near.list[:near.count] {
		if o.away >= float64(h.Distance) {
			return
		}
		if level == 0 {
			h.look(r, n.leaf(o.at))
		} else {
			below, from := n.below(level, o.at)
			h.lookAt(r, n, level-1, below, from)
		}
	}
}

// reaches reports whether the ray comes within a tick of a box, and a distance
// before which it does not.
func (r *Ray) reaches(b *box) (from float64, on bool) {
	cx, cy := (b.x0+b.x1)/2-r.X, (b.y0+b.y1)/2-r.Y
	hx, hy := (b.x1-b.x0)/2, (b.y1-b.y0)/2
	ax, ay := math.Abs(r.DX), math.Abs(r.DY)
	along, reach := cx*r.DX+cy*r.DY, hx*ax+hy*ay+1
	return along - reach, math.Abs(cx*r.DY-cy*r.DX) <= hx*ay+hy*ax+1 && along+reach >= float64(r.Beyond)
}

// look compares the edges one by one.
func (h *Hit) look(r *Ray, edges []Edge) {
	for i := range edges {
		e := &edges[i]
		a, b := (e.AX-r.X)*r.DY-(e.AY-r.Y)*r.DX, (e.BX-r.X)*r.DY-(e.BY-r.Y)*r.DX
		if (a > 0) == (b > 0) {
			continue
		}
		k := a / (a - b)
		along := plane.Distance((e.AX+k*(e.BX-e.AX)-r.X)*r.DX + (e.AY+k*(e.BY-e.AY)-r.Y)*r.DY)
		if along > r.Beyond && along < h.Distance {
			h.Distance, h.Leaves = along, a > 0
		}
	}
}
