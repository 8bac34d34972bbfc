// Package geosoracle is a second way to the areas of covered ground, with the
// GEOS library. Tests and benchmarks hold the arrangement against it.
//
// It is built with the tag geos only, and needs GEOS 3.11 and a C compiler;
// without the tag the package is empty. The program itself never uses it.
//
// [Lay] finds areas, to compare ours with. [RunLines] and [RunRings] go the way
// such areas are usually found, and say how long it takes:
//
//	bars' lines --buffer--+
//	                      +--> a polygon a swath --union--> covered, skip
//	swaths' rings --------+                       --pairs--> overlaps
package geosoracle
