package track

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// ordered returns the fixes of a track in order of time, nil where they are so already,
// and which of them do not continue from the one before. Times that cannot be true are
// mended in copies.
//
// A log that was written from its end to its beginning is turned round. Where the
// clock was set while the machine drove on, the times before are moved to fit. Any
// other fixes out of order are sorted by time.
func (l *Log) ordered(frame *geo.Frame, note *noter) ([]*machine.Fix, []bool) {
	n := len(l.Fixes)
	fresh := make([]bool, n)
	for _, b := range l.Breaks {
		fresh[b] = true
	}
	if l.NoClock && n > 0 {
		note.list = append(note.list, field.Warning{File: l.File,
			Text: "the log has no times: its fixes are taken in the order of the file, and silences are not known"})
	}
	if l.NoClock || l.steady() {
		return nil, fresh
	}
	fixes := make([]*machine.Fix, n)
	for i := range l.Fixes {
		fixes[i] = &l.Fixes[i]
	}
	fixes, fresh = timely(fixes, fresh, note)
	n = len(fixes)
	for from := 0; from < n; {
		to := from + 1
		for to < n && fixes[to].File == fixes[from].File {
			to++
		}
		if falls(fixes[from:to]) {
			turnRound(fixes[from:to], fresh[from:to])
			note.list = append(note.list, field.Warning{File: l.fileOf(fixes[from]), Text: "times fall all along: the log is turned round"})
		}
		from = to
	}
	fixes = setClock(fixes, fresh, frame, note)
	early := false
	for i := 1; i < n; i++ {
		if fixes[i].Time < fixes[i-1].Time {
			early = true
			if fixes[i].File == fixes[i-1].File {
				note.add(fixes[i], "time is before that of the fix above; put in order")
			}
		}
	}
	if early {
		type timed struct {
			fix   *machine.Fix
			fresh bool
		}
		both := make([]timed, n)
		for i := range both {
			both[i] = timed{fixes[i], fresh[i]}
		}
		slices.SortStableFunc(both, func(a, b timed) int { return cmp.Compare(a.fix.Time, b.fix.Time) })
		for i, b := range both {
			fixes[i], fresh[i] = b.fix, b.fresh
		}
	}
	return fixes, fresh
}

// steady reports whether the clock of the log goes on without a gap from its first fix to
// its last, so that there is nothing to put in order.
func (l *Log) steady() bool {
	return !parallel.Any(len(l.Fixes), parallel.AtOnce, func(from, to int) bool {
		for i := from; i < to; i++ {
			d := time.Duration(0)
			if i > 0 {
				d = l.Fixes[i].Time.Sub(l.Fixes[i-1].Time)
			}
			if t := l.Fixes[i].Time; t < earliest || t > latest || d < 0 || d > shortGap {
				return true
			}
		}
		return false
	})
}

// No log was written before earliest or after latest. Two times between them
// may be taken from each other and moved by a delay: an Instant ends at 292
// years either side of 1970, and past it would come out on the other side.
var (
	earliest = geo.InstantOf(time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC))
	latest   = geo.InstantOf(time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC))
)

// timely leaves out fixes of times that cannot be true. The fix after one that is
// left out is fresh if either of the two was.
func timely(fixes []*machine.Fix, fresh []bool, note *noter) ([]*machine.Fix, []bool) {
	kept, pending := 0, false
	for i, f := range fixes {
		pending = pending || fresh[i]
		if f.Time < earliest || f.Time > latest {
			note.add(f, "time is before 1900 or after 2100; fix left out")
			continue
		}
		fixes[kept], fresh[kept], pending = f, pending, false
		kept++
	}
	return fixes[:kept], fresh[:kept]
}

// Times fall nearly everywhere if they fall at least fallLeast times, and fallTimes
// as often as they rise. Judgement; no test holds it closely.
const (
	fallLeast = 10
	fallTimes = 20
)

// falls reports whether times fall nearly everywhere.
func falls(fixes []*machine.Fix) bool {
	rise, fall := 0, 0
	for i := 1; i < len(fixes); i++ {
		switch d := fixes[i].Time.Sub(fixes[i-1].Time); {
		case d > 0:
			rise++
		case d < 0:
			fall++
		}
	}
	return fall >= fallLeast && fall > fallTimes*rise
}

// turnRound puts the last fix first. A break before a fix becomes one after it.
func turnRound(fixes []*machine.Fix, fresh []bool) {
	first := fresh[0]
	slices.Reverse(fixes)
	slices.Reverse(fresh)
	copy(fresh[1:], fresh)
	fresh[0] = first
}

// How a clock that was set is told from a silence or a fix out of order: the places
// show that the machine drove on evenly. Judgement; TestClockSetOnTheWay,
// TestClockNotSet and TestClockOfALogThatFallsSilent show what they do, and hold
// none of the figures closely.
const (
	leapSides  = 5   // fixes either side that tell how it drove
	leapSpeed  = 0.5 // m/s, at least: a machine that stands does not drive on
	leapUneven = 0.3 // how much the speeds before and after may differ, of their mean
	leapStep   = 0.5 // how much the step between may be off the usual one, of it
	leapGrace  = 0.1 // m that it may be off besides
	leapLeast  = 5   // usual intervals, at least, for a leap ahead

	silentLeast = 4 // silences for each leap, for the log to be one that falls silent by itself
)

