// Package near finds what lies near a place of the plane: the nearest edge,
// the first edge along a ray, the parts of a line that lie within a distance
// of some edges.
//
//	edges --New--> Index --Nearest-->   the nearest edge, and the place on it
//	                     --Cast-->      the first edge that a ray crosses
//	                     --Intervals--> the parts of a line that are near enough
//
// Lengths are in ticks of [plane.Tick] and float64, since what lies nearest
// seldom lies on the grid. Places are given as x, y: ticks east and north of
// the field's centre, or of any other origin that all edges share. An answer
// depends on differences of places only.
package near
