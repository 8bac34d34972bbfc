package report

import (
	"slices"
	"time"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
)

// An Assessment is a field measured and priced, with how it is to be written.
type Assessment struct {
	*agronomy.Assessment
	Run   string // the run id that all files of one run carry
	Units quantity.Units
	// Patches smaller than MinArea, and skips nowhere wider than MinWidth, are
	// in the totals but not in the lists. Zero lists everything.
	MinArea  plane.Area
	MinWidth plane.Length
	// EdgeTolerance is the stand-off up to which the boundary counted as
	// reached, for the line in the strip chart. Zero draws none.
	EdgeTolerance plane.Length
	// OffRates is the ground that turns put off its rate, for the plat; nil
	// draws none.
	OffRates []coverage.OffRate
	WhatIf   *WhatIf        // nil where nobody asked
	Zone     *time.Location // of the times for people; nil means UTC
	RainAt   *time.Time     // when rain is expected; nil where nobody said
}

// A Report is an assessment with the book it belongs to.
type Report struct {
	*Assessment
	Book string // the season's page, from where this one is; "" where no season wrote it
}

// A listing numbers patches: order holds indices of patches, the listed ones
// first, and the patch at order[i] has the number i + 1.
type listing struct {
	order  []int
	listed int // how many of order are large enough to list
}

func newListing(n int, large func(i int) bool) listing {
	var l listing
	var small []int
	for i := range n {
		if large(i) {
			l.order = append(l.order, i)
		} else {
			small = append(small, i)
		}
	}
	l.listed = len(l.order)
	l.order = append(l.order, small...)
	return l
}

// byRegion returns the number of the patch of each region that has one.
func (l listing) byRegion(region func(i int) int) map[int]int {
	numbers := make(map[int]int, len(l.order))
	for n, i := range l.order {
		numbers[region(i)] = n + 1
	}
	return numbers
}

func (r *Assessment) skips() listing {
	return newListing(len(r.Map.Skips), func(i int) bool {
		s := &r.Map.Skips[i]
		return s.Area >= r.MinArea && s.Width >= float64(r.MinWidth)
	})
}

func (r *Assessment) overlaps() listing {
	return newListing(len(r.Map.Overlaps), func(i int) bool {
		return r.Map.Overlaps[i].Area >= r.MinArea
	})
}

// machineNames returns the names of machines given by their indices.
func (r *Assessment) machineNames(indices []int) []string {
	names := make([]string, 0, len(indices))
	for _, i := range indices {
		names = append(names, r.machineName(i))
	}
	return names
}

func (r *Assessment) machineName(i int) string {
	if i < 0 || i >= len(r.Map.Machines) {
		return ""
	}
	return r.Map.Machines[i].Name
}

// clock reports whether the times of p mean anything: a log without times is
// in file order only.
func (r *Assessment) clock(p *coverage.Pass) bool { return clockOn(r.Map, p) }

func clockOn(m *coverage.Map, p *coverage.Pass) bool {
	if p.Machine < len(m.Machines) {
		if tracks := m.Machines[p.Machine].Tracks; p.Track < len(tracks) && tracks[p.Track].NoClock {
			return false
		}
	}
	return p.Start != 0 || p.End != 0
}

// warnings are all that the reader should know about the input, the products'
// last.
func (r *Assessment) warnings() []coverage.Warning {
	return slices.Concat(r.Map.Warnings, r.Warnings)
}
