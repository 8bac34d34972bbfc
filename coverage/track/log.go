package track

import (
	"cmp"
	"math"
	"slices"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo"
)

// A Log is one log of a machine, and the paths that cleaning makes of it: one of
// the machine's tracks, or several that are one log cut up.
type Log struct {
	machine.Track
	Machine   int                // index into the machines
	First     int                // the first of the machine's tracks that it is made of
	Files     []string           // of a log of several tracks: Fix.File is an index into it
	TellsWork bool               // the log says where the machine worked, and its rule is [machine.AsLogged]
	Paths     []Path             // one, or one for each machine whose fixes it holds
	Qualities [geo.NoFix + 1]int // how many of its fixes are of each quality
	Warnings  []field.Warning

	timely []*machine.Fix // while it is cleaned: its fixes in order of time; nil where they are so already
}

// fileOf returns the file that a fix was read from.
func (l *Log) fileOf(f *machine.Fix) string {
	if len(l.Files) > 0 {
		return l.Files[f.File]
	}
	return l.File
}

// joined returns the logs that the tracks of a machine make. All tracks with times
// that have a working state are one log, and so are all that have none: they were
// cut at midnight, by size or by pass, or copied twice.
func joined(tracks []machine.Track) []Log {
	order := make([]int, len(tracks))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return before(&tracks[a], &tracks[b]) })
	var out []Log
	for _, i := range order {
		t := &tracks[i]
		to := -1
		if !t.NoClock && len(t.Fixes) > 0 {
			to = slices.IndexFunc(out, func(o Log) bool {
				return !o.NoClock && len(o.Fixes) > 0 && o.WorkingLogged == t.WorkingLogged
			})
		}
		if to < 0 {
			out = append(out, Log{Track: *t, First: i})
			continue
		}
		out[to].join(t)
	}
	return out
}

// begin returns the time of the first fix of a track.
func begin(t *machine.Track) geo.Instant {
	if t.NoClock || len(t.Fixes) == 0 {
		return 0
	}
	return t.Fixes[0].Time
}

// before compares tracks by when they begin. Those that begin together are told
// apart by what they say, fix by fix, and only then by their names: in whatever
// order they are listed, of two fixes with one time the same comes first.
// Tracks without times stay as they are listed.
func before(a, b *machine.Track) int {
	if c := cmp.Compare(begin(a), begin(b)); c != 0 || a.NoClock || b.NoClock {
		return c
	}
	for i := range min(len(a.Fixes), len(b.Fixes)) {
		if c := compareFixes(a, b, i); c != 0 {
			return c
		}
	}
	return cmp.Or(
		cmp.Compare(len(a.Fixes), len(b.Fixes)),
		slices.Compare(a.Breaks, b.Breaks),
		slices.CompareFunc(a.Rates, b.Rates, slices.Compare[[]float32]),
		cmp.Compare(a.File, b.File))
}

// compareFixes compares what two tracks say at fix i of each. The numbers of
// states mean nothing from one track to another, so it looks at the states.
func compareFixes(a, b *machine.Track, i int) int {
	f, g := &a.Fixes[i], &b.Fixes[i]
	return cmp.Or(
		cmp.Compare(f.Time, g.Time),
		cmp.Compare(f.At.Lon, g.At.Lon), cmp.Compare(f.At.Lat, g.At.Lat),
		cmp.Compare(f.Heading, g.Heading), cmp.Compare(f.Speed, g.Speed),
		cmp.Compare(f.Quality, g.Quality),
		compareBools(f.Working, g.Working),
		compareStates(stateOf(a, f), stateOf(b, g)))
}

// stateOf returns the part of the bar that works at a fix of a track.
func stateOf(t *machine.Track, f *machine.Fix) machine.State {
	if int(f.State) < len(t.States) {
		return t.States[f.State]
	}
	return nil
}

// compareStates compares parts of a bar; nil, the whole bar, comes last.
func compareStates(a, b machine.State) int {
	if c := compareBools(a == nil, b == nil); c != 0 {
		return c
	}
	return slices.CompareFunc(a, b, func(s, t machine.Section) int {
		return cmp.Or(cmp.Compare(s.Left, t.Left), cmp.Compare(s.Right, t.Right))
	})
}

// compareBools puts false before true.
func compareBools(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// join adds the fixes of a track to those of the log.
func (to *Log) join(t *machine.Track) {
	if to.Files == nil {
		to.Files = []string{to.File}
		to.Fixes, to.States, to.Breaks = slices.Clone(to.Fixes), slices.Clone(to.States), slices.Clone(to.Breaks)
	}
	file := uint8(min(len(to.Files), math.MaxUint8)) // all logs past the 255th share the last name
	if len(to.Files) <= math.MaxUint8 {
		to.Files = append(to.Files, t.File)
	}
	ids := make([]machine.StateID, max(1, len(t.States)))
	for i := range ids {
		var s machine.State
		if i < len(t.States) {
			s = t.States[i]
		}
		at := slices.IndexFunc(to.States, func(o machine.State) bool { return (o == nil) == (s == nil) && slices.Equal(o, s) })
		if at < 0 {
			at = len(to.States)
			to.States = append(to.States, s)
		}
		ids[i] = machine.StateID(at)
	}
	to.Away = slices.Concat(to.Away, t.Away)
	slices.Sort(to.Away)
	begin := len(to.Fixes)
	to.Rates = joinRates(to.Rates, begin, t)
	to.Fixes = append(to.Fixes, t.Fixes...)
	for i := begin; i < len(to.Fixes); i++ {
		f := &to.Fixes[i]
		f.File, f.State = file, ids[f.State]
		f.Row += int32(begin)
	}
	for _, b := range t.Breaks {
		to.Breaks = append(to.Breaks, begin+b)
	}
}

// joinRates adds the rates of t to those of a track of n fixes.
func joinRates(to [][]float32, n int, t *machine.Track) [][]float32 {
	if to == nil && t.Rates == nil {
		return nil
	}
	out := make([][]float32, max(len(to), len(t.Rates)))
	for k := range out {
		var before, after []float32
		if k < len(to) {
			before = to[k]
		}
		if k < len(t.Rates) {
			after = t.Rates[k]
		}
		if before == nil && after == nil {
			continue
		}
		out[k] = slices.Concat(orUnknown(before, n), orUnknown(after, len(t.Fixes)))
	}
	return out
}

// orUnknown returns rates, or n that are not known.
func orUnknown(rates []float32, n int) []float32 {
	if rates != nil {
		return rates
	}
	return slices.Repeat([]float32{float32(math.NaN())}, n)
}
