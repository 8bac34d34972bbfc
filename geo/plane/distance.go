package plane

import "math"

// A Distance is a length in ticks that need not be whole: what roots, and
// shares of lengths, leave. A [Length] l is Distance(l) exactly on the grid.
// The infinite distance, math.Inf(1), stands for nothing in sight where a
// function says so.
type Distance float64

// DistanceOf returns the distance of so many metres, not rounded to the tick as
// [Metres] is.
func DistanceOf(metres float64) Distance { return Distance(metres * float64(Metre)) }

// Metres returns d in metres.
func (d Distance) Metres() float64 { return float64(d) / float64(Metre) }

// Length returns d rounded to the tick, halves upward like [Round].
func (d Distance) Length() Length { return Round(float64(d)) }

// Abs returns the size of d, whichever way it is counted.
func (d Distance) Abs() Distance { return Distance(math.Abs(float64(d))) }
