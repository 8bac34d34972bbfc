package repair

import (
	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// A grid is the plane's grid under rings that lie anywhere: its centre is in
// their middle, and its units are 2^x by 2^y of theirs.
type grid struct {
	middle plane.Point
	x, y   int
}

// The finest units of a grid, as powers of two.
const (
	whole = 0
	half  = -1
)

// gridUnder returns the finest grid that holds rings, with a unit to spare.
func gridUnder(rings []plane.Ring, finest int) grid {
	b := bounds(rings)
	g := grid{middle: plane.Point{X: b.Min.X + (b.Max.X-b.Min.X)/2, Y: b.Min.Y + (b.Max.Y-b.Min.Y)/2}, x: finest, y: finest}
	const room = plane.Reach - 2
	for scaled(b.Max.X-g.middle.X, g.x) > room {
		g.x++
	}
	for scaled(b.Max.Y-g.middle.Y, g.y) > room {
		g.y++
	}
	return g
}

// isWhole reports whether every unit of rings has its place on the grid.
func (g grid) isWhole() bool { return g.x <= whole && g.y <= whole }

// at returns the place of p on the grid; halves are rounded upward.
func (g grid) at(p plane.Point) plane.Point {
	return plane.Point{X: scaled(p.X-g.middle.X, g.x), Y: scaled(p.Y-g.middle.Y, g.y)}
}

func scaled(v plane.Length, by int) plane.Length {
	if by < 0 {
		return v << -by
	}
	return (v + 1<<by>>1) >> by
}

// lay returns rings on the grid.
func (g grid) lay(rings ...plane.Ring) arrange.Layer {
	out := make(arrange.Layer, len(rings))
	for i, r := range rings {
		out[i] = make(plane.Ring, len(r))
		for k, p := range r {
			out[i][k] = g.at(p)
		}
	}
	return out
}

// lift takes polygons off the grid, back to where they came from, in place.
func (g grid) lift(parts []plane.Polygon) {
	for _, p := range parts {
		for _, r := range p.Rings() {
			for i, at := range r {
				r[i] = plane.Point{X: scaled(at.X, -g.x) + g.middle.X, Y: scaled(at.Y, -g.y) + g.middle.Y}
			}
		}
	}
}

// Lay lays rings on one grid, on which [plane.Side] holds. Where they reach
// farther than it does they lie as near to their places as its units allow.
func Lay(rings ...plane.Ring) []plane.Ring {
	return gridUnder(rings, whole).lay(rings...)
}

func bounds(rings []plane.Ring) plane.Box {
	box := plane.Empty()
	for _, r := range rings {
		for _, p := range r {
			box = box.Add(p)
		}
	}
	if box == plane.Empty() {
		return plane.Box{}
	}
	return box
}
