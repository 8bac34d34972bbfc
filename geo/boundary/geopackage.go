package boundary

import (
	"fmt"
	"strings"

	"lapwing/geo/geopackage"
)

// readGeoPackage reads a GeoPackage (OGC 12-128r19): each feature with a
// polygon is a boundary, of whatever layer.
func (d *draft) readGeoPackage(data []byte) error {
	d.out.Format = "GeoPackage"
	f, err := geopackage.Open(data)
	if err != nil {
		return d.inFile("", err)
	}
	defer f.Close()
	for i := range f.Layers {
		l := &f.Layers[i]
		if strings.Contains(l.Kind, "POINT") || strings.Contains(l.Kind, "LINE") {
			d.note(0, "layer %s left out: %s; only polygons bound a field", shorten(l.Name), l.Kind)
			continue
		}
		if err := l.CheckSystem(); err != nil {
			return d.inFile("", err)
		}
		if err := d.packageLayer(f, l); err != nil {
			return err
		}
	}
	return nil
}

func (d *draft) packageLayer(f *geopackage.File, l *geopackage.Layer) error {
	named := fieldName(l.Columns)
	number := 0
	err := f.Each(l, func(row geopackage.Row) error {
		number++
		where := fmt.Sprintf("layer %s, feature %d", l.Name, number)
		polygons, other, err := geopackage.Polygons(row.Geometry)
		if err != nil {
			return d.inFile(where, err)
		}
		if other != "" {
			d.note(0, "%s left out: only polygons bound a field", other)
			return nil
		}
		if polygons == nil {
			d.note(0, "feature without a geometry left out")
			return nil
		}
		var s shape
		if named >= 0 {
			s.name = string(row.Values[named])
		}
		for p, rings := range polygons {
			var o outline
			for r, at := range rings {
				one := ring{where: fmt.Sprintf("%s, polygon %d, ring %d", where, p+1, r+1), at: make([]vertex, len(at))}
				for i, place := range at {
					one.at[i].LonLat = place
				}
				o = append(o, one)
			}
			s.outlines = append(s.outlines, o)
		}
		return d.add(s)
	})
	return d.inFile("", err)
}

// fieldName returns the column that may hold a field's name, or -1.
func fieldName(columns []string) int {
	for _, want := range dbfNames {
		for i, c := range columns {
			if strings.EqualFold(c, want) {
				return i
			}
		}
	}
	return -1
}
