package machine

import (
	"math"
	"slices"
	"time"

	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Track is a log of one machine's fixes as read: in the order of the file,
// not yet cleaned.
type Track struct {
	File string
	// Fixes in the order of the file.
	Fixes []Fix
	// States are the section states that occur: Fix.State is an index into it.
	// State 0 is always the whole bar.
	States []State
	// Breaks are indices of fixes that the log says do not continue from the
	// fix before (a new segment); rising.
	Breaks []int
	// WorkingLogged says that the log has a working state of its own.
	// Without it Fix.Working means nothing.
	WorkingLogged bool
	// NoClock says that the log has no times: file order stands in, and
	// Fix.Time means nothing.
	NoClock bool
	// Rates are what the log says was put down by area of each product, as a
	// share of what should have been: Rates[k] is of product k, with a value
	// for each of Fixes, whose Row is its place among them; NaN where the log
	// does not say. It is nil for a product that the log does not tell of.
	Rates [][]float32
	// Away are the times of fixes before which the machine was elsewhere: what it
	// did there was left out, see package track. It is nil in a log as it was read.
	Away []geo.Instant
	// Blocks are boxes around runs of the fixes, by which package track finds those
	// of a field; nil where they are not known.
	Blocks []geo.Extent
}

// A Fix is one position of the antenna, with what the machine was doing from
// then until the next fix.
type Fix struct {
	geo.Fix
	Working bool
	File    uint8 // which file it is of, where several are one log: see package track
	State   StateID
	Line    int32 // in the file, from 1; 0 where the format has no lines
}

// A StateID is an index into [Track.States].
type StateID uint16

// A State is the part of the bar that works: stretches from left to right
// that do not touch, since the edge between two open sections is no edge of
// the swath. A nil State is the whole bar; an empty one works nothing.
type State []Section

// StateOf is the state in which the sections are open that on says; nil where all are.
func StateOf(sections []Section, on []bool) State {
	if !slices.Contains(on, false) {
		return nil
	}
	state := State{}
	for i, s := range sections {
		switch {
		case !on[i]:
		case i > 0 && on[i-1]:
			state[len(state)-1].Right = s.Right
		default:
			state = append(state, s)
		}
	}
	return state
}

// Bound returns edge i of the parts of the bar, from left to right: their left
// and right ends in turn.
func (s State) Bound(i int) plane.Length {
	if i%2 == 1 {
		return s[i/2].Right
	}
	return s[i/2].Left
}

// DryFor is how long nothing must have been put down at work for a product to
// have run out. Meters and their sensors lag the bar's lowering and lifting by
// some seconds, which an empty tank outlasts; ten seconds are 20 m of work.
// Judgement; no test holds it closely.
const DryFor = 10 * time.Second

// DrySpans returns the fixes from ≤ i < to at work over which nothing of a
// product was put down, for [DryFor] or longer.
func (t *Track) DrySpans(product int) [][2]int {
	if product >= len(t.Rates) || t.Rates[product] == nil {
		return nil
	}
	rates := t.Rates[product]
	dry := func(i int) bool { return rates[t.Fixes[i].Row] == 0 && (t.Fixes[i].Working || !t.WorkingLogged) }
	return DrySpans(len(t.Fixes)-1, dry, func(i int) geo.Instant { return t.Fixes[i].Time })
}

// UnknownSpans returns the fixes from ≤ i < to at work over which a track that tells of a
// product does not say how much of it was put down.
func (t *Track) UnknownSpans(product int) [][2]int {
	if product >= len(t.Rates) || t.Rates[product] == nil {
		return nil
	}
	rates := t.Rates[product]
	return spans(len(t.Fixes)-1, func(i int) bool {
		return math.IsNaN(float64(rates[t.Fixes[i].Row])) && (t.Fixes[i].Working || !t.WorkingLogged)
	})
}

// DrySpans returns the stretches from ≤ i < to of n steps that are dry for long
// enough; step i is from time i to time i + 1.
func DrySpans(n int, dry func(i int) bool, at func(i int) geo.Instant) [][2]int {
	return slices.DeleteFunc(spans(n, dry), func(s [2]int) bool { return at(s[1]).Sub(at(s[0])) < DryFor })
}

// spans returns the longest stretches from ≤ i < to of n steps that are of a kind.
func spans(n int, is func(i int) bool) (out [][2]int) {
	for from := 0; from < n; {
		to := from
		for to < n && is(to) {
			to++
		}
		if to > from {
			out = append(out, [2]int{from, to})
		}
		from = to + 1
	}
	return out
}
