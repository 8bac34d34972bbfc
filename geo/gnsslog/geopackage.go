package gnsslog

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"lapwing/geo/geopackage"
)

// readGeoPackage reads a layer of points of a GeoPackage (OGC 12-128r19). Its
// attributes are read as the columns of a CSV file are; the line of a fix is
// the number of its feature.
func readGeoPackage(name string, data []byte, opt Options) (*Log, error) {
	wrong := func(err error) error {
		var fault *geopackage.Fault
		if !errors.As(err, &fault) {
			return err
		}
		return &SyntaxError{File: name, Where: fault.Where, Found: fault.Found, Want: fault.Want}
	}
	f, err := geopackage.Open(data)
	if err != nil {
		return nil, wrong(err)
	}
	defer f.Close()
	layer, notes, err := pointLayer(f)
	if err != nil {
		return nil, wrong(err)
	}
	table, err := tableOf(f, layer)
	if err != nil {
		return nil, wrong(err)
	}
	p, err := planColumns(name, 0, ',', table.names, opt)
	if err != nil {
		return nil, err
	}
	log, troubles, records := readTable(p, table.rows.Bytes(), 1, opt)
	if err := troubles.verdict(name, len(log.Fixes), records); err != nil {
		return nil, err
	}
	log.Format = "GeoPackage"
	log.NoClock = !p.has(roleTime)
	log.Understood = p.understood
	log.Notes = append(append(notes, p.notes...), troubles.notes()...)
	return log, nil
}

// pointLayer chooses the one layer of points that has any.
func pointLayer(f *geopackage.File) (*geopackage.Layer, []Note, error) {
	var layers []*geopackage.Layer
	var notes []Note
	for i := range f.Layers {
		l := &f.Layers[i]
		filled, err := f.Filled(l)
		if err != nil {
			return nil, nil, err
		}
		switch {
		case !filled:
		case l.Kind == "POINT" || l.Kind == "GEOMETRY":
			layers = append(layers, l)
		default:
			notes = append(notes, Note{0, 1, fmt.Sprintf("layer %q left out: %s, want points", l.Name, l.Kind)})
		}
	}
	if len(layers) > 1 {
		return nil, nil, &geopackage.Fault{Found: fmt.Sprintf("several layers of points: %q and %q", layers[0].Name, layers[1].Name), Want: "one"}
	}
	if len(layers) == 0 {
		found := "no layer of points"
		if len(notes) > 0 {
			found += " (" + notes[0].Text + ")"
		}
		return nil, nil, &geopackage.Fault{Found: found, Want: "a log with fixes"}
	}
	return layers[0], notes, layers[0].CheckSystem()
}

// A featureTable is a layer written out as the lines of a CSV file.
type featureTable struct {
	names []string
	rows  bytes.Buffer
}

// tableOf writes a layer out. Attributes named lat or lon give way to the
// geometry.
func tableOf(f *geopackage.File, l *geopackage.Layer) (*featureTable, error) {
	t := &featureTable{names: []string{"longitude", "latitude"}}
	var from []int // the attribute of each further column
	for i, name := range l.Columns {
		short, unit := normal(name)
		if r, _ := new(plan).roleOf(0, name, short, unit); r > roleLon {
			t.names, from = append(t.names, name), append(from, i)
		}
	}
	w := csv.NewWriter(&t.rows)
	record := make([]string, len(t.names))
	number := 0
	err := f.Each(l, func(row geopackage.Row) error {
		number++
		at, ok, err := geopackage.Point(row.Geometry)
		var fault *geopackage.Fault
		if errors.As(err, &fault) {
			fault.Where = fmt.Sprintf("layer %s, feature %d", l.Name, number)
		}
		if err != nil {
			return err
		}
		record[0], record[1] = "", ""
		if ok {
			record[0], record[1] = strconv.FormatFloat(at.Lon, 'f', -1, 64), strconv.FormatFloat(at.Lat, 'f', -1, 64)
		}
		for k, i := range from {
			record[2+k] = oneLine(row.Values[i])
		}
		return w.Write(record)
	})
	w.Flush()
	return t, err
}

// oneLine is a value without line ends, so that a feature stays a line.
func oneLine(value []byte) string {
	return strings.Map(func(r rune) rune {
		if r == '\n' || r == '\r' {
			return ' '
		}
		return r
	}, string(value))
}
