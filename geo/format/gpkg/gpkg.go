//go:build !js

// Package gpkg is the row of the GeoPackage in the table of formats. It stands
// by itself because it brings a database with it, SQLite: a program without
// this package has none.
package gpkg

import (
	"lapwing/geo/feature"
	"lapwing/geo/format"
	"lapwing/geo/geopackage"
)

// Format is the GeoPackage (OGC 12-128r19): fixes from a layer of points,
// boundaries from polygons of all layers.
var Format = format.Format{Name: "GeoPackage", Noun: "a GeoPackage", Endings: []string{".gpkg"}, Files: "or zipped",
	Magic: geopackage.Magic, Packed: ".gpkg",
	Points: func(f format.File) (*feature.Points, error) { return geopackage.Points(f.Data) }, FixesFrom: "points, polygons of worked ground",
	Shapes: func(f format.File) (*feature.Shapes, error) { return geopackage.Shapes(f.Data) }}
