package repair

import (
	"cmp"
	"math"
	"slices"

	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// together is how many polygons are united at once. What a group leaves has few of
// the edges that its polygons had, and far fewer crossings: uniting groups, then
// groups of groups, takes little more than to read them, where all at once would
// cross as often as there are pairs. Speed alone; the ground does not hang on it.
const together = 16

// Unite returns the ground that lies in any of some polygons, as polygons of which
// no two share ground. Corners stay where they are; crossings are rounded to whole
// units, see the package comment. It fails with [arrange.ErrSpent] where edges cross
// more often than a budget allows, and as that does where it is told to stop.
func Unite(polygons []plane.Polygon, b *arrange.Budget) ([]plane.Polygon, error) {
	var rings []plane.Ring
	for _, p := range polygons {
		rings = append(rings, p.Rings()...)
	}
	g := gridUnder(rings, whole)
	groups := make([][]plane.Polygon, len(polygons))
	for i, p := range polygons {
		laid := g.lay(p.Rings()...)
		groups[i] = []plane.Polygon{{Shell: laid[0], Holes: laid[1:]}}
	}
	for first := true; first || len(groups) > 1; first = false {
		next := make([][]plane.Polygon, 0, len(groups)/together+1)
		for _, group := range neighbourly(groups) {
			var layer arrange.Layer
			for _, p := range slices.Concat(group...) {
				layer = append(layer, p.Rings()...)
			}
			cut, err := b.Cut([]arrange.Layer{layer}, func(under []int) arrange.Label { return arrange.Label(len(under)) })
			if err != nil {
				return nil, err
			}
			united := make([]plane.Polygon, len(cut.Faces))
			for i, f := range cut.Faces {
				united[i] = f.Shape
			}
			next = append(next, united)
		}
		groups = next
	}
	if len(groups) == 0 {
		return nil, nil
	}
	g.lift(groups[0])
	return groups[0], nil
}

// neighbourly sorts ground into lots of a few pieces near one another: by strips from
// west to east, and in these from south to north.
func neighbourly(pieces [][]plane.Polygon) (lots [][][]plane.Polygon) {
	type placed struct {
		at    plane.Point
		piece []plane.Polygon
	}
	all := make([]placed, 0, len(pieces))
	for _, p := range pieces {
		if len(p) > 0 {
			box := plane.Bounds(p)
			all = append(all, placed{box.Min.Add(box.Max), p})
		}
	}
	slices.SortStableFunc(all, func(p, q placed) int { return cmp.Compare(p.at.X, q.at.X) })
	n := (len(all) + together - 1) / together
	strips := int(math.Ceil(math.Sqrt(float64(n))))
	for strip := range slices.Chunk(all, max(1, together*((n+strips-1)/max(1, strips)))) {
		slices.SortStableFunc(strip, func(p, q placed) int { return cmp.Compare(p.at.Y, q.at.Y) })
		for few := range slices.Chunk(strip, together) {
			lot := make([][]plane.Polygon, len(few))
			for i := range few {
				lot[i] = few[i].piece
			}
			lots = append(lots, lot)
		}
	}
	return lots
}
