package gnsslog

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"lapwing/geo"
	"lapwing/geo/feature"
	"lapwing/geo/geojson"
	"lapwing/geo/gnsslog/written"
	"lapwing/geo/projection"
)

// ReadGeoJSON reads tracks of RFC 7946: LineString and MultiLineString
// features, whose times stand in a property named times, coordTimes or time,
// and Point features, whose properties are read as the columns of a CSV file
// are; or polygons of worked ground, as in [FromShapes]. Each line begins a segment of its own. It is not strict: what is no
// track is counted, and the rest is read.
func ReadGeoJSON(name string, data []byte, opt Options) (*Log, error) {
	r := &geojsonReader{gatherer: gatherer{name: name, opt: opt}, clock: written.Clock{Zone: opt.zone()}}
	doc, err := geojson.Parse(data)
	var broken *geojson.BrokenError
	if errors.As(err, &broken) {
		why := broken.Err.Error()
		if errors.Is(err, io.ErrUnexpectedEOF) {
			why = "it ends early"
		}
		return nil, &SyntaxError{File: name, Line: broken.Line, Found: "JSON that cannot be read (" + geo.Printable(why) + ")", Want: "whole GeoJSON"}
	}
	if err := r.features(doc); err != nil {
		return nil, err
	}
	if r.isCover() {
		if log, err := r.readCover(); !errors.Is(err, geo.ErrNothing) {
			return log, err
		}
	}
	if len(r.table.points) == 0 {
		return r.finish("GeoJSON")
	}
	return r.readPoints()
}

type geojsonReader struct {
	gatherer
	clock  written.Clock
	table  pointTable
	cover  []geojson.Feature  // polygons
	system *projection.System // nil for longitude and latitude on WGS 84
}

// placesIn says what coordinates mean in a projected system; "position" where
// system is "".
func placesIn(system string) string {
	if system == "" {
		return "position"
	}
	return "easting and northing in " + system
}

func (r *geojsonReader) features(doc *geojson.Document) error {
	var wrong *geo.Fault
	var err error
	if r.system, err = geojson.SystemOf(doc.Root); errors.As(err, &wrong) {
		return wrong.In(r.name)
	}
	if r.system != nil {
		r.understand("crs", placesIn(r.system.Described()))
		if note := r.system.Note(); note != "" {
			r.log.Notes = append(r.log.Notes, geo.Note{Line: doc.Root.Member("crs").Line(), Count: 1, Text: note})
		}
	}
	features, err := doc.Features()
	if errors.As(err, &wrong) {
		return wrong.In(r.name)
	}
	for f, err := range features {
		switch {
		case err != nil:
			r.points++
			r.troubles.add(badLine, f.Line(), "feature", f.Text(), "a GeoJSON feature")
		case f.Geometry.Value == doc.Root && !doc.Root.Member("coordinates").Exists():
			// Some other JSON, or a collection of geometries.
		default:
			r.feature(f)
		}
	}
	return nil
}

// feature takes one feature.
func (r *geojsonReader) feature(f geojson.Feature) {
	g := f.Geometry
	switch g.Type {
	case "Point":
		r.addPoint(g.Content, f.Properties, f.Line())
	case "LineString", "MultiLineString":
		r.lines(g, timesOf(f.Properties), f.Line())
	default:
		if g.Type == "Polygon" || g.Type == "MultiPolygon" {
			r.cover = append(r.cover, f)
		}
		kind := g.Type
		if !g.Exists() {
			kind = f.Type
		}
		if !r.seen(otherKind) {
			r.first(otherKind, f.Line(), "", fmt.Sprintf("a feature with the geometry %.40q, which is no track", kind), "LineString, MultiLineString or Point")
		}
	}
}

// timesOf is the list of times among the properties of a line; it does not
// exist where there is none.
func timesOf(properties geojson.Value) geojson.Value {
	var times, coordTimes, ofCoordinates, time geojson.Value
	for name, value := range properties.Members() {
		switch strings.ToLower(name) {
		case "times":
			times = value
		case "coordtimes":
			coordTimes = value
		case "coordinateproperties":
			ofCoordinates = value.Member("times")
		case "time":
			time = value
		}
	}
	for _, list := range []geojson.Value{times, coordTimes, ofCoordinates, time} {
		if list.IsArray() {
			return list
		}
	}
	return geojson.Value{}
}

// lines reads the lines of a geometry and their times.
func (r *geojsonReader) lines(g geojson.Geometry, times geojson.Value, line int) {
	if g.Type == "LineString" {
		r.line(g.Content, times, line)
		return
	}
	if !g.Content.IsArray() {
		r.points++
		r.troubles.add(badLine, line, "coordinates", g.Content.Text(), "a list of lines")
		return
	}
	lines := slices.Collect(g.Content.Elements())
	clocks := slices.Collect(times.Elements())
	if times.Exists() && len(clocks) != len(lines) {
		r.points++
		r.troubles.add(badTime, line, "times", times.Text(), fmt.Sprintf("%d lists, one for each line", len(lines)))
		return
	}
	for i, one := range lines {
		var clock geojson.Value
		if times.Exists() {
			clock = clocks[i]
		}
		r.line(one, clock, line)
	}
}

// line reads the positions of one line and their times.
func (r *geojsonReader) line(coordinates, times geojson.Value, line int) {
	positions, err := coordinates.Positions()
	if err != nil {
		r.points++
		r.troubles.add(badLine, line, "coordinates", coordinates.Text(), "a list of positions")
		return
	}
	clocks := slices.Collect(times.Elements())
	if times.Exists() && len(clocks) != len(positions) {
		r.points += len(positions)
		if !r.seen(badTime) {
			r.first(badTime, line, "times", fmt.Sprintf("found %d", len(clocks)), fmt.Sprintf("%d, one for each position", len(positions)))
		}
		return
	}
	r.understand("coordinates", "position")
	if times.Exists() {
		r.understand("times", "time")
	}
	r.part()
	for i, at := range positions {
		r.points++
		if r.system != nil {
			p := feature.PointAt(r.system, projection.XY{X: at.Lon, Y: at.Lat})
			if at = p.At; p.Beyond != "" {
				r.troubles.add(badPosition, line, "coordinates", []byte(p.Beyond), r.system.Reached())
				continue
			}
		}
		if !(math.Abs(at.Lon) <= 180 && math.Abs(at.Lat) <= 90) { // false for NaN
			if !r.seen(badPosition) {
				r.first(badPosition, line, "coordinates", fmt.Sprintf("position %d", i+1), "a longitude from -180 to 180 and a latitude from -90 to 90")
			}
			continue
		}
		fix := geo.Fix{Time: untimed, At: at, Heading: geo.Bearing(math.NaN()), Speed: math.NaN()}
		if times.Exists() && !r.time(&fix, clocks[i], line) {
			continue
		}
		r.gatherer.add(fix, line)
	}
}

func (r *geojsonReader) time(fix *geo.Fix, value geojson.Value, line int) bool {
	text := plainValue(value)
	if len(text) == 0 {
		return true
	}
	at, zoned, ok := r.clock.Parse(text)
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
func plainValue(value geojson.Value) []byte {
	if word, ok := value.Word(); ok {
		return []byte(word)
	}
	if value.IsNull() {
		return nil
	}
	return value.Text()
}
