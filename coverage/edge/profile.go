package edge

import "lapwing/geo/plane"

// An Edge is the boundary seen as a line: how far from it the covered ground
// begins, all the way round, holes too.
type Edge struct {
	Length, Reached, Open, Unlogged float64      // ticks; Reached + Open + Unlogged = Length
	Mean, Max                       float64      // stand-off in ticks, over the whole length
	Tolerance                       plane.Length // the stand-off up to which the boundary is reached
	Profile                         []Ring
	Openings                        []Opening // from the longest down
}

// An Ring is the stand-off along one ring of the boundary.
type Ring struct {
	Hole   bool
	Length float64 // ticks
	Marks  []Mark  // in the order of the ring; the last one ends where the first begins
}

// An Mark is the stand-off at one place of the boundary, and what is between
// this mark and the next: there it runs straight from the one stand-off to the
// other.
type Mark struct {
	At       plane.Point
	Along    float64 // ticks along the ring
	StandOff float64 // ticks to covered ground, less the allowance, at most the zone's width
	Open     bool    // from here on the boundary is not reached,
	Unlogged bool    // or it may be, and the log is silent about it
}

// An Opening is a stretch of the boundary that covered ground does not reach.
type Opening struct {
	Ring       int     // index into Edge.Profile
	From, To   float64 // ticks along the ring; To < From where it runs past the ring's start
	Length     float64
	Max        float64 // the largest stand-off on it
	At         plane.Point
	Start, End plane.Point
}
