package edge

import (
	"lapwing/coverage/region"
	"lapwing/geo/arrange"
	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// A rim is one edge of the boundary as it lies in the arrangement, with the region
// on its inner side and the label of what is on its outer side.
type rim struct {
	from, to plane.Point
	inner    *region.Region
	outer    arrange.Label
}

// touches reports whether there is covered ground beside it, on either side.
func (r *rim) touches() bool {
	return r.inner.Kind == region.Once || r.inner.Kind == region.Overlap || r.outer != arrange.None
}

// rims returns the boundary's edges, ring by ring, the field on their left.
func rims(lay *region.Layout) [][]rim {
	from := map[plane.Point][]rim{}
	for i := range lay.Regions {
		r := &lay.Regions[i]
		if r.Kind == region.OverReach {
			continue
		}
		for j, ring := range r.Shape.Rings() {
			for k, p := range ring {
				l := r.Across[j][k]
				if l == arrange.None || lay.Class(l).Kind == region.OverReach {
					from[p] = append(from[p], rim{p, ring[(k+1)%len(ring)], r, l})
				}
			}
		}
	}
	var out [][]rim
	for _, poly := range lay.Field.Boundary {
		for _, ring := range poly.Rings() {
			for _, start := range ring { // the first corner whose edge is still there
				var loop []rim
				for p := start; len(from[p]) > 0; {
					r := from[p][0]
					from[p] = from[p][1:]
					loop = append(loop, r)
					if p = r.to; p == start {
						break
					}
				}
				if len(loop) > 0 {
					out = append(out, loop)
				}
			}
		}
	}
	return out
}

func ringOf(rims []rim) plane.Ring {
	out := make(plane.Ring, len(rims))
	for i, r := range rims {
		out[i] = r.from
	}
	return out
}

// groundEdges returns the edges where covered ground meets ground that is not,
// and the edges of unlogged ground. Skips beyond the zone are left out: covered
// ground that only they border on is no nearer than the zone is wide.
func groundEdges(lay *region.Layout) (covered, silent near.Index) {
	var regions []*region.Region
	n := 0 // of their edges
	for i := range lay.Regions {
		r := &lay.Regions[i]
		if r.Kind == region.Once || r.Kind == region.Overlap {
			continue // seen from the other side, or on the boundary
		}
		if r.Kind == region.Skip && !r.Headland {
			continue
		}
		regions = append(regions, r)
		for _, ring := range r.Across {
			n += len(ring)
		}
	}
	cover := make([]near.Edge, 0, n)
	var silence []near.Edge
	for _, r := range regions {
		for j, ring := range r.Shape.Rings() {
			for k, p := range ring {
				q := ring[(k+1)%len(ring)]
				e := near.EdgeOf(p, q)
				l := r.Across[j][k]
				switch {
				case r.Kind == region.OverReach && l == arrange.None,
					r.Kind != region.OverReach && l != arrange.None && lay.Class(l).Depth > 0:
					cover = append(cover, e)
				}
				if r.Kind == region.Unlogged {
					silence = append(silence, e)
				}
			}
		}
	}
	return near.New(cover), near.New(silence)
}
