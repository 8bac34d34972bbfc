// Package gpkg writes a season book as a GeoPackage. It stands by itself, for it brings
// SQLite, which a page in a browser has no use for.
package gpkg

import (
	"io"

	"lapwing/geo"
	"lapwing/geo/geopackage"
	"lapwing/report/season"
)

// Write writes all entries of a book into one GeoPackage at path, which SQLite needs to
// be a file. shapes opens the coverage.geojson of an entry.
func Write(path string, book *season.Book, shapes season.Shapes) error {
	w, err := geopackage.Create(path, book.Note(), book.LastWork())
	if err != nil {
		return err
	}
	err = book.WriteLayers(layers{w}, shapes)
	if closed := w.Close(); err == nil {
		err = closed
	}
	return err
}

// IsIn reports whether a file is the GeoPackage of a book as [Write] left it, made of
// the same.
func IsIn(book *season.Book, f io.ReaderAt, size int64) bool {
	return book.Source != "" && geopackage.IsLeft(f, size, book.Note())
}

// layers are the layers of a GeoPackage.
type layers struct{ *geopackage.Writer }

func (w layers) Layer(name, geometry, about string, columns []season.Column) season.Layer {
	its := make([]geopackage.Column, len(columns))
	for i, c := range columns {
		its[i] = geopackage.Column{Name: c.Name, Kind: c.Kind}
	}
	return layer{w.Writer.Layer(name, geometry, about, its), geometry}
}

// layer is one of them.
type layer struct {
	*geopackage.LayerWriter
	geometry string
}

func (l layer) Add(polygons []geo.Polygon, lines [][]geo.LonLat, values ...any) {
	switch l.geometry {
	case season.OfPolygons:
		l.LayerWriter.Add(geopackage.MultiPolygon(polygons), values...)
	case season.OfLines:
		l.LayerWriter.Add(geopackage.MultiLine(lines), values...)
	default:
		l.Row(values...)
	}
}
