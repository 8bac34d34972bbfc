package repair

import (
	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// Polygons returns the ground on the left of the rings of a polygon, after
// their corners were rounded to whole units. That moves a corner by half a unit
// at most, but it is enough to carry one across an edge that passes close by, or
// to shut a thin ring. Such rings are cut where they meet: what comes out are
// polygons whose rings meet at corners only, and no corner lies within half a
// unit of another edge. Rings that need none of it stay as they are, but for
// those that were turned inside out as a whole: they are turned back.
//
// Lost counts the rings that were too small to stay, and the pieces that
// rounding has folded over.
func Polygons(rings []plane.Ring) (parts []plane.Polygon, lost int) {
	kept := make([]plane.Ring, 0, len(rings))
	for i, r := range rings {
		if r = trimmed(r); len(r) >= 3 {
			kept = append(kept, r)
		} else if lost++; i == 0 {
			return nil, len(rings)
		}
	}
	if len(kept) == 0 {
		return nil, lost
	}
	if g := gridUnder(kept, whole); !g.isWhole() {
		parts, more := Polygons(g.lay(kept...))
		g.lift(parts)
		return parts, lost + more
	}
	straight, touched := straightened(kept)
	if !touched {
		for i, r := range kept {
			if (r.Area() > 0) != (i == 0) {
				kept[i] = r.Reversed()
			}
		}
		return []plane.Polygon{{Shell: kept[0], Holes: kept[1:]}}, lost
	}
	parts, folded := ground(straight)
	if len(parts) == 0 && folded == 0 {
		folded = 1 // all of its edges ran both ways
	}
	return parts, lost + folded
}

// ground returns the ground that straightened rings wind around, and counts the
// pieces that are folded over: those that they wind around backward, and those
// that they wind around more than once.
func ground(rings []plane.Ring) (parts []plane.Polygon, folded int) {
	g := gridUnder(rings, half)
	there := g.lay(rings...)
	parts = faces([]arrange.Layer{there}, func([]int) int { return 0 })[0]
	over := faces([]arrange.Layer{reversed(there), unwound(there)}, func(under []int) int { return under[0] })
	g.lift(parts)
	return parts, len(over[0]) + len(over[1])
}

// reversed winds around all ground as often, but the other way.
func reversed(l arrange.Layer) arrange.Layer {
	out := make(arrange.Layer, len(l))
	for i, r := range l {
		out[i] = r.Reversed()
	}
	return out
}

// unwound winds once less around all ground: it lies over what rings wind
// around more than once.
func unwound(l arrange.Layer) arrange.Layer {
	return append(l[:len(l):len(l)], outline(grown(bounds(l))).Reversed())
}

// Halves cuts a polygon, as [Polygons] returns it, along the line from south to
// north at x.
func Halves(p plane.Polygon, x plane.Length) (west, east []plane.Polygon) {
	rings := p.Rings()
	if g := gridUnder(rings, whole); !g.isWhole() {
		g.middle.X += (x - g.middle.X) & (1<<max(g.x, 0) - 1) // the line is on the grid
		laid := g.lay(rings...)
		west, east = Halves(plane.Polygon{Shell: laid[0], Holes: laid[1:]}, g.at(plane.Point{X: x}).X)
		g.lift(west)
		g.lift(east)
		return west, east
	}
	var bends []bend
	for i, e := range edgesOf(rings) {
		if at, crosses := e.atLine(x); crosses {
			bends = append(bends, bend{int32(i), at})
		}
	}
	rings, _ = straightened(bent(rings, bends))
	g := gridUnder(rings, half)
	there := g.lay(rings...)
	side := grown(bounds(there))
	side.Max.X = g.at(plane.Point{X: x}).X
	sorted := faces([]arrange.Layer{there, {outline(side)}}, func(under []int) int {
		switch {
		case under[0] != 0:
			return -1
		case len(under) == 2:
			return 0
		}
		return 1
	})
	g.lift(sorted[0])
	g.lift(sorted[1])
	return sorted[0], sorted[1]
}

// faces cuts the plane along layers and sorts the faces by what lies over them:
// of kind 0 or 1, or -1 for none that is wanted. Where edges meet at corners
// only and no corner lies within half a unit of another edge, nothing is rounded
// on a grid of half units: there no edge passes through the cell of a corner.
func faces(layers []arrange.Layer, kind func(under []int) int) (sorted [2][]plane.Polygon) {
	cut := arrange.Cut(layers, func(under []int) arrange.Label { return arrange.Label(kind(under) + 1) })
	for _, f := range cut.Faces {
		sorted[f.Label-1] = append(sorted[f.Label-1], f.Shape)
	}
	return sorted
}

// grown is a box with a unit more on each side.
func grown(b plane.Box) plane.Box {
	return plane.Box{Min: plane.Point{X: b.Min.X - 1, Y: b.Min.Y - 1}, Max: plane.Point{X: b.Max.X + 1, Y: b.Max.Y + 1}}
}

// outline is the ring around a box.
func outline(b plane.Box) plane.Ring {
	return plane.Ring{b.Min, {X: b.Max.X, Y: b.Min.Y}, b.Max, {X: b.Min.X, Y: b.Max.Y}}
}
