// Package near finds what lies near a place of the plane. It holds the house's
// one spatial index, a packed R-tree, with the two faces that fields ask for,
// and a grid for points:
//
//	Index      edges: the nearest, the first along a ray, the parts of a line
//	           that lie within a distance of one
//	Boxes      boxes along a way or a ring: those that meet another
//	GridIndex  points: those within a cell of a place
//
// All are made once and asked often. BenchmarkIndex says what they cost beside
// an R-tree that grows.
//
// Lengths are in ticks of [plane.Tick] and float64, since what lies nearest
// seldom lies on the grid. Places are given as x, y: ticks east and north of
// the field's centre, or of any other origin that all edges share. An answer
// depends on differences of places only.
package near
