package coverage

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
}

// Measure finds how often each part of field was covered.
func Measure(field Field, machines []Machine, opt Options) (*Map, error) {
	passes, warnings := Split(field, machines, opt) // where the bar was working
	ground := Sweep(passes, machines)               // the swaths it left, and the silences
	m := Lay(field, machines, ground, opt)          // how deep the swaths lie
	m.Warnings = append(warnings, m.Warnings...)
	return m, nil
}
