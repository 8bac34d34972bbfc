//go:build geos

package geosoracle

import (
	"encoding/binary"
	"fmt"
	"math"

	"github.com/twpayne/go-geos"

	"lapwing/geo/plane"
)

// A session holds one GEOS context. Coordinates in it are ticks: whole numbers
// below 2^53, so that GEOS sees the very points the arrangement sees.
type session struct{ *geos.Context }

// catch turns what go-geos panics with into an error.
func catch(err *error) {
	if r := recover(); r != nil {
		*err = fmt.Errorf("GEOS: %v", r)
	}
}

// Validate returns an error if GEOS holds one of the polygons to be invalid.
func Validate(polygons ...plane.Polygon) (err error) {
	defer catch(&err)
	s := session{geos.NewContext()}
	for i, p := range polygons {
		if g := s.polygon(p.Rings()); !g.IsValid() {
			return fmt.Errorf("polygon %d of %d: %s: %v", i, len(polygons), g.IsValidReason(), p)
		}
	}
	return nil
}

// wkb writes geometries as well-known binary, little end first (OGC 06-103r4,
// 8.2): one call hands over a geometry, where coordinate by coordinate would
// take a call each.
type wkb []byte

// The kinds of geometry in WKB; GEOS numbers them differently.
const (
	wkbLineString = 2
	wkbPolygon    = 3
)

func (b wkb) head(kind uint32, n int) wkb {
	b = append(b, 1)
	b = binary.LittleEndian.AppendUint32(b, kind)
	return binary.LittleEndian.AppendUint32(b, uint32(n))
}

func (b wkb) points(points []plane.Point) wkb {
	for _, p := range points {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(float64(p.X)))
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(float64(p.Y)))
	}
	return b
}

func (b wkb) ring(r plane.Ring) wkb {
	b = binary.LittleEndian.AppendUint32(b, uint32(len(r)+1))
	return b.points(r).points(r[:1])
}

func (s session) read(b wkb) *geos.Geom {
	g, err := s.NewGeomFromWKB(b)
	if err != nil {
		panic(err)
	}
	return g
}

// polygon makes a polygon of a shell and holes.
func (s session) polygon(rings []plane.Ring) *geos.Geom {
	b := wkb{}.head(wkbPolygon, len(rings))
	for _, r := range rings {
		b = b.ring(r)
	}
	return s.read(b)
}

func (s session) lineString(points []plane.Point) *geos.Geom {
	return s.read(wkb{}.head(wkbLineString, len(points)).points(points))
}

// ground makes the ground of a layer: where its rings wind round more often
// anticlockwise than clockwise.
func (s session) ground(rings []plane.Ring) *geos.Geom {
	shells := make([]*geos.Geom, 0, len(rings))
	for _, r := range rings {
		if len(r) < 3 {
			continue
		}
		if g := s.polygon([]plane.Ring{r}); r.Area() > 0 && g.IsValid() {
			shells = append(shells, g)
		} else {
			return s.wound(rings)
		}
	}
	return s.union(shells)
}

// wound makes the ground of rings that cross themselves, or of which some run
// clockwise: the cells that they wind round.
func (s session) wound(rings []plane.Ring) *geos.Geom {
	var kept []*geos.Geom
	s.cells(rings, func(cell *geos.Geom, x, y float64) {
		if winding(rings, x, y) > 0 {
			kept = append(kept, cell)
		}
	})
	return s.NewCollection(geos.TypeIDGeometryCollection, kept).UnaryUnion()
}

// cells cuts the plane along all rings, and visits each cell with a place
// inside it.
func (s session) cells(rings []plane.Ring, visit func(cell *geos.Geom, x, y float64)) {
	var lines []*geos.Geom
	for _, r := range rings {
		if len(r) > 1 {
			lines = append(lines, s.lineString(append(r[:len(r):len(r)], r[0])))
		}
	}
	noded := s.NewCollection(geos.TypeIDGeometryCollection, lines).UnaryUnion()
	all := s.Polygonize([]*geos.Geom{noded})
	for i := range all.NumGeometries() {
		cell := all.Geometry(i)
		at := cell.PointOnSurface()
		visit(cell, at.X(), at.Y())
	}
}

// winding returns how often the rings wind anticlockwise round a place that is
// on none of them.
func winding(rings []plane.Ring, x, y float64) int {
	n := 0
	for _, r := range rings {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			ax, ay, bx, by := float64(a.X)-x, float64(a.Y)-y, float64(b.X)-x, float64(b.Y)-y
			switch left := ax*by-bx*ay > 0; {
			case ay <= 0 && by > 0 && left:
				n++
			case ay > 0 && by <= 0 && !left:
				n--
			}
		}
	}
	return n
}

// polygons returns the parts of g that have an area.
func polygons(g *geos.Geom) []*geos.Geom {
	switch g.TypeID() {
	case geos.TypeIDPolygon:
		if g.IsEmpty() {
			return nil
		}
		return []*geos.Geom{g}
	case geos.TypeIDMultiPolygon, geos.TypeIDGeometryCollection:
		var out []*geos.Geom
		for i := range g.NumGeometries() {
			out = append(out, polygons(g.Geometry(i))...)
		}
		return out
	}
	return nil
}

// union merges the parts of the geometries that have an area.
func (s session) union(gs []*geos.Geom) *geos.Geom {
	var parts []*geos.Geom
	for _, g := range gs {
		parts = append(parts, polygons(g)...)
	}
	return s.NewCollection(geos.TypeIDMultiPolygon, parts).UnaryUnion()
}
