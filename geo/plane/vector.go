package plane

import "math"

// A Vector is a displacement finer than a tick, or a direction where its length is
// one: X east and Y north, in whatever unit its owner says.
type Vector struct{ X, Y float64 }

// Dot is the scalar product of v and w: how much of v lies in the direction w, if
// that is of length one.
func (v Vector) Dot(w Vector) float64 { return v.X*w.X + v.Y*w.Y }

// Length is the length of v, where that is finite: what [math.Hypot] returns, to the last
// digit, without a call.
func (v Vector) Length() float64 {
	long, short := math.Abs(v.X), math.Abs(v.Y)
	if long < short {
		long, short = short, long
	}
	if long == 0 {
		return 0
	}
	short /= long
	return long * math.Sqrt(1+short*short)
}
