package coverage

import (
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Field is the ground to work: its boundary on the plane of its own frame.
// Holes are ground not to be worked.
type Field struct {
	Name     string
	Frame    geo.Frame
	Boundary []plane.Polygon
	// Worked says that nobody drew a boundary and that the outer edge of the
	// worked ground stands in for it: there is no stand-off and no over-reach
	// to speak of then.
	Worked bool
}
