// Package boundary reads field boundaries.
//
// Each format has a file of its own and a function that reads it: [ReadGeoJSON],
// [ReadKML], [ReadKMZ], [ReadWKT], and [FromShapes] for the features of other
// formats. Package format says which of them a file is for. name stands in errors
// only, which are of type [*SyntaxError]. A
// reader hands rings as the file has them to one place, repair.go, where they
// are set right: closed by themselves, free of repeated points and of spikes,
// shells anticlockwise and holes clockwise, split where they touch themselves,
// edges short enough to be straight on a plane. Whatever was repaired or left out
// on the way is in the notes.
//
// What cannot be repaired without guessing is refused with its place: a ring
// that crosses itself, a place that is not on the Earth, coordinates that are
// not longitude and latitude. Ground is what lies within a shell and in no hole of
// it, once however many polygons of a boundary lie over it: those that overlap are
// united, with a note.
package boundary

import (
	"lapwing/geo"
)

// A Boundary is one named field as the file has it.
type Boundary struct {
	Name  string // from the file; "" where it has none
	Parts []geo.Polygon
}

// A File is what one file holds.
type File struct {
	Format     string // "GeoJSON", …
	Boundaries []Boundary
	Notes      []geo.Note
}

// A SyntaxError says that a file cannot be read, and why.
type SyntaxError = geo.SyntaxError
