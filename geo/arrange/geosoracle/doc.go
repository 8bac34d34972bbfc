// Package geosoracle is a second way to the areas of covered ground: with the
// GEOS library, by unions, differences and intersections of polygons, one
// after another. Tests and benchmarks hold the arrangement against it.
//
// It is built with the tag geos only, and needs GEOS 3.11 and a C compiler;
// without the tag the package is empty. The program itself never uses it.
//
//	swaths' rings --+
//	                +--> a polygon a swath --union--> covered, skip, outside
//	bars' lines ----+                       --pairs--> overlap
//	      (buffered by half the width)
package geosoracle
