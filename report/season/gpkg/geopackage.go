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
// be a file. shapes opens the coverage.geojson of an entry. former is the path of the
// GeoPackage that was made of the book before, see [WasMade], "" for none: what it has of
// entries that are as they were then is taken from there. It is an error if it is broken.
func Write(path string, book *season.Book, shapes season.Shapes, former string) error {
	w, err := geopackage.Create(path, book.Note(), book.LastWork())
	if err != nil {
		return err
	}
	if former != "" {
		w.Attach(former)
	}
	err = book.WriteLayers(layers{w, former != ""}, shapes)
	if closed := w.Close(); err == nil {
		err = closed
	}
	return err
}

// IsIn reports whether a file is the GeoPackage of a book as [Write] left it, made of
// the same.
func IsIn(book *season.Book, f io.ReaderAt, size int64) bool {
	return book.Source != "" && geopackage.NoteOf(f, size) == book.Note()
}

// WasMade reports whether a file is as [Write] left it, made of what the entries of a book
// were made of before.
func WasMade(book *season.Book, f io.ReaderAt, size int64) bool {
	return book.IsOfFormer(geopackage.NoteOf(f, size))
}

// layers are the layers of a GeoPackage.
type layers struct {
	*geopackage.Writer
	former bool // a GeoPackage from before is attached
}

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

func (w layers) HasFormer() bool { return w.former }

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
