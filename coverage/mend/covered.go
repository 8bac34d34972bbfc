package mend

import (
	"cmp"
	"math"
	"slices"

	"lapwing/coverage"
	"lapwing/coverage/region"
	"lapwing/geo/plane"
)

// covered finds how much of a way leads over covered ground: what lies in the
// field and in no skip or unlogged patch.
type covered struct {
	field []plane.Ring
	bare  []plane.Polygon
	boxes []plane.Box
}

func newCovered(m *coverage.Map) *covered {
	c := &covered{}
	for _, p := range m.Field.Boundary {
		c.field = append(c.field, p.Rings()...)
	}
	for i := range m.Regions {
		if r := &m.Regions[i]; r.Kind == region.Skip || r.Kind == region.Unlogged {
			c.bare, c.boxes = append(c.bare, r.Shape), append(c.boxes, r.Shape.Shell.Bounds())
		}
	}
	return c
}

// length returns the length of a way over covered ground.
func (c *covered) length(way []plane.Point) plane.Distance {
	var sum plane.Distance
	for i := 1; i < len(way); i++ {
		a, b := way[i-1], way[i]
		sum += within(c.field, a, b)
		box := plane.Empty().Add(a).Add(b)
		for k := range c.bare {
			if c.boxes[k].Meets(box) {
				sum -= within(c.bare[k].Rings(), a, b)
			}
		}
	}
	return max(0, sum)
}

// within returns how much of the straight way from a to b lies inside some
// rings.
func within(rings []plane.Ring, a, b plane.Point) plane.Distance {
	length := float64(a.Distance(b))
	if length == 0 {
		return 0
	}
	// Seen from a along the way: the rings' edges cross the way where they
	// change sides. A way that lies on an edge is taken to be half a tick to
	// its left.
	sin, cos := unit(a, b)
	var cuts []float64
	for _, r := range rings {
		for i, p := range r {
			q := r[(i+1)%len(r)]
			px, py := float64(p.X-a.X), float64(p.Y-a.Y)
			qx, qy := float64(q.X-a.X), float64(q.Y-a.Y)
			ps, qs := px*cos-py*sin+0.5, qx*cos-qy*sin+0.5
			if (ps > 0) != (qs > 0) {
				t := ps / (ps - qs)
				cuts = append(cuts, (px+t*(qx-px))*sin+(py+t*(qy-py))*cos)
			}
		}
	}
	slices.SortFunc(cuts, cmp.Compare)
	var sum float64
	for i := 0; i+1 < len(cuts); i += 2 {
		sum += max(0, min(length, cuts[i+1])-max(0, math.Min(length, cuts[i])))
	}
	return plane.Distance(sum)
}
