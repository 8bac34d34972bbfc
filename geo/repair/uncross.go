package repair

import (
	"slices"

	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// Uncross returns the ground of a ring that crosses itself only barely: what it winds
// around. That is so where all that it winds around backward, or more than once, is
// thin. Crossings are rounded to whole units. Pieces of the ground that are thin
// themselves, beside the largest, fall away.
//
//	+-----------------+        +-----------------+
//	|                 |        |                 |
//	|   .--------.    |  -->   |   .--------.    |      the corners of a neck, which
//	+--x--+  +--x-----+        +--´          `---+      rounding has carried past each
//	    `-+  +-´                                        other
//
// It is not ok where something is not thin, so that what is meant is unknown, or
// where edges cross more often than a budget allows.
func Uncross(r plane.Ring, thin func(plane.Polygon) bool, b *arrange.Budget) (ground []plane.Polygon, ok bool) {
	g := gridUnder([]plane.Ring{r}, whole)
	flat := g.lay(r)[0]
	if flat.Area() < 0 {
		flat = flat.Reversed()
	}
	const fine, wrong = 1, 2
	// As in Split: where the ring winds once, only the first layer lies over the
	// ground; where it winds backward the second does, where twice the third too.
	once := arrange.Layer{flat}
	cut, err := b.Cut([]arrange.Layer{once, reversed(once), unwound(once)}, func(under []int) arrange.Label {
		if slices.Equal(under, []int{0}) {
			return fine
		}
		return wrong
	})
	if err != nil {
		return nil, false
	}
	for _, f := range cut.Faces {
		one := []plane.Polygon{f.Shape}
		if f.Label == wrong {
			if g.lift(one); !thin(one[0]) {
				return nil, false
			}
		}
	}
	if cut, err = b.Cut([]arrange.Layer{once}, func([]int) arrange.Label { return fine }); err != nil {
		return nil, false
	}
	for _, f := range cut.Faces {
		ground = append(ground, f.Shape)
	}
	g.lift(ground)
	largest := 0
	for i := range ground {
		if ground[i].Area() > ground[largest].Area() {
			largest = i
		}
	}
	out := ground[:0]
	for i, p := range ground {
		if i == largest || !thin(p) {
			p.Holes = slices.DeleteFunc(p.Holes, func(h plane.Ring) bool { return thin(plane.Polygon{Shell: h.Reversed()}) })
			out = append(out, p)
		}
	}
	return out, len(out) > 0
}