// setClock looks for places where the clock leaps, ahead by more than a
// silence or back, while the machine drives on evenly, and moves the times
// before so that the log goes on. The later clock is believed: receivers put
// their clocks right, not wrong. In a log that often falls silent, as one does
// that records only work, a leap ahead is a stop.
func setClock(fixes []*machine.Fix, fresh []bool, frame *geo.Frame, note *noter) []*machine.Fix {
	var leaps []int
	var by []time.Duration
	for i := 1; i < len(fixes); i++ {
		d := fixes[i].Time.Sub(fixes[i-1].Time)
		if d >= 0 && d <= shortGap || fresh[i] {
			continue
		}
		if usual, on := drivesOn(fixes, i, frame); on && (d < 0 || d > max(shortGap, leapLeast*usual)) {
			leaps, by = append(leaps, i), append(by, d-usual)
		}
	}
	if fallsSilent(fixes, leaps) {
		n := 0
		for k, i := range leaps {
			if by[k] < 0 {
				leaps[n], by[n] = i, by[k]
				n++
			}
		}
		leaps, by = leaps[:n], by[:n]
	}
	if len(leaps) == 0 {
		return fixes
	}
	moved := make([]machine.Fix, leaps[len(leaps)-1])
	out := slices.Clone(fixes)
	var shift time.Duration
	for k := len(leaps) - 1; k >= 0; k-- {
		note.add(fixes[leaps[k]], "the clock leaps while the machine drives on evenly; the times before are moved so that the log goes on")
		shift += by[k]
		from := 0
		if k > 0 {
			from = leaps[k-1]
		}
		for i := from; i < leaps[k]; i++ {
			moved[i] = *fixes[i]
			moved[i].Time += geo.Instant(shift)
			out[i] = &moved[i]
		}
	}
	return out
}

// fallsSilent reports whether a log has many more silences than leaps of its clock.
func fallsSilent(fixes []*machine.Fix, leaps []int) bool {
	if len(leaps) == 0 {
		return false
	}
	steps := make([]time.Duration, 0, len(fixes))
	for i := 1; i < len(fixes); i++ {
		if d := fixes[i].Time.Sub(fixes[i-1].Time); d > 0 {
			steps = append(steps, d)
		}
	}
	slices.Sort(steps)
	longest := unbroken(steps[len(steps)/2])
	first, _ := slices.BinarySearch(steps, longest+1)
	return len(steps)-first-len(leaps) >= silentLeast*len(leaps)
}

// drivesOn reports whether the machine went from fix i-1 to fix i as it went
// before and after, and what time that usually took.
func drivesOn(fixes []*machine.Fix, i int, frame *geo.Frame) (time.Duration, bool) {
	a, b := i-1-leapSides, i+leapSides
	if a < 0 || b >= len(fixes) {
		return 0, false
	}
	for k := a; k <= b; k++ {
		if f := fixes[k]; !f.At.Valid() || f.At == (geo.LonLat{}) || k > a && k != i && f.Time < fixes[k-1].Time {
			return 0, false
		}
	}
	before, after := fixes[i-1].Time.Sub(fixes[a].Time), fixes[b].Time.Sub(fixes[i].Time)
	if before <= 0 || after <= 0 {
		return 0, false
	}
	x := func(k int) plane.Vector {
		east, north := frame.Metres(fixes[k].At)
		return plane.Vector{X: east, Y: north}
	}
	speed := func(p, q plane.Vector, d time.Duration) plane.Vector {
		return plane.Vector{X: (q.X - p.X) / d.Seconds(), Y: (q.Y - p.Y) / d.Seconds()}
	}
	u := speed(x(a), x(i-1), before)
	v := speed(x(i), x(b), after)
	mean := plane.Vector{X: (u.X + v.X) / 2, Y: (u.Y + v.Y) / 2}
	size := math.Hypot(mean.X, mean.Y)
	usual := (before + after) / (2 * leapSides)
	step := speed(x(i-1), x(i), usual)
	return usual, size >= leapSpeed && math.Hypot(u.X-v.X, u.Y-v.Y) <= leapUneven*size &&
		math.Hypot(step.X-mean.X, step.Y-mean.Y)*usual.Seconds() <= leapStep*size*usual.Seconds()+leapGrace
}

// tellQualities says how many fixes are of which quality, where some of a log
// with fixed ones are not.
func (l *Log) tellQualities(places []Station) (field.Warning, bool) {
	if known := l.Qualities[geo.Fixed]; known == 0 || known+l.Qualities[geo.QualityUnknown] == len(l.Fixes) {
		return field.Warning{}, false // none is fixed, or none is worse
	}
	var count [geo.NoFix + 1]int
	first := 0
	for i := range places {
		f := l.fix(&places[i])
		count[f.Quality]++
		if f.Quality != geo.Fixed && f.Quality != geo.QualityUnknown && first == 0 {
			first = int(f.Line)
		}
	}
	var parts []string
	worse := 0
	for q := geo.QualityUnknown; q <= geo.NoFix; q++ {
		if count[q] > 0 && q != geo.Fixed {
			parts = append(parts, fmt.Sprintf("%d %v", count[q], q))
			if q != geo.QualityUnknown {
				worse += count[q]
			}
		}
	}
	if count[geo.Fixed] == 0 || worse == 0 {
		return field.Warning{}, false
	}
	return field.Warning{File: l.File, Line: first, Text: fmt.Sprintf("not all positions are equally good: %d fixed, %s",
		count[geo.Fixed], strings.Join(parts, ", "))}, true
}
