// Package season lays the maps of one field from different years over each
// other, to find the skips that come back: a skip in the same place again is
// seldom chance, more often a pole, a wet corner, a boundary drawn wrongly or
// a section that does not open.
package season

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"lapwing/geo"
	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// A Map is what one year left of a field.
type Map struct {
	Boundary []geo.Polygon
	Skips    []Skip
}

// A Skip is one patch that no pass covered.
type Skip struct {
	ID    int // its number in that year's lists
	Shape []geo.Polygon
}

// A Comparison is two maps of one field on one frame, and what they share.
type Comparison struct {
	Frame          geo.Frame
	Boundary       []plane.Polygon // the later one
	Earlier, Later []plane.Polygon // the skips
	Returns        []Return        // from the largest down
	// Again is the ground skipped both times, Earlier and Later that of each.
	Again, EarlierArea, LaterArea plane.Area
	// Chance is the ground that would be skipped both times, in m², if the skips of
	// each year lay at random in the field: the mean of that.
	Chance float64
}

// A Return is ground of one skip that was skipped again.
type Return struct {
	Earlier, Later int // the skips' numbers
	Area           plane.Area
	At             geo.LonLat // the middle of the box around its largest piece
	Shape          []plane.Polygon
}

// sameField is the share of the smaller of two boundaries that the other must
// hold for both to be one field. Neighbours that overlap because each was
// driven along the fence share a few hundredths; a field that was divided between two
// years shares all of its half. Judgement; TestSame fails where it is halved.
const sameField = 0.5

// Same reports whether two boundaries are of one field, or of one field and a
// part of it.
func Same(a, b []geo.Polygon) bool {
	frame, ok := frameOf(a)
	if !ok {
		return false
	}
	la, err := layer(frame, a)
	if err != nil {
		return false
	}
	lb, err := layer(frame, b)
	if err != nil {
		return false // too far away to be on one grid
	}
	var each [2]plane.Area
	var both plane.Area
	for _, c := range arrange.Areas([]arrange.Layer{la, lb}) {
		for _, i := range c.Under {
			each[i] += c.Area
		}
		if len(c.Under) == 2 {
			both += c.Area
		}
	}
	return both > 0 && float64(both) >= sameField*float64(min(each[0], each[1]))
}

// Compare lays a later map over an earlier one. It fails where the two do not
// lie within one grid.
func Compare(earlier, later Map) (*Comparison, error) {
	frame, ok := frameOf(later.Boundary)
	if !ok {
		return nil, fmt.Errorf("the boundary has no ring")
	}
	c := &Comparison{Frame: frame}
	var err error
	if c.Boundary, err = polygons(frame, later.Boundary); err != nil {
		return nil, err
	}
	var layers []arrange.Layer
	for _, skips := range []struct {
		of   []Skip
		into *[]plane.Polygon
		area *plane.Area
	}{{earlier.Skips, &c.Earlier, &c.EarlierArea}, {later.Skips, &c.Later, &c.LaterArea}} {
		for _, s := range skips.of {
			shapes, err := polygons(frame, s.Shape)
			if err != nil {
				return nil, err
			}
			for _, p := range shapes {
				*skips.area += p.Area()
			}
			*skips.into = append(*skips.into, shapes...)
			layers = append(layers, layerOf(shapes))
		}
	}
	var field plane.Area
	for _, p := range c.Boundary {
		field += p.Area()
	}
	if field > 0 {
		c.Chance = c.EarlierArea.SquareMetres() * c.LaterArea.SquareMetres() / field.SquareMetres()
	}
	c.meet(layers, earlier.Skips, later.Skips)
	return c, nil
}

