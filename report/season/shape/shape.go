// Package shape reads back the coverage.geojson of a field: quickly where it is as
// lapwing wrote it, else as any GeoJSON.
package shape

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"

	"lapwing/geo"
	"lapwing/geo/geojson"
)

// A Shape is one feature of coverage.geojson.
type Shape struct {
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

// Each reads coverage.geojson feature by feature. The shapes of those that
// are not wanted may be missing; nil wants all.
func Each(r io.Reader, wanted func(*Shape) bool, do func(Shape) error) error {
	whole, ok := r.(io.ReadSeeker)
	if !ok {
		text, err := io.ReadAll(r)
		if err != nil {
			return err
		}
		whole = bytes.NewReader(text)
	}
	if shapes, ok := writtenShapes(whole, wanted); ok {
		for _, s := range shapes {
			if err := do(s); err != nil {
				return err
			}
		}
		return nil
	}
	if _, err := whole.Seek(0, io.SeekStart); err != nil {
		return err
	}
	text, err := io.ReadAll(whole)
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

// writtenShapes reads a coverage.geojson that is as lapwing wrote it; false where
// another program has written it.
func writtenShapes(text io.Reader, wanted func(*Shape) bool) (out []Shape, ok bool) {
	ok = geojson.Reread(text, func(f geojson.Written) bool {
		s, ok := plainShape(f.Properties)
		if !ok {
			var err error
			if s, err = shapeWith(f.Properties); err != nil {
				return false
			}
			ok = true
		}
		switch {
		case wanted != nil && !wanted(&s), f.Type == "Point":
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

// plainShape reads the properties of a shape where they are as most are: texts of
// plain letters without escapes, numbers, true and false, and lists of whole
// numbers, without white space. It says false of any others, which shapeWith
// reads ten times as slowly.
func plainShape(text []byte) (s Shape, ok bool) {
	text, ok = bytes.CutPrefix(text, []byte("{"))
	for more := ok; more; {
		var name, value []byte
		if name, text, ok = plainText(text); !ok {
			return s, false
		}
		if text, ok = bytes.CutPrefix(text, []byte(":")); !ok || len(text) == 0 {
			return s, false
		}
		switch text[0] {
		case '"':
			if value, text, ok = plainText(text); ok {
				switch string(name) {
				case "kind":
					s.Kind = string(value)
				case "cause":
					s.Cause = string(value)
				case "machine":
					s.Machine = string(value)
				case "id", "depth", "area_m2", "passes":
					ok = false
				}
			}
		case '[':
			var passes []int
			if passes, text, ok = plainList(text); ok {
				switch string(name) {
				case "passes":
					s.Passes = passes
				case "kind", "cause", "machine", "id", "depth", "area_m2":
					ok = false
				}
			}
		default:
			if end := bytes.IndexAny(text, ",}"); end < 0 {
				ok = false
			} else if value, text = text[:end], text[end:]; !json.Valid(value) || bytes.ContainsAny(value, "{[\" \n\r\t") {
				ok = false
			} else {
				ok = s.number(string(name), string(value))
			}
		}
		if !ok || len(text) == 0 {
			return s, false
		}
		if more = text[0] == ','; !more {
			return s, string(text) == "}"
		}
		text = text[1:]
	}
	return s, false
}

// number takes the value of a property that is no text and no list.
func (s *Shape) number(name, value string) bool {
	var err error
	switch name {
	case "id":
		s.ID, err = strconv.Atoi(value)
	case "depth":
		s.Depth, err = strconv.Atoi(value)
	case "area_m2":
		s.Area, err = strconv.ParseFloat(value, 64)
	case "kind", "cause", "machine", "passes":
		return false
	}
	return err == nil
}

// plainText takes a text of plain letters off the front.
func plainText(from []byte) (value, rest []byte, ok bool) {
	if len(from) == 0 || from[0] != '"' {
		return nil, from, false
	}
	for i, c := range from[1:] {
		switch {
		case c == '"':
			return from[1 : 1+i], from[i+2:], true
		case c == '\\' || c < ' ' || c >= 0x80:
			return nil, from, false
		}
	}
	return nil, from, false
}

// plainList takes a list of whole numbers off the front.
func plainList(from []byte) (values []int, rest []byte, ok bool) {
	inner, rest, ok := bytes.Cut(from[1:], []byte("]"))
	if !ok {
		return nil, from, false
	}
	values = []int{}
	for one := range bytes.SplitSeq(inner, []byte(",")) {
		v, err := strconv.Atoi(string(one))
		if err != nil || !json.Valid(one) {
			return nil, from, false
		}
		values = append(values, v)
	}
	return values, rest, true
}

// shapeWith reads the properties of a shape.
func shapeWith(properties []byte) (Shape, error) {
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
	return Shape{Kind: p.Kind, ID: p.ID, Depth: p.Depth, Area: p.Area, Cause: p.Cause, Machine: p.Machine, Passes: p.Passes}, err
}

func shapeOf(f geojson.Feature) (s Shape, err error) {
	if f.Properties.Exists() {
		if s, err = shapeWith(f.Properties.Text()); err != nil {
			return Shape{}, err
		}
	}
	switch f.Geometry.Type {
	case "Polygon", "MultiPolygon":
		s.Polygons, err = lonLatPolygons(f.Geometry)
	case "LineString", "MultiLineString":
		s.Lines, err = f.Geometry.Lines()
	case "Point": // a mark, no ground
	default:
		err = fmt.Errorf("found a %s, want a polygon, a line or a point", f.Geometry.Type)
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
