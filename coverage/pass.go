package coverage

import (
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Pass is one unbroken working stretch of one machine.
//
// Measure numbers the passes of a field from 1 in the order they began, ties
// by machine name.
type Pass struct {
	ID       int
	Machine  int // index into the machines
	Track    int // index into the machine's tracks
	Headland bool
	Poses    []Pose

	Start, End geo.Instant
	Length     float64 // ticks, along the path of the bar's centre

	Swept   plane.Area // of its swaths, inside the field and out
	New     plane.Area // inside, not covered by a visit that started earlier
	Overlap plane.Area // inside, covered by an earlier visit too
}
