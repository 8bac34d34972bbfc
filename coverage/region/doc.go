// Package region is the fifth stage of a measurement: the field cut along
// everything that lies over it.
//
// The way of the data, one step a file:
//
//	sweep.Ground --within.go-> the passes that have ground in the field
//	             --layout.go-> Layout    one arrangement of boundary, headland, silences and swaths
//	             --kind.go---> what each piece is: the kind table
//
// region.go is one piece, headland.go the zone along the boundary.
package region
