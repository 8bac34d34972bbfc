package coverage

import "lapwing/geo"

// A Track is a log of one machine's fixes, as read: in file order, not yet
// cleaned. Split puts them in order and drops what cannot be true.
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
}

// A Fix is one position of the antenna, with what the machine was doing from
// then until the next fix.
type Fix struct {
	geo.Fix
	Working bool
	State   StateID
	Line    int32 // in the file, from 1; 0 where the format has no lines
}

// A StateID is an index into [Track.States].
type StateID uint16

// A State is the part of the bar that works: stretches from left to right
// that do not touch, since the edge between two open sections is no edge of
// the swath. A nil State is the whole bar; an empty one works nothing.
type State []Section
