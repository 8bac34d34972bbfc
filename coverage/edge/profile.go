package edge

import (
	"slices"

	"lapwing/geo/plane"
)

// An Edge is the boundary seen as a line: how far from it the covered ground
// begins, all the way round, holes too.
type Edge struct {
	Length, Reached, Open, Unlogged plane.Distance // Reached + Open + Unlogged = Length
	Mean, Max                       plane.Distance // stand-off, over the whole length
	Tolerance                       plane.Length   // the stand-off up to which the boundary is reached
	Profile                         []RingProfile
	Openings                        []Opening // from the longest down
}

// A RingProfile is the stand-off along one ring of the boundary.
type RingProfile struct {
	Hole   bool
	Length plane.Distance
	Marks  []Sample // in the order of the ring; the last one ends where the first begins
}

// A Sample is the stand-off at one place of the boundary, and what the stretch up to
// the next mark is: along it the stand-off changes linearly from one to the other.
type Sample struct {
	At       plane.Point
	Along    plane.Distance // along the ring
	StandOff plane.Distance // to covered ground, less the allowance, at most the zone's width
	Open     bool           // from here on the boundary is not reached,
	Unlogged bool           // or it may be, and the log is silent about it
}

// An Opening is a stretch of the boundary that covered ground does not reach.
type Opening struct {
	Ring       int            // index into Edge.Profile
	From, To   plane.Distance // along the ring; To < From where it runs past the ring's start
	Length     plane.Distance
	Max        plane.Distance // the largest stand-off on it
	At         plane.Point
	Start, End plane.Point
}

// Line is the stretch of the boundary that o is, from its start to its end.
func (e *Edge) Line(o *Opening) []plane.Point {
	if o.Ring >= len(e.Profile) {
		return []plane.Point{o.Start, o.End}
	}
	r := &e.Profile[o.Ring]
	line := []plane.Point{o.Start}
	if o.To >= o.From {
		line = append(line, r.between(o.From, o.To)...)
	} else { // it runs past the ring's start
		line = append(line, r.between(o.From, r.Length)...)
		line = append(line, r.between(-1, o.To)...)
	}
	return append(line, o.End)
}

// A Step is a stretch of an opening between two marks: how long it is, and the larger
// stand-off of its ends, with the place of that.
type Step struct {
	Length, StandOff plane.Distance
	At               plane.Point
}

// Steps takes an opening apart, in the order of its ring.
func (e *Edge) Steps(o *Opening) []Step {
	if o.Ring >= len(e.Profile) {
		return nil
	}
	r := &e.Profile[o.Ring]
	var out []Step
	n := len(r.Marks)
	first := slices.IndexFunc(r.Marks, func(m Sample) bool { return m.Along >= o.From })
	for k := 0; k < n && first >= 0; k++ {
		a, b := &r.Marks[(first+k)%n], &r.Marks[(first+k+1)%n]
		if !a.Open {
			break
		}
		length := b.Along - a.Along
		if length < 0 || (first+k)%n == n-1 {
			length = r.Length - a.Along
		}
		if b.StandOff > a.StandOff {
			out = append(out, Step{length, b.StandOff, b.At})
		} else {
			out = append(out, Step{length, a.StandOff, a.At})
		}
	}
	return out
}

// between returns the places of the marks after from and before to.
func (r *RingProfile) between(from, to plane.Distance) []plane.Point {
	var out []plane.Point
	for _, m := range r.Marks {
		if m.Along > from && m.Along < to {
			out = append(out, m.At)
		}
	}
	return out
}
