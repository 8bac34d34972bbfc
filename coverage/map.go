package coverage

import "lapwing/geo/plane"

// A Map is the whole answer for one field: which ground was covered how
// often, by whom, and what was left.
//
// Areas are exact sums of the faces of one arrangement, so these hold with ==:
//
//	Skip + Covered + Unlogged = Field
//	Covered = the sum of ByDepth from 1 up
//	Overlap = the sum of ByDepth from 2 up
//	Swept = Covered + Excess + OverReachSwept
type Map struct {
	Field    Field
	Machines []Machine // as measured; their tracks may be empty by now
	Passes   []Pass
	Swaths   []Swath
	Regions  []Region // by kind, then from the largest down
	Ground   Ground
	Headland Headland
	Skips    []SkipPatch    // from the largest down
	Overlaps []OverlapPatch // from the largest down
	Warnings []Warning
	// Thinned is how far the outline of a swath may lie from the path of the
	// bar's ends because fixes were left out, in ticks.
	Thinned plane.Length
}

// Ground sums a map's areas.
type Ground struct {
	Field          plane.Area // the boundary's, holes taken out
	Covered        plane.Area // inside, one visit or more
	Skip           plane.Area // inside, none, and the log not silent
	Remainder      plane.Area // the part of Skip that is simply not worked yet
	Overlap        plane.Area // inside, two visits or more
	Excess         plane.Area // inside, the sum of (depth - 1) × area
	OverReach      plane.Area // outside, one visit or more
	OverReachSwept plane.Area // outside, the sum of depth × area
	Unlogged       plane.Area // inside, no visit and the log silent
	Swept          plane.Area // of all swaths
	ByDepth        []plane.Area
}

// A SkipPatch is one patch of skipped ground with what is known of it.
type SkipPatch struct {
	Region   int // index into Map.Regions
	Area     plane.Area
	Length   float64     // ticks, along its longer extent
	Width    float64     // ticks, of the widest circle that fits in it
	At       plane.Point // the middle of that circle: a place inside the patch
	Cause    Cause
	Machines []int // indices of the machines beside it, rising
	Passes   []int // IDs of the passes beside it, rising
	Place    Place
}

// An OverlapPatch is one patch under the same set of passes.
type OverlapPatch struct {
	Region   int
	Area     plane.Area
	Depth    int
	At       plane.Point // a place inside the patch
	Cause    Cause
	Machines []int
	Passes   []int
	Place    Place
}

// A Place says where a patch is in terms a person can walk to: so far along
// a pass from one of its ends, or so far along the boundary.
type Place struct {
	Pass  int     // ID of the pass it lies along; 0 for none
	Along float64 // ticks from the end named by From, along the pass
	From  string  // "north", "south-west", …: the end of the pass to start from
	Side  string  // "left", "right" of the pass as driven, or ""
}
