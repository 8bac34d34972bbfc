package mend

import (
	"math"
	"slices"
	"sort"

	"lapwing/coverage/locate"
	"lapwing/geo/plane"
)

// A profile is how far to either side of a guide a skip reaches, in slices of
// equal length along it.
type profile struct {
	from, slice plane.Distance   // along
	left, right []plane.Distance // across; left > right in a slice without ground
}

// sliceLength is how long the slices of a profile are; those of a skip longer than
// mostSlices of them are longer. Judgement. No test holds either closely.
const (
	sliceLength = 25 * plane.Centimetre
	mostSlices  = 2000
)

// profileOf makes the profile of some rings from the spots of their corners.
func profileOf(rings [][]locate.Offset) *profile {
	lo, hi := plane.Distance(math.Inf(1)), plane.Distance(math.Inf(-1))
	for _, ring := range rings {
		for _, s := range ring {
			lo, hi = min(lo, s.Along), max(hi, s.Along)
		}
	}
	n := min(mostSlices, max(1, int(math.Ceil(float64((hi-lo)/plane.Distance(sliceLength))))))
	p := &profile{from: lo, slice: (hi - lo) / plane.Distance(n), left: make([]plane.Distance, n), right: make([]plane.Distance, n)}
	for i := range n {
		p.left[i], p.right[i] = plane.Distance(math.Inf(1)), plane.Distance(math.Inf(-1))
	}
	for _, ring := range rings {
		p.add(ring)
	}
	return p
}

// add widens the slices by a ring.
func (p *profile) add(ring []locate.Offset) {
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		if a.Along > b.Along {
			a, b = b, a
		}
		for k := p.at(a.Along); k <= p.at(b.Along); k++ {
			// The part of the edge within the slice.
			start, end := p.from+plane.Distance(k)*p.slice, p.from+plane.Distance(k+1)*p.slice
			for _, along := range [2]plane.Distance{max(a.Along, start), min(b.Along, end)} {
				across := a.Across
				if d := b.Along - a.Along; d > 0 {
					across += (along - a.Along) / d * (b.Across - a.Across)
				}
				p.left[k], p.right[k] = min(p.left[k], across), max(p.right[k], across)
			}
		}
	}
}

func (p *profile) at(along plane.Distance) int {
	if p.slice == 0 {
		return 0
	}
	return max(0, min(len(p.left)-1, int((along-p.from)/p.slice)))
}

// A skip often has a foot: where a pass ended short beside it, one end is much wider
// than the rest. A foot of at most footArea of the skip's area and footLength of its
// length is left out, so that the sections over it need not be open all along.
// Judgement. No test holds either closely.
const (
	footArea   = 0.08
	footLength = 0.25
)

// strip returns the strip over a profile: as wide as the skip is, a foot left
// out.
//
//	 _________
//	|  _______|  <- a foot
//	| |
//	| |          the strip is as wide as this
//	|_|
func (p *profile) strip() strip {
	lo, hi := slices.Min(p.left), slices.Max(p.right)
	s := strip{from: p.from, to: p.from + p.slice*plane.Distance(len(p.left)), left: lo, right: hi}
	const lines = 400 // across the profile: of a bar of 24 m one every 6 cm, as near as steering
	step := (hi - lo) / lines
	if !(step > 0) {
		return s
	}
	at := func(k int) plane.Distance { return lo + (plane.Distance(k)+0.5)*step } // where line k is, across
	// A slice reaches over neighbouring lines: how many more reach over line k than
	// over the one before it is in more[k].
	var more [lines + 1]int
	for i := range p.left {
		from := sort.Search(lines, func(k int) bool { return p.left[i] <= at(k) })
		to := sort.Search(lines, func(k int) bool { return p.right[i] < at(k) })
		if from < to {
			more[from]++
			more[to]--
		}
	}
	lengths := make([]plane.Distance, len(p.left)+1) // the length of so many of them
	for n := range p.left {
		lengths[n+1] = lengths[n] + p.slice
	}
	var length [lines]plane.Distance // of the skip along each line
	total, most, over := 0.0, plane.Distance(0), 0
	for k := range length {
		over += more[k]
		length[k] = lengths[over]
		total += float64(length[k]) * float64(step)
		most = max(most, length[k])
	}
	first, last := 0, lines-1
	for first < last {
		k := &first
		if length[last] < length[first] {
			k = &last
		}
		if length[*k] > footLength*most || s.misses+float64(length[*k])*float64(step) > footArea*total {
			break
		}
		s.misses += float64(length[*k]) * float64(step)
		if k == &first {
			first++
		} else {
			last--
		}
	}
	s.left, s.right = lo+plane.Distance(first)*step, lo+plane.Distance(last+1)*step
	return s
}
