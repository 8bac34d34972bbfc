// Package geojson reads and writes GeoJSON (RFC 7946).
//
//	text --value.go---> a Document of Values: pieces of the text with their places
//	     --feature.go-> Features, their properties in the order of the file; Geometries
//	     --places.go--> rings and lines of longitudes and latitudes
//
//	shapes on a plane --nano.go---------> rounded to nine decimals of a degree
//	                  --geo/repair------> valid after that
//	                  --antimeridian.go-> cut at 180 degrees
//	                  --geometry.go-----> as text
//	                  --write.go--------> streamed, feature by feature
//
// # Reading
//
// [Parse] checks that a text is JSON. [Document.Features] walks it from the
// outside in, each piece once, as far as the caller asks for it. What is wrong is
// a [*geo.Fault] with the line and the element. How strict to be is the
// caller's: a boundary has to be right, a log may have features that are not.
//
// paulmach/orb decodes GeoJSON too, and stands in the tests as a second
// opinion. It is not used here because it gives no place for a fault, reads
// [1] as [1,0] and null as 0, takes rings that are open or have two points, and
// fails on a text with a byte-order mark. Its types would carry no lines.
//
// # Writing
//
// A [Writer] streams features of shapes that lie on a frame's plane: they have
// nine decimals, the last about the size of a tick, and are valid after that
// rounding.
package geojson