// meet finds the ground under a skip of each map. The first layers are those
// of the earlier one.
func (c *Comparison) meet(layers []arrange.Layer, earlier, later []Skip) {
	pairs := map[[2]int]arrange.Label{}
	var numbered [][2]int
	cut := arrange.Cut(layers, func(under []int) arrange.Label {
		last := under[len(under)-1]
		if under[0] >= len(earlier) || last < len(earlier) {
			return arrange.None
		}
		pair := [2]int{under[0], last - len(earlier)}
		if pairs[pair] == arrange.None {
			numbered = append(numbered, pair)
			pairs[pair] = arrange.Label(len(numbered))
		}
		return pairs[pair]
	})
	returns := make([]Return, len(numbered))
	largest := make([]plane.Area, len(numbered))
	for _, f := range cut.Faces {
		r := &returns[f.Label-1]
		area := f.Shape.Area()
		r.Area += area
		r.Shape = append(r.Shape, f.Shape)
		c.Again += area
		if area > largest[f.Label-1] {
			largest[f.Label-1] = area
			box := f.Shape.Shell.Bounds()
			r.At = c.Frame.ToEarth(plane.Point{X: (box.Min.X + box.Max.X) / 2, Y: (box.Min.Y + box.Max.Y) / 2})
		}
	}
	for i, pair := range numbered {
		returns[i].Earlier, returns[i].Later = earlier[pair[0]].ID, later[pair[1]].ID
	}
	slices.SortFunc(returns, func(a, b Return) int {
		return cmp.Or(cmp.Compare(b.Area, a.Area), cmp.Compare(a.Later, b.Later), cmp.Compare(a.Earlier, b.Earlier))
	})
	c.Returns = returns
}

// frameOf returns the frame in the middle of a boundary.
func frameOf(parts []geo.Polygon) (geo.Frame, bool) {
	west, east := math.Inf(1), math.Inf(-1)
	south, north := math.Inf(1), math.Inf(-1)
	for _, p := range parts {
		for _, at := range p.Shell {
			if !math.IsInf(west, 0) { // the short way round at the antimeridian
				at.Lon = west + math.Remainder(at.Lon-west, 360)
			}
			west, east = min(west, at.Lon), max(east, at.Lon)
			south, north = min(south, at.Lat), max(north, at.Lat)
		}
	}
	if math.IsInf(west, 0) {
		return geo.Frame{}, false
	}
	return geo.NewFrame(geo.LonLat{Lon: math.Remainder((west+east)/2, 360), Lat: (south + north) / 2}), true
}

func polygons(frame geo.Frame, parts []geo.Polygon) ([]plane.Polygon, error) {
	var out []plane.Polygon
	for _, p := range parts {
		shell, err := ring(frame, p.Shell)
		if err != nil {
			return nil, err
		}
		poly := plane.Polygon{Shell: shell}
		for _, h := range p.Holes {
			hole, err := ring(frame, h)
			if err != nil {
				return nil, err
			}
			poly.Holes = append(poly.Holes, hole)
		}
		out = append(out, poly)
	}
	return out, nil
}

func ring(frame geo.Frame, places []geo.LonLat) (plane.Ring, error) {
	out := make(plane.Ring, 0, len(places))
	for _, at := range places {
		p, ok := frame.ToPlane(at)
		if !ok {
			return nil, fmt.Errorf("longitude %.6f, latitude %.6f lies more than %d km from the field", at.Lon, at.Lat, plane.Reach/plane.Kilometre)
		}
		if n := len(out); n == 0 || out[n-1] != p {
			out = append(out, p)
		}
	}
	for len(out) > 1 && out[0] == out[len(out)-1] {
		out = out[:len(out)-1]
	}
	return out, nil
}

func layer(frame geo.Frame, parts []geo.Polygon) (arrange.Layer, error) {
	shapes, err := polygons(frame, parts)
	return layerOf(shapes), err
}

// layerOf is polygons as one layer; their shells run anticlockwise, holes the
// other way.
func layerOf(shapes []plane.Polygon) arrange.Layer {
	var l arrange.Layer
	for _, p := range shapes {
		l = append(l, p.Rings()...)
	}
	return l
}
