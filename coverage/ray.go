package coverage

import "math"

// A ray looks in the direction dx, dy, of length 1, from x, y.
type ray struct {
	x, y, dx, dy float64
	beyond       float64 // edges that are no farther are not seen
	far          float64 // how far away the first is that it crosses; +Inf for none
	leaves       bool    // it crosses that from its left to its right
}

// see finds the first edge that the ray crosses.
func (n *nearby) see(r *ray) {
	r.far = math.Inf(1)
	if top := len(n.levels) - 1; top >= 0 {
		r.lookAt(n, top, n.levels[top], 0)
	} else {
		r.look(n.edges)
	}
}

func (r *ray) lookAt(n *nearby, level int, boxes []extents, first int) {
	var near ranking
	for i := range boxes {
		if from, on := r.reaches(&boxes[i]); on && from < r.far {
			near.add(from, first+i)
		}
	}
	for _, o := range near.list[:near.count] {
		if o.away >= r.far {
			return
		}
		if level == 0 {
			r.look(n.run(o.at))
		} else {
			below, from := n.below(level, o.at)
			r.lookAt(n, level-1, below, from)
		}
	}
}

// reaches reports whether the ray comes within a tick of a box, and a distance
// before which it does not.
func (r *ray) reaches(b *extents) (from float64, on bool) {
	cx, cy := (b.x0+b.x1)/2-r.x, (b.y0+b.y1)/2-r.y
	hx, hy := (b.x1-b.x0)/2, (b.y1-b.y0)/2
	ax, ay := math.Abs(r.dx), math.Abs(r.dy)
	along, reach := cx*r.dx+cy*r.dy, hx*ax+hy*ay+1
	return along - reach, math.Abs(cx*r.dy-cy*r.dx) <= hx*ay+hy*ax+1 && along+reach >= r.beyond
}

// look compares the edges one by one.
func (r *ray) look(edges []edge) {
	for i := range edges {
		e := &edges[i]
		a, b := (e.ax-r.x)*r.dy-(e.ay-r.y)*r.dx, (e.bx-r.x)*r.dy-(e.by-r.y)*r.dx
		if (a > 0) == (b > 0) {
			continue
		}
		k := a / (a - b)
		along := (e.ax+k*(e.bx-e.ax)-r.x)*r.dx + (e.ay+k*(e.by-e.ay)-r.y)*r.dy
		if along > r.beyond && along < r.far {
			r.far, r.leaves = along, a > 0
		}
	}
}
