// Package beside compares a pass with what runs beside it: the lap or gap to its
// neighbours on either side (neighbour.go), where its ends meet other ground
// (ends.go), a whole side of it at a glance (seam.go), and how the tracks lie
// against the boundary (shift.go). It needs ways and no map.
package beside
