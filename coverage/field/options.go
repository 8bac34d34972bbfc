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
	// Crossings is how often the edges of what lies over the field may cross one
	// another. Zero means [UsualCrossings] of the fixes and corners.
	Crossings int
}

// UsualCrossings returns how often the edges of what lies over a field may cross
// one another, where so many fixes and corners came in.
//
// Edges may cross as often as there are pairs of them. So a small log makes
// millions of crossings where a machine with a wide bar stood and its position
// jumped about, or went round and round on the spot; they take minutes and
// gigabytes, and their map tells nothing. A machine that works makes fewer than one
// a fix; where its places are 14 cm off from one fix to the next, 6 to 15, and where
// they are half a metre off, 330.
//
// A crossing takes up to 4 µs and 400 bytes, until all patches are explained and
// written. 500 fixes fit into 10 kB, so that these are measured or refused within 2 s
// and 200 MB, and 100,000 within a minute and 4 GB.
func UsualCrossings(points int) int { return 200_000 + 10*points + min(600*points, 10_000_000) }

// HeadlandWidth is the depth of the headland zone: rounds × w - (rounds - 1)
// × lap, w the width of the widest machine.
func (o *Options) HeadlandWidth(widest plane.Length) plane.Length {
	rounds := plane.Length(max(1, o.Rounds))
	return rounds*widest - (rounds-1)*o.Lap
}
