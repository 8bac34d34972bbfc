package gnsslog

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"lapwing/geo"
)

// ReadGeoJSON reads tracks of RFC 7946: LineString and MultiLineString
// features, whose times stand in a property named times, coordTimes or time,
// and Point features, whose properties are read as the columns of a CSV file
// are. Each line begins a segment of its own.
func ReadGeoJSON(name string, data []byte, opt Options) (*Log, error) {
	r := &geojsonReader{gatherer: gatherer{name: name, opt: opt}, data: data, lineNow: 1,
		clock: clock{zone: opt.zone()}}
	r.decoder = json.NewDecoder(bytes.NewReader(data))
	if err := r.document(); err != nil {
		return nil, err
	}
	if len(r.table.rows) == 0 {
		return r.finish("GeoJSON")
	}
	return r.readPoints()
}

type geojsonReader struct {
	gatherer
	data    []byte
	decoder *json.Decoder
	clock   clock
	passed  int // bytes whose lines are counted
	lineNow int
	table   pointTable
}

// feature is a feature, or a bare geometry.
type feature struct {
	Type        string          `json:"type"`
	Geometry    *geometry       `json:"geometry"`
	Properties  json.RawMessage `json:"properties"`
	Coordinates json.RawMessage `json:"coordinates"`
}

type geometry struct {
	Type        string          `json:"type"`
	Coordinates json.RawMessage `json:"coordinates"`
}

// line is the line on which the next value begins.
func (r *geojsonReader) line() int {
	at := int(r.decoder.InputOffset())
	for at < len(r.data) && strings.IndexByte(" \t\r\n,:", r.data[at]) >= 0 {
		at++
	}
	r.lineNow += bytes.Count(r.data[r.passed:max(at, r.passed)], []byte("\n"))
	r.passed = max(at, r.passed)
	return r.lineNow
}

// broken is the error for text that is not JSON, or not of the right shape.
func (r *geojsonReader) broken(line int, err error) error {
	found := err.Error()
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		found = "it ends early"
	}
	var shape *json.UnmarshalTypeError
	if errors.As(err, &shape) {
		found = fmt.Sprintf("a %s where there should be something else", shape.Value)
	}
	return &SyntaxError{File: r.name, Line: line, Found: "JSON that cannot be read (" + printable(found) + ")", Want: "whole GeoJSON"}
}

// document reads the outermost object member by member, so that a large
// collection is not held twice.
func (r *geojsonReader) document() error {
	if _, err := r.decoder.Token(); err != nil {
		return r.broken(r.line(), err)
	}
	whole := map[string]json.RawMessage{}
	start := r.lineNow
	for r.decoder.More() {
		line := r.line()
		key, err := r.decoder.Token()
		if err != nil {
			return r.broken(line, err)
		}
		name, _ := key.(string)
		if name == "features" {
			if err := r.features(); err != nil {
				return err
			}
			continue
		}
		var value json.RawMessage
		if err := r.decoder.Decode(&value); err != nil {
			return r.broken(line, err)
		}
		switch name {
		case "crs":
			if err := r.crs(value, line); err != nil {
				return err
			}
		case "type", "geometry", "properties", "coordinates":
			whole[name] = value
		}
	}
	if _, err := r.decoder.Token(); err != nil {
		return r.broken(r.line(), err)
	}
	if whole["geometry"] == nil && whole["coordinates"] == nil {
		return nil
	}
	text, err := json.Marshal(whole)
	if err != nil {
		return r.broken(start, err)
	}
	return r.feature(text, start)
}

// crs refuses coordinates that an old-style member says are not WGS 84.
func (r *geojsonReader) crs(value json.RawMessage, line int) error {
	var crs struct {
		Properties struct {
			Name string `json:"name"`
		} `json:"properties"`
	}
	if json.Unmarshal(value, &crs) == nil {
		name := crs.Properties.Name
		if name == "" || strings.HasSuffix(name, "CRS84") || strings.HasSuffix(name, ":4326") {
			return nil
		}
	}
	return &SyntaxError{File: r.name, Line: line, Where: "crs", Found: quoted(value), Want: "WGS 84, and so no crs"}
}

func (r *geojsonReader) features() error {
	line := r.line()
	token, err := r.decoder.Token()
	if err != nil {
		return r.broken(line, err)
	}
	if token != json.Delim('[') {
		return &SyntaxError{File: r.name, Line: line, Where: "features", Found: fmt.Sprintf("found %.40q", fmt.Sprint(token)), Want: "a list"}
	}
	for r.decoder.More() {
		line := r.line()
		var text json.RawMessage
		if err := r.decoder.Decode(&text); err != nil {
			return r.broken(line, err)
		}
		if err := r.feature(text, line); err != nil {
			return err
		}
	}
	_, err = r.decoder.Token()
	if err != nil {
		return r.broken(r.line(), err)
	}
	return nil
}

