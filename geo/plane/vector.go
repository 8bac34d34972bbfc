package plane

// A Vector is a displacement finer than a tick, or a direction where its length is
// one: X east and Y north, in whatever unit its owner says.
type Vector struct{ X, Y float64 }

// Dot is the scalar product of v and w: how much of v lies in the direction w, if
// that is of length one.
func (v Vector) Dot(w Vector) float64 { return v.X*w.X + v.Y*w.Y }
