package geojson

import (
	"fmt"
	"math"
	"strconv"

	"lapwing/geo"
)

// A Ring is a ring as the file has it: closed or not, wound either way.
type Ring struct {
	Where string // "features[0].geometry.coordinates[0]"
	Line  int
	At    []geo.LonLat
	Lines []int32 // the line of each place
}

// A Polygon is a shell and then its holes.
type Polygon []Ring

// Polygons returns the polygons of a Polygon or a MultiPolygon; none of other
// types. Each position must be two numbers or more, of which those after the
// second, such as a height, say nothing about ground.
func (g Geometry) Polygons() ([]Polygon, error) {
	if g.Type != "Polygon" && g.Type != "MultiPolygon" {
		return nil, nil
	}
	content, err := g.content()
	if err != nil {
		return nil, err
	}
	where := g.path("coordinates")
	if g.Type == "Polygon" {
		p, err := content.polygon(where)
		return []Polygon{p}, err
	}
	elements, err := content.array("an array")
	if err != nil {
		return nil, err
	}
	var out []Polygon
	for e := range elements {
		p, err := e.polygon(fmt.Sprintf("%s[%d]", where, len(out)))
		if err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, nil
}

func (v Value) polygon(where string) (Polygon, error) {
	elements, err := v.array("an array")
	if err != nil {
		return nil, err
	}
	out := Polygon{}
	for e := range elements {
		r, err := e.ring(fmt.Sprintf("%s[%d]", where, len(out)))
		if err != nil {
			return nil, err
		}
		out = append(out, r)
	}
	return out, nil
}

func (v Value) ring(where string) (Ring, error) {
	r := Ring{Where: where, Line: v.Line()}
	elements, err := v.array("an array of positions")
	if err != nil {
		return r, err
	}
	for e := range elements {
		at, err := e.position(false)
		if err != nil {
			return r, err
		}
		r.At, r.Lines = append(r.At, at), append(r.Lines, int32(v.doc.lineOf(e.end-1)))
	}
	return r, nil
}

// Lines returns the lines of a LineString or a MultiLineString; none of other
// types. Logs have positions without a place: those that are null, or hold
// null or less than two numbers, are NaN, NaN.
func (g Geometry) Lines() ([][]geo.LonLat, error) {
	if g.Type != "LineString" && g.Type != "MultiLineString" {
		return nil, nil
	}
	content, err := g.content()
	if err != nil {
		return nil, err
	}
	if g.Type == "LineString" {
		line, err := content.Positions()
		return [][]geo.LonLat{line}, err
	}
	elements, err := content.array("an array of lines")
	if err != nil {
		return nil, err
	}
	var out [][]geo.LonLat
	for e := range elements {
		line, err := e.Positions()
		if err != nil {
			return nil, err
		}
		out = append(out, line)
	}
	return out, nil
}

// Positions returns the places of an array of positions, as [Geometry.Lines]
// takes them.
func (v Value) Positions() ([]geo.LonLat, error) {
	elements, err := v.array("an array of positions")
	if err != nil {
		return nil, err
	}
	var out []geo.LonLat
	for e := range elements {
		at, err := e.position(true)
		if err != nil {
			return nil, err
		}
		out = append(out, at)
	}
	return out, nil
}

// position reads one position. With gaps, one that names no place is NaN, NaN
// instead of a fault.
func (v Value) position(gaps bool) (geo.LonLat, error) {
	const want = "a position such as [-104.5, 49.1]"
	none := geo.LonLat{Lon: math.NaN(), Lat: math.NaN()}
	if gaps && v.IsNull() {
		return none, nil
	}
	if !v.is('[') {
		return none, v.Fault(v.said(), want)
	}
	at, n := [2]float64{}, 0
	for e := range v.Elements() {
		x, fault := e.coordinate(gaps)
		if fault != "" {
			f := v.Fault(fault, want)
			f.Line = e.Line()
			return none, f
		}
		if n < len(at) {
			at[n] = x
		}
		n++
	}
	place := geo.LonLat{Lon: at[0], Lat: at[1]}
	switch {
	case n < len(at) && !gaps:
		return none, v.Fault(fmt.Sprintf("a position of %d numbers", n), want)
	case n < len(at), math.IsNaN(place.Lon), math.IsNaN(place.Lat):
		return none, nil
	}
	return place, nil
}

// coordinate is the number in a position, or what is wrong with it. With gaps,
// null is NaN.
func (v Value) coordinate(gaps bool) (x float64, fault string) {
	if gaps && v.IsNull() {
		return math.NaN(), ""
	}
	x, ok := v.Number()
	switch {
	case ok:
		return x, ""
	case v.IsNumber():
		return 0, v.said()
	}
	return 0, v.said() + " in a position"
}

// IsNumber reports whether the value is a number, of whatever size.
func (v Value) IsNumber() bool {
	return v.doc != nil && (v.is('-') || '0' <= v.doc.text[v.at] && v.doc.text[v.at] <= '9')
}

// Number returns the number that the value is, if a float64 can hold it.
func (v Value) Number() (float64, bool) {
	if !v.IsNumber() {
		return 0, false
	}
	x, err := strconv.ParseFloat(string(v.Text()), 64)
	return x, err == nil
}

// said is what stands where a position or a number should.
func (v Value) said() string {
	if word, ok := v.Word(); ok {
		return fmt.Sprintf("%.40q", word)
	}
	if x, ok := v.Number(); ok {
		return fmt.Sprint(x)
	}
	if v.IsNumber() {
		return "a number out of range"
	}
	return v.Short()
}