// feature takes one feature; one of the wrong shape is skipped.
func (r *geojsonReader) feature(text json.RawMessage, line int) error {
	var f feature
	if err := json.Unmarshal(text, &f); err != nil {
		r.points++
		r.troubles.add(badLine, line, "feature", text, "a GeoJSON feature")
		return nil
	}
	shape := f.Geometry
	if shape == nil {
		shape = &geometry{f.Type, f.Coordinates}
	}
	switch shape.Type {
	case "Point":
		r.table.add(shape.Coordinates, f.Properties, line)
	case "LineString":
		times := timesOf(f.Properties)
		r.lineString(shape.Coordinates, times, line)
	case "MultiLineString":
		r.multiLineString(shape.Coordinates, timesOf(f.Properties), line)
	default:
		if !r.seen(otherKind) {
			r.first(otherKind, line, "", fmt.Sprintf("a feature with the geometry %.40q, which is no track", shape.Type), "LineString, MultiLineString or Point")
		}
	}
	return nil
}

// timesOf is the list of times among the properties of a line; nil if none.
func timesOf(properties json.RawMessage) json.RawMessage {
	var p struct {
		Times      json.RawMessage `json:"times"`
		CoordTimes json.RawMessage `json:"coordTimes"`
		Time       json.RawMessage `json:"time"`
		Coordinate struct {
			Times json.RawMessage `json:"times"`
		} `json:"coordinateProperties"`
	}
	if json.Unmarshal(properties, &p) != nil {
		return nil
	}
	for _, list := range []json.RawMessage{p.Times, p.CoordTimes, p.Coordinate.Times, p.Time} {
		if len(list) > 0 && list[0] == '[' {
			return list
		}
	}
	return nil
}

func (r *geojsonReader) multiLineString(coordinates, times json.RawMessage, line int) {
	var lines, clocks []json.RawMessage
	if json.Unmarshal(coordinates, &lines) != nil {
		r.points++
		r.troubles.add(badLine, line, "coordinates", coordinates, "a list of lines")
		return
	}
	if times != nil && (json.Unmarshal(times, &clocks) != nil || len(clocks) != len(lines)) {
		r.points++
		r.troubles.add(badTime, line, "times", times, fmt.Sprintf("%d lists, one for each line", len(lines)))
		return
	}
	for i, one := range lines {
		var clock json.RawMessage
		if times != nil {
			clock = clocks[i]
		}
		r.lineString(one, clock, line)
	}
}

// lineString reads the positions of one line and their times.
func (r *geojsonReader) lineString(coordinates, times json.RawMessage, line int) {
	var positions [][]*float64
	var clocks []json.RawMessage
	if json.Unmarshal(coordinates, &positions) != nil {
		r.points++
		r.troubles.add(badLine, line, "coordinates", coordinates, "a list of positions")
		return
	}
	if times != nil && (json.Unmarshal(times, &clocks) != nil || len(clocks) != len(positions)) {
		r.points += len(positions)
		if !r.seen(badTime) {
			r.first(badTime, line, "times", fmt.Sprintf("found %d", len(clocks)), fmt.Sprintf("%d, one for each position", len(positions)))
		}
		return
	}
	r.understand("coordinates", "position")
	if times != nil {
		r.understand("times", "time")
	}
	r.part()
	for i, p := range positions {
		r.points++
		if len(p) < 2 || p[0] == nil || p[1] == nil || math.Abs(*p[0]) > 180 || math.Abs(*p[1]) > 90 {
			if !r.seen(badPosition) {
				r.first(badPosition, line, "coordinates", fmt.Sprintf("position %d", i+1), "a longitude from -180 to 180 and a latitude from -90 to 90")
			}
			continue
		}
		fix := geo.Fix{Time: untimed, At: geo.LonLat{Lon: *p[0], Lat: *p[1]}, Heading: math.NaN(), Speed: math.NaN()}
		if times != nil && !r.time(&fix, clocks[i], line) {
			continue
		}
		r.gatherer.add(fix, line)
	}
}

func (r *geojsonReader) time(fix *geo.Fix, value json.RawMessage, line int) bool {
	text := plainValue(value)
	if len(text) == 0 {
		return true
	}
	at, zoned, ok := r.clock.parse(text)
	if !ok {
		r.troubles.add(badTime, line, "times", text, wantTime)
		return false
	}
	if !zoned {
		r.log.Zoneless++
	}
	fix.Time = at
	return true
}

// plainValue is a JSON value as a CSV field would hold it.
func plainValue(value json.RawMessage) []byte {
	var text string
	if len(value) > 0 && value[0] == '"' && json.Unmarshal(value, &text) == nil {
		return []byte(text)
	}
	if string(value) == "null" {
		return nil
	}
	return value
}
