package region

import (
	"lapwing/coverage/field"
	"lapwing/coverage/sweep"
	"lapwing/geo/arrange"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// within returns the ground of the passes that have some in the field, any at
// all: the others worked elsewhere.
func within(g sweep.Ground, field *field.Field) sweep.Ground {
	var boundary arrange.Layer
	box := plane.Empty()
	for _, p := range field.Boundary {
		boundary = append(boundary, p.Rings()...)
		for _, at := range p.Shell {
			box = box.Add(at)
		}
	}
	first := make([]int, len(g.Passes)+1) // the swaths of a pass are first[pass] ≤ i < first[pass+1]
	for _, s := range g.Swaths {
		first[s.Pass+1]++
	}
	for i := range g.Passes {
		first[i+1] += first[i]
	}
	here := make([]bool, len(g.Passes))
	parallel.Each(len(g.Passes), func(i int) { here[i] = anyWithin(g.Swaths[first[i]:first[i+1]], boundary, box) })

	var out sweep.Ground
	at := make([]int, len(g.Passes)) // where a pass went
	for i, is := range here {
		if is {
			at[i] = len(out.Passes)
			out.Passes = append(out.Passes, g.Passes[i])
		}
	}
	for _, s := range g.Swaths {
		if here[s.Pass] {
			s.Pass = at[s.Pass]
			out.Swaths = append(out.Swaths, s)
		}
	}
	for _, s := range g.Silences {
		if here[s.Pass] {
			s.Pass = at[s.Pass]
			out.Silences = append(out.Silences, s)
		}
	}
	return out
}

// anyWithin reports whether any ground of the swaths of one pass lies within a
// boundary, whose shells lie in the box.
//
// Nearly always a corner of a swath tells: on the left of every edge of a swath's
// rings is ground that it covers, so that a corner inside the boundary has some
// beside it. Where none is, the two are cut along each other.
func anyWithin(swaths []sweep.Swath, boundary arrange.Layer, box plane.Box) bool {
	near := false
	for i := range swaths {
		for _, ring := range swaths[i].Rings {
			if !ring.Bounds().Meets(box) {
				continue
			}
			near = true
			for _, p := range ring {
				if winding, on := plane.Winding(boundary, p); winding > 0 && !on {
					return true
				}
			}
		}
	}
	if !near {
		return false
	}
	for i := range swaths {
		for _, c := range arrange.Areas([]arrange.Layer{boundary, swaths[i].Rings}) {
			if len(c.Under) == 2 && c.Area != 0 {
				return true
			}
		}
	}
	return false
}
