package region

import (
	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// A Kind is what happened to a piece of ground.
type Kind int

// The kinds. Unlogged is the zero Kind: without evidence no other is claimed.
const (
	Unlogged  Kind = iota // inside, no visit known of, and the log silent
	Skip                  // inside, no visit
	Once                  // inside, one visit
	Overlap               // inside, two visits or more
	OverReach             // outside the boundary or in a hole, one visit or more
)

// String returns the kind in lower case, as in coverage.geojson.
func (k Kind) String() string {
	return [...]string{"unlogged", "skip", "once", "overlap", "overreach"}[k]
}

// A Region is one connected piece of ground covered equally often and by the
// same swaths throughout. Regions of one [Layout] never overlap, and neighbours
// share their edges to the tick. A skip is cut at the inner edge of the
// headland zone; nothing else is.
type Region struct {
	Kind     Kind
	Depth    int   // visits; 0 in a skip and where unlogged
	Swaths   []int // indices of the swaths over it, rising
	Headland bool  // for a skip: in the headland zone
	Shape    plane.Polygon
	Area     plane.Area

	Across [][]arrange.Label // for each ring and edge of Shape: what is there, see [Layout.Class]
}
