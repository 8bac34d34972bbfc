package plane

import "math"

// An Angle is a turn or a direction on the plane, in radians. Directions are
// counted clockwise from north, turns positive to the right.
type Angle float64

// Degrees returns d degrees as an angle.
func Degrees(d float64) Angle { return Angle(d * math.Pi / 180) }

// Degrees returns a in degrees.
func (a Angle) Degrees() float64 { return float64(a) * 180 / math.Pi }

// Sincos returns the sine and cosine of a: of a direction, how far east and
// north it leads.
func (a Angle) Sincos() (sin, cos float64) { return math.Sincos(float64(a)) }

// Abs returns the size of a, whichever way it turns.
func (a Angle) Abs() Angle { return Angle(math.Abs(float64(a))) }

// To returns the turn from the direction a to b, between -π and π.
func (a Angle) To(b Angle) Angle {
	turn := b - a
	if turn.Abs() < math.Pi { // mostly, and Remainder takes its time
		return turn
	}
	return Angle(math.Remainder(float64(turn), 2*math.Pi))
}

// Between returns the angle between two directions whichever way they are gone:
// from 0, side by side, to a right angle.
func (a Angle) Between(b Angle) Angle {
	return Angle(math.Abs(math.Remainder(float64(a-b), math.Pi)))
}

// Direction returns the direction of a vector to the east and north.
func Direction(east, north float64) Angle { return Angle(math.Atan2(east, north)) }
