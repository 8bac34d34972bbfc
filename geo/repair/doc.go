// Package repair is the one exact repair of rings in the house: of those that
// files bring, and of those that rounding has bent.
//
//	ring as a file has it --trim.go-----> without repeated points and spikes
//	                      --meet.go-----> does it touch itself, or cross itself?
//	                      --split.go----> cut where it touches itself
//	                      --uncross.go--> the ground of one that barely crosses itself
//	rings that overlap    --unite.go----> their ground, once
//	rings after rounding  --bend.go-----> edges bent through what is too near
//	                      --polygons.go-> polygons that are valid
//
// Nearly all rings need none of it: pairs of edges that come close are sought
// first (runs.go), and only rings of which some do are handed to geo/arrange,
// which cuts the plane along them exactly and follows the faces.
//
// A unit is whatever the caller rounds to: a tick, or a billionth of a degree.
// Rings may lie anywhere. Those that reach farther than the plane's grid does,
// a degree for billionths of one, are repaired on one that is coarser by a power
// of two each way (grid.go): on the ground that is as fine, for it happens only
// where a degree of longitude is short, or to shapes too large for a field.
//
// # What repair may do to an area
//
// To split a ring moves nothing. To make rings valid after rounding moves edges
// by less than h = √½ unit each time they are bent, half the diagonal of the
// unit that a crossing lies in. An area bounded by edges of total length L
// changes by less than L × h a time: slivers are bent once, polygons as small as
// their grid three times at most.
package repair
