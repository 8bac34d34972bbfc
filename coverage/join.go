package coverage

import (
	"cmp"
	"math"
	"slices"

	"lapwing/geo"
)

// joined returns the tracks of a machine as they are to be cleaned, and the
// first of the machine's own that each stands for. Logs with times that say
// alike whether they tell of work are one log, cut up for some reason: at
// midnight, by size, by pass, or copied once too often.
func joined(tracks []Track) (out []Track, of []int) {
	order := make([]int, len(tracks))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(tracks[a].begin(), tracks[b].begin()) })
	for _, i := range order {
		t := &tracks[i]
		to := -1
		if !t.NoClock && len(t.Fixes) > 0 {
			to = slices.IndexFunc(out, func(o Track) bool {
				return !o.NoClock && len(o.Fixes) > 0 && o.WorkingLogged == t.WorkingLogged
			})
		}
		if to < 0 {
			out, of = append(out, *t), append(of, i)
			continue
		}
		out[to] = join(out[to], t)
	}
	return out, of
}

// begin returns the time of the first fix.
func (t *Track) begin() geo.Instant {
	if t.NoClock || len(t.Fixes) == 0 {
		return 0
	}
	return t.Fixes[0].Time
}

// join adds the fixes of t to those of a track.
func join(to Track, t *Track) Track {
	if to.files == nil {
		to.files = []string{to.File}
		to.Fixes, to.States, to.Breaks = slices.Clone(to.Fixes), slices.Clone(to.States), slices.Clone(to.Breaks)
	}
	file := uint8(min(len(to.files), math.MaxUint8)) // names run out before logs do
	if len(to.files) <= math.MaxUint8 {
		to.files = append(to.files, t.File)
	}
	ids := make([]StateID, max(1, len(t.States)))
	for i := range ids {
		var s State
		if i < len(t.States) {
			s = t.States[i]
		}
		at := slices.IndexFunc(to.States, func(o State) bool { return (o == nil) == (s == nil) && slices.Equal(o, s) })
		if at < 0 {
			at = len(to.States)
			to.States = append(to.States, s)
		}
		ids[i] = StateID(at)
	}
	begin := len(to.Fixes)
	to.Rates = joinRates(to.Rates, begin, t)
	to.Fixes = append(to.Fixes, t.Fixes...)
	for i := begin; i < len(to.Fixes); i++ {
		f := &to.Fixes[i]
		f.file, f.State = file, ids[f.State]
		f.Row += int32(begin)
	}
	for _, b := range t.Breaks {
		to.Breaks = append(to.Breaks, begin+b)
	}
	return to
}
