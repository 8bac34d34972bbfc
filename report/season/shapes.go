package season

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"lapwing/coverage/cause"
	"lapwing/coverage/season"
	"lapwing/geo"
	"lapwing/geo/geojson"
)

// ReadSkips reads the boundary and the skips of a coverage.geojson, ground
// simply not worked yet left out.
func ReadSkips(shapes io.Reader) (season.Map, error) {
	var m season.Map
	skips := func(s *shape) bool { return s.Kind == "skip" && s.Cause != string(cause.Unworked) }
	wanted := func(s *shape) bool { return s.Kind == "field" || skips(s) }
	err := eachShape(shapes, wanted, func(s shape) error {
		switch {
		case s.Kind == "field":
			m.Boundary = append(m.Boundary, s.Polygons...)
		case skips(&s):
			m.Skips = append(m.Skips, season.Skip{ID: s.ID, Shape: s.Polygons})
		}
		return nil
	})
	return m, err
}

// A shape is one feature of coverage.geojson.
type shape struct {
	Kind  string
	ID    int
	Depth int
	Area  float64 // m²
	Cause string
	// Machine is of a pass. Its line is in Lines, other ground in Polygons.
	Machine  string
	Passes   []int
	Polygons []geo.Polygon
	Lines    [][]geo.LonLat
}

// eachShape reads coverage.geojson feature by feature. The shapes of those that
// are not wanted may be missing; nil wants all.
func eachShape(r io.Reader, wanted func(*shape) bool, do func(shape) error) error {
	text, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	if shapes, ok := writtenShapes(text, wanted); ok {
		for _, s := range shapes {
			if err := do(s); err != nil {
				return err
			}
		}
		return nil
	}
	doc, err := geojson.Parse(text)
	if err != nil {
		return err
	}
	features, err := doc.Features()
	if err != nil {
		return err
	}
	for f, err := range features {
		if err != nil {
			return err
		}
		s, err := shapeOf(f)
		if err != nil {
			return err
		}
		if err := do(s); err != nil {
			return err
		}
	}
	return nil
}

// writtenShapes reads a coverage.geojson that is as lapwing wrote it; false where
// somebody else has laid it out.
func writtenShapes(text []byte, wanted func(*shape) bool) (out []shape, ok bool) {
	ok = geojson.Reread(text, func(f geojson.Written) bool {
		s, err := shapeWith(f.Properties)
		if err != nil {
			return false
		}
		ok := true
		switch {
		case wanted != nil && !wanted(&s):
		case strings.HasSuffix(f.Type, "LineString"):
			s.Lines, ok = f.Lines()
		default:
			s.Polygons, ok = f.Polygons()
		}
		out = append(out, s)
		return ok
	})
	return out, ok
}

// shapeWith reads the properties of a shape.
func shapeWith(properties []byte) (shape, error) {
	var p struct {
		Kind    string  `json:"kind"`
		ID      int     `json:"id"`
		Depth   int     `json:"depth"`
		Area    float64 `json:"area_m2"`
		Cause   string  `json:"cause"`
		Machine string  `json:"machine"`
		Passes  []int   `json:"passes"`
	}
	err := json.Unmarshal(properties, &p)
	return shape{Kind: p.Kind, ID: p.ID, Depth: p.Depth, Area: p.Area, Cause: p.Cause, Machine: p.Machine, Passes: p.Passes}, err
}

func shapeOf(f geojson.Feature) (s shape, err error) {
	if f.Properties.Exists() {
		if s, err = shapeWith(f.Properties.Text()); err != nil {
			return shape{}, err
		}
	}
	switch f.Geometry.Type {
	case "Polygon", "MultiPolygon":
		s.Polygons, err = lonLatPolygons(f.Geometry)
	case "LineString", "MultiLineString":
		s.Lines, err = f.Geometry.Lines()
	default:
		err = fmt.Errorf("found a %s, want a polygon or a line", f.Geometry.Type)
	}
	return s, err
}

// lonLatPolygons are the polygons of a geometry; their rings end where they begin.
func lonLatPolygons(g geojson.Geometry) ([]geo.Polygon, error) {
	polygons, err := g.Polygons()
	if err != nil {
		return nil, err
	}
	var out []geo.Polygon
	for _, rings := range polygons {
		var p geo.Polygon
		for i, ring := range rings {
			if i == 0 {
				p.Shell = ring.At
			} else {
				p.Holes = append(p.Holes, ring.At)
			}
		}
		out = append(out, p)
	}
	return out, nil
}
