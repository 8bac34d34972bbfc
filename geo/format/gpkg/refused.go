//go:build js

// Package gpkg is the row of the GeoPackage in the table of formats. In a browser it
// stands without its reader: that brings SQLite, which is a fifth of the engine that a
// page would have to carry.
package gpkg

import (
	"lapwing/geo"
	"lapwing/geo/feature"
	"lapwing/geo/format"
)

// Format tells a GeoPackage by how every SQLite database begins, and says what to do
// with it.
var Format = format.Format{Name: "GeoPackage", Noun: "a GeoPackage", Endings: []string{".gpkg"},
	Magic: "SQLite format 3\x00", Packed: ".gpkg",
	Points: func(f format.File) (*feature.Points, error) { return nil, refused(f) },
	Shapes: func(f format.File) (*feature.Shapes, error) { return nil, refused(f) }}

func refused(f format.File) error {
	return &geo.SyntaxError{File: f.Name, Found: "a GeoPackage, which this page does not read",
		Want: "the same layer saved as GeoJSON or a shapefile, or lapwing on a computer"}
}
