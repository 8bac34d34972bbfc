package field

import (
	"time"

	"lapwing/geo/plane"
)

// Options say how to measure. The zero value is what most fields want.
type Options struct {
	// MaxGap is the longest silence of the log that a swath bridges; ground
	// past it is unlogged. Zero means the longer of 3 s and 2.5 logging
	// intervals. Too short, and turns fall silent; too long, and a skip is
	// painted over.
	MaxGap time.Duration
	// Rounds is how many rounds the headland has. Zero means one.
	Rounds int
	// Lap is how far headland rounds lap each other by plan.
	Lap plane.Length
	// EdgeAllowance is a stand-off from the boundary left on purpose.
	EdgeAllowance plane.Length
	// EdgeTolerance is the stand-off up to which the boundary counts as
	// reached. Zero means half a row spacing, or 6 in where no machine says
	// its row spacing. Too small, and GNSS noise opens the headland; too
	// large, and a missed row goes unseen.
	EdgeTolerance plane.Length
	// Shift is how far all tracks are moved, east and north, before anything
	// is measured: the boundary was surveyed against another reference.
	Shift plane.Point
}

// HeadlandWidth is the depth of the headland zone: rounds × w - (rounds - 1)
// × lap, w the width of the widest machine.
func (o *Options) HeadlandWidth(widest plane.Length) plane.Length {
	rounds := plane.Length(max(1, o.Rounds))
	return rounds*widest - (rounds-1)*o.Lap
}
