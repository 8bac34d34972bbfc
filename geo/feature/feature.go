// Package feature holds what the files of geographic information systems are
// made of: features, each a geometry with attributes (OGC 06-103r4). A format
// that says no more than that, such as a shapefile or a GeoPackage, gives its
// features in this form. Package gnsslog makes fixes of those that are points,
// package boundary fields of those that are polygons; neither knows the format.
package feature

import "lapwing/geo"

// Points are the features of a file that are points.
type Points struct {
	Columns []string   // the names of the attributes
	Notes   []geo.Note // what of the file was left out or doubted
	// System is the coordinate system of the file, for people; "" for longitude
	// and latitude.
	System string
	// Each calls do with each feature, in the order of the file, and stops at
	// the first error. It may be called again.
	Each func(do func(Point) error) error
	// Close lets the file go. It must be called once.
	Close func()
}

// A Point is one feature that is a point.
type Point struct {
	Line   int // of the text; 0 where the format has no lines: its number stands in then
	At     geo.LonLat
	Placed bool    // false for a feature without a place
	Beyond string  // the coordinates of one that lies nowhere on the Earth, for messages
	Values []Value // in the order of Columns; good until the next feature
}

// A Value is what an attribute says: as it is written in the file or, where the
// file holds a number in binary, as that is written out.
type Value struct {
	Text []byte // empty where nothing is said
	// Number is the value itself where Binary says so.
	Number float64
	Binary bool
}

// Shapes are the features of a file that bound ground.
type Shapes struct {
	// Each calls do with each feature, in the order of the file, and stops at
	// the first error.
	Each func(do func(Shape) error) error
	// Close lets the file go. It must be called once.
	Close func()
}

// A Shape is one feature that bounds ground, or a note on what does not.
type Shape struct {
	Note     string // instead of all else: what was left out or doubted, and why
	Columns  []string
	Values   []Value // in the order of Columns
	Outlines []Outline
	// Loose are rings of which the file does not say, or not reliably, which
	// is the hole of which. How they lie in each other tells.
	Loose []Ring
}

// An Outline is what bounds one piece of ground: a shell with holes. With
// several shells, each hole belongs to the shell it lies in.
type Outline struct{ Shells, Holes []Ring }

// A Ring is a ring as a file has it: closed or not, wound either way.
type Ring struct {
	Where string // the element, such as "record 3, ring 1"
	At    []geo.LonLat
	Lines []int32 // the line of each place; nil where the format has no lines
}
