package geo

import (
	"math"

	"lapwing/geo/plane"
)

// A Bearing is a direction in degrees clockwise from north, from 0, below 360:
// the way receivers log headings and people read them. NaN is not
// known. A direction to reckon with is a [plane.Angle], in radians.
type Bearing float64

// BearingOf brings logged degrees from -180..360 to 0..360, 360 itself to 0;
// others, such as the 999 of a receiver that stands still, are no bearing: NaN.
func BearingOf(degrees float64) Bearing {
	switch {
	case !(degrees >= -180 && degrees <= 360):
		return Bearing(math.NaN())
	case degrees < 0:
		degrees += 360
	}
	if degrees >= 360 { // also what is a hair under 0
		degrees -= 360
	}
	return Bearing(degrees)
}

// BearingTowards returns a direction of the plane as a bearing.
func BearingTowards(direction plane.Angle) Bearing {
	return Bearing(math.Mod(math.Mod(direction.Degrees(), 360)+360, 360))
}

// Known reports whether the log gave the bearing.
func (b Bearing) Known() bool { return !math.IsNaN(float64(b)) }

// Angle returns the bearing as a direction of the plane.
func (b Bearing) Angle() plane.Angle { return plane.Degrees(float64(b)) }

// Apart returns how many degrees lie between b and c, the shorter way round:
// 0 to 180. NaN where either is not known.
func (b Bearing) Apart(c Bearing) float64 {
	return math.Abs(math.Remainder(float64(b-c), 360))
}
