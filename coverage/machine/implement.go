package machine

import (
	"time"

	"lapwing/geo/plane"
)

// An Implement is what a machine pulls or carries, as far as it decides what
// ground is covered. Lengths are on the grid; across the bar, right is
// positive.
type Implement struct {
	Name       string
	Width      plane.Length // working width: openers × row spacing; always positive
	Openers    int          // 0 if not given
	RowSpacing plane.Length // 0 if not given

	// Sections are the parts of the bar that can be shut by themselves, from
	// left to right, each beginning where the one before ends. There is at
	// least one.
	Sections []Section

	Towed          bool         // the bar follows its hitch; otherwise it is rigid with the machine
	AntennaToHitch plane.Length // how far the hitch pin (mounted: the bar) is behind the antenna
	AntennaRight   plane.Length // how far the antenna is right of the machine's centre line
	HitchToBar     plane.Length // towed: hitch pin to bar
	Cart           *Cart        // towed: a cart between machine and bar
	Offset         plane.Length // how far the bar's centre is right of the line of draught

	// OnDelay and OffDelay are how long after the switch the product reaches
	// the ground, and stops reaching it.
	OnDelay, OffDelay time.Duration

	// StartHeading is the bar's heading at the first fix of a towed implement;
	// nil means in line with the first travel.
	StartHeading *plane.Angle
}

// A Cart is a second tow link, between the machine and the bar.
type Cart struct {
	HitchToAxle plane.Length // the machine's hitch pin to the cart's axle
	AxleToHitch plane.Length // the axle back to the pin that pulls the bar
}

// Reach returns how far from the antenna a part of the bar may be at most.
func (im *Implement) Reach() plane.Length {
	size := func(l plane.Length) plane.Length { return max(l, -l) }
	reach := size(im.AntennaToHitch) + size(im.AntennaRight) + size(im.HitchToBar) + size(im.Offset) + im.Width/2
	if im.Cart != nil {
		reach += size(im.Cart.HitchToAxle) + size(im.Cart.AxleToHitch)
	}
	return reach
}

// A Section is a stretch of the bar, from Left to Right of its centre (left
// is negative).
type Section struct{ Left, Right plane.Length }

// EqualSections cuts a bar of the given width into n sections of equal width,
// to the tick.
func EqualSections(width plane.Length, n int) []Section {
	weights := make([]float64, n)
	for i := range weights {
		weights[i] = 1
	}
	return SectionsByWeight(width, weights)
}

// SectionsByWeight cuts a bar of the given width into one section for each
// weight (openers, or widths), in proportion. Neighbours share their edge to
// the tick and the outer edges are at exactly half the width; where the width
// is odd the tick too many goes to the right.
func SectionsByWeight(width plane.Length, weights []float64) []Section {
	var total float64
	for _, w := range weights {
		total += w
	}
	out := make([]Section, len(weights))
	left := -(width / 2)
	edge, sum := left, 0.0
	for i, w := range weights {
		sum += w
		next := left + plane.Round(float64(width)*sum/total) // at the last one all of the width: sum is total
		out[i] = Section{edge, next}
		edge = next
	}
	return out
}

// Whole is the state in which all of the bar works.
func (im *Implement) Whole() State {
	return State{{im.Sections[0].Left, im.Sections[len(im.Sections)-1].Right}}
}

// Open returns the parts of the bar that work in a state, which is an index
// into states; all of the bar where it is none of them.
func (im *Implement) Open(states []State, id StateID) State {
	if int(id) < len(states) && states[id] != nil {
		return states[id]
	}
	return im.Whole()
}
