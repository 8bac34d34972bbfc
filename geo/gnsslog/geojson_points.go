package gnsslog

import (
	"fmt"
	"math"
	"slices"

	"lapwing/geo/feature"
	"lapwing/geo/geojson"
	"lapwing/geo/gnsslog/written"
	"lapwing/geo/projection"
)

// A pointTable holds Point features; their properties are columns, each by the
// name it had first.
type pointTable struct {
	names  []string
	byName map[string]int
	points []feature.Point
}

// addPoint takes one Point feature.
func (r *geojsonReader) addPoint(coordinates, properties geojson.Value, line int) {
	p := feature.Point{Line: line}
	if position := slices.Collect(coordinates.Elements()); len(position) >= 2 {
		lon, lat := plainValue(position[0]), plainValue(position[1])
		p.Placed = len(lon) > 0 || len(lat) > 0
		var okLon, okLat bool
		p.At.Lon, okLon = written.Number(lon, false)
		p.At.Lat, okLat = written.Number(lat, false)
		switch {
		case !p.Placed:
		case r.system != nil && okLat && okLon:
			p = feature.PointAt(r.system, projection.XY{X: p.At.Lon, Y: p.At.Lat})
			p.Line = line
		case !okLat || math.Abs(p.At.Lat) > 90:
			r.points++
			r.troubles.add(badPosition, line, "latitude", lat, wantLat)
			return
		case !okLon || math.Abs(p.At.Lon) > 180:
			r.points++
			r.troubles.add(badPosition, line, "longitude", lon, wantLon)
			return
		}
	}
	for name, value := range properties.Members() {
		at := r.table.column(name)
		if at < 0 {
			continue
		}
		for len(p.Values) <= at {
			p.Values = append(p.Values, feature.Value{})
		}
		p.Values[at].Text = plainValue(value)
	}
	r.table.points = append(r.table.points, p)
}

// column is the place of a property; -1 for one that is not read: those named
// as a longitude or latitude is give way to the coordinates.
func (t *pointTable) column(name string) int {
	at, ok := t.byName[name]
	if !ok {
		if t.byName == nil {
			t.byName = map[string]int{}
		}
		at = -1
		if !isPlace(name) && len(t.names) < mostNames {
			at = len(t.names)
			t.names = append(t.names, name)
		}
		t.byName[name] = at
	}
	return at
}

// readPoints makes a log of the points, and of what was wrong with the lines
// and points before.
func (r *geojsonReader) readPoints() (*Log, error) {
	points := r.table.points
	rows, err := newPointRows(r.name, points[0].Line, r.table.names, r.opt)
	if err != nil {
		return nil, err
	}
	if len(r.log.Fixes) > 0 {
		return nil, &SyntaxError{File: r.name, Line: points[0].Line,
			Found: fmt.Sprintf("Point features beside a track of %d positions", len(r.log.Fixes)), Want: "one or the other"}
	}
	err = rows.read(&feature.Points{Each: func(do func(feature.Point) error) error {
		for _, p := range points {
			if err := do(p); err != nil {
				return err
			}
		}
		return nil
	}})
	if err != nil {
		return nil, err
	}
	r.troubles.join(&rows.troubles)
	rows.troubles = r.troubles
	rows.records += r.points
	return rows.log(r.name, "GeoJSON", r.log.Notes)
}
