package region

import (
	"cmp"

	"lapwing/coverage/field"
	"lapwing/coverage/sweep"
	"lapwing/geo/arrange"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// within returns the ground of the passes that have some in the field, any at
// all: the others worked elsewhere.
func within(g sweep.Ground, field *field.Field, budget *arrange.Budget) (sweep.Ground, error) {
	var boundary arrange.Layer
	box := plane.Bounds(field.Boundary)
	for _, p := range field.Boundary {
		boundary = append(boundary, p.Rings()...)
	}
	first := make([]int, len(g.Passes)+1) // the swaths of a pass are first[pass] ≤ i < first[pass+1]
	for _, s := range g.Swaths {
		first[s.Pass+1]++
	}
	for i := range g.Passes {
		first[i+1] += first[i]
	}
	here, errs := make([]bool, len(g.Passes)), make([]error, len(g.Passes))
	parallel.Each(len(g.Passes), func(i int) {
		swaths := g.Swaths[first[i]:first[i+1]]
		if field.Worked && sweepAny(swaths) { // its edge was drawn around them
			here[i] = true
			return
		}
		here[i], errs[i] = anyWithin(swaths, boundary, box, budget)
	})

	var out sweep.Ground
	if err := cmp.Or(errs...); err != nil {
		return out, err
	}
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
	return out, nil
}

// sweepAny reports whether the rings of some swaths wind anticlockwise on the whole,
// so that there is ground within them.
func sweepAny(swaths []sweep.Swath) bool {
	var area plane.Area
	for i := range swaths {
		for _, ring := range swaths[i].Rings {
			area += ring.Area()
		}
	}
	return area > 0
}

// anyWithin reports whether any ground of the swaths of one pass lies within a
// boundary, whose shells lie in the box.
//
// Nearly always a corner of a swath tells: on the left of every edge of a swath's
// rings is ground that it covers, so that a corner inside the boundary has some
// beside it. Where no corner is inside, swath and boundary are cut along each other;
// rings wholly outside the box are left out of that.
func anyWithin(swaths []sweep.Swath, boundary arrange.Layer, box plane.Box, budget *arrange.Budget) (bool, error) {
	near := make([]arrange.Layer, len(swaths))
	for i := range swaths {
		for _, ring := range swaths[i].Rings {
			if !ring.Bounds().Meets(box) {
				continue
			}
			for _, p := range ring {
				if winding, on := plane.Winding(boundary, p); winding > 0 && !on {
					return true, nil
				}
			}
			near[i] = append(near[i], ring)
		}
	}
	for _, rings := range near {
		if len(rings) == 0 {
			continue
		}
		covers, err := budget.Areas([]arrange.Layer{boundary, rings})
		if err != nil {
			return false, err
		}
		for _, c := range covers {
			if len(c.Under) == 2 && c.Area != 0 {
				return true, nil
			}
		}
	}
	return false, nil
}
