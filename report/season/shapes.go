package season

import (
	"encoding/json"
	"fmt"
	"io"

	"lapwing/coverage"
	"lapwing/coverage/season"
	"lapwing/geo"
	"lapwing/geo/geojson"
)

// ReadSkips reads the boundary and the skips of a coverage.geojson, ground
// simply not worked yet left out.
func ReadSkips(shapes io.Reader) (season.Map, error) {
	var m season.Map
	err := eachShape(shapes, func(s shape) error {
		switch {
		case s.Kind == "field":
			m.Boundary = append(m.Boundary, s.Polygons...)
		case s.Kind == "skip" && s.Cause != string(coverage.Unworked):
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

// eachShape reads coverage.geojson feature by feature.
func eachShape(r io.Reader, do func(shape) error) error {
	text, err := io.ReadAll(r)
	if err != nil {
		return err
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

func shapeOf(f geojson.Feature) (shape, error) {
	var p struct {
		Kind    string  `json:"kind"`
		ID      int     `json:"id"`
		Depth   int     `json:"depth"`
		Area    float64 `json:"area_m2"`
		Cause   string  `json:"cause"`
		Machine string  `json:"machine"`
		Passes  []int   `json:"passes"`
	}
	if f.Properties.Exists() {
		if err := json.Unmarshal(f.Properties.Text(), &p); err != nil {
			return shape{}, err
		}
	}
	s := shape{Kind: p.Kind, ID: p.ID, Depth: p.Depth, Area: p.Area, Cause: p.Cause, Machine: p.Machine, Passes: p.Passes}
	var err error
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
