package gnsslog

import (
	"errors"
	"fmt"

	"lapwing/geo"
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
		return fault.In(name)
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
	return table.read(name, "GeoPackage", notes, opt)
}

// pointLayer chooses the one layer of points that has any.
func pointLayer(f *geopackage.File) (*geopackage.Layer, []geo.Note, error) {
	var layers []*geopackage.Layer
	var notes []geo.Note
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
			notes = append(notes, geo.Note{Count: 1, Text: fmt.Sprintf("layer %q left out: %s, want points", l.Name, l.Kind)})
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

// tableOf writes a layer out.
func tableOf(f *geopackage.File, l *geopackage.Layer) (*featureTable, error) {
	t := newFeatureTable(l.Columns)
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
		return t.add(at.Lon, at.Lat, ok, func(i int) string { return string(row.Values[i]) })
	})
	return t, err
}
