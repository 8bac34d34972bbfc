package track

import (
	"fmt"
	"math"
	"slices"
	"time"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// How spikes are told from travel, and stands from slow travel. Where no test is
// named, the figure is judgement and no test holds it closely.
const (
	// topSpeed is above the speed of machines on roads and far below that of a
	// spike at 10 Hz: TestSpikesWhereTheyHurt, TestSpikesAtSpeedsThatCanBeDriven.
	topSpeed   = 20.0  // m/s
	spikeSize  = 3.0   // m; a shorter step is never a spike
	spikeFixes = 5     // fixes that a spike may last: TestSpikesWhereTheyHurt
	farJump    = 100.0 // m; in a log without times a shorter step is never a spike

	// A detour (see detour) has at most detourFixes fixes. The way over them is more
	// than detourTimes the way past them, and the first step to them more than
	// detourStep times the one before and detourSlack. TestSpikes and
	// TestSpikesAtSpeedsThatCanBeDriven hold all but detourSlack.
	detourFixes = 2
	detourTimes = 3.0
	detourStep  = 2.5
	detourSlack = 1.0 // m

	leadMost = 2.0 // steps between two fixes that their way is extrapolated by, at most (see lead)

	standing    = 0.15 // m/s over two seconds; slower is standing still
	stillWithin = 30.0 // s; fixes farther apart do not tell a stand
	arrived     = 0.06 // m from the middle of a stand, for a fix to belong to it: TestStandingByAHair
)

const (
	spikeNote = "position jumps away and back; taken to be between its neighbours"
	leadNote  = "position jumps away beside a silence; taken to be where the fixes on its other side lead"
)

// A Path is where one antenna was: its fixes in order of time, without those that
// cannot be true, and the stations they make.
type Path struct {
	Fixes    []Fix
	Stations []Station
	Of       []int32    // the station of each fix
	Last     geo.LonLat // where the last fix is, as logged
}

// A Fix is what of a fix is asked for along a path. It has no place: that of its
// station stands for it.
type Fix struct {
	Time    geo.Instant
	Heading geo.Bearing // see [geo.Fix]
	Row     int32       // see [machine.Track.Rates]
	State   machine.StateID
	Working bool
}

// A Station is a place the antenna was at: one fix, or several while the
// machine stood still.
type Station struct {
	X, Y   float64 // m east and north of the field's centre
	First  int32   // the first of its fixes in the path, see [Path.End]; of a log being cleaned, see [Log.fix]
	Fresh  bool    // does not continue from the station before
	Silent bool    // the log is silent between the station before and this one
}

// apart is how far two stations are apart, in metres.
func (s *Station) apart(o *Station) float64 { return plane.Vector{X: s.X - o.X, Y: s.Y - o.Y}.Length() }

// End is where the fixes of station k end: they are the fixes First ≤ i < End.
func (c *Path) End(k int) int {
	if k+1 < len(c.Stations) {
		return int(c.Stations[k+1].First)
	}
	return len(c.Fixes)
}

// Clean puts the logs of machines in order and lays them flat on the field's
// plane, moved by the options' shift. The warnings of each log count the fixes that
// it leaves out or repairs.
func Clean(field *field.Field, machines []machine.Logged, opt *field.Options) []Log {
	var logs []Log
	for m := range machines {
		for _, l := range joined(machines[m].Tracks) {
			l.Machine = m
			l.TellsWork = l.WorkingLogged && machines[m].Working == machine.AsLogged
			logs = append(logs, l)
		}
	}
	parallel.Each(len(logs), func(i int) { logs[i].clean(&field.Frame, opt) })
	return logs
}

// clean finds the paths of a log.
func (l *Log) clean(frame *geo.Frame, opt *field.Options) {
	note := noter{log: l}
	places := l.places(frame, opt.Shift, &note)
	if w, is := l.tellQualities(places); is {
		note.list = append(note.list, w)
	}
	var all [][]Station
	leap := leaps(places) // none does at ten fixes a second
	if leap && !l.NoClock {
		all = l.streams(places)
	}
	if all == nil {
		all = [][]Station{places}
	} else {
		note.list = append(note.list, field.Warning{File: l.File, Text: fmt.Sprintf(
			"the fixes of %d machines that are far apart come one among the other; they are taken apart by where they are and how they drive, want a machine column or a log for each", len(all))})
	}
	for _, places := range all {
		if len(places) > 0 {
			if leap {
				places = l.withoutSpikes(places, &note)
			}
			p := l.gather(places)
			if !l.NoClock {
				p.markSilences(opt)
			}
			l.Paths = append(l.Paths, p)
		}
	}
	l.Warnings = note.list
	l.Fixes, l.timely = nil, nil // the paths have what is asked for of them
}

// fix is that of a station of a log being cleaned, which has one: First is its index in
// order of time.
func (l *Log) fix(at *Station) *machine.Fix { return l.nth(int(at.First)) }

// nth is fix i in order of time.
func (l *Log) nth(i int) *machine.Fix {
	if l.timely == nil {
		return &l.Fixes[i]
	}
	return l.timely[i]
}

// since is the time from one fix of a log being cleaned to another.
func (l *Log) since(a, b *Station) time.Duration { return l.fix(b).Time.Sub(l.fix(a).Time) }

// places lays the fixes flat in order of time, without those that have no place on
// the field's plane.
func (l *Log) places(frame *geo.Frame, shift plane.Point, note *noter) []Station {
	var fresh []bool
	l.timely, fresh = l.ordered(frame, note)
	east, north := shift.X.Metres(), shift.Y.Metres()
	places := make([]Station, len(fresh))
	const block = parallel.AtOnce
	odd := make([]bool, (len(fresh)+block-1)/block) // blocks that have to be looked at fix by fix
	counts := make([][geo.NoFix + 1]int, len(odd))
	parallel.Runs(len(places), block, func(from, to int) {
		k := from / block
		for i := from; i < to; i++ {
			f := l.nth(i)
			x, y := frame.Metres(f.At)
			places[i] = Station{X: x + east, Y: y + north, First: int32(i), Fresh: fresh[i]}
			if int(f.Quality) < len(counts[k]) {
				counts[k][f.Quality]++
			}
			odd[k] = odd[k] || l.NoClock || i > 0 && f.Time <= l.nth(i-1).Time || flaw(f, &places[i]) != ""
		}
	})
	for _, count := range counts {
		for q, n := range count {
			l.Qualities[q] += n
		}
	}
	kept := places[:0]
	pending := false
	for k := range odd {
		some := places[k*block : min((k+1)*block, len(places))]
		if !odd[k] {
			some[0].Fresh = some[0].Fresh || pending
			kept, pending = append(kept, some...), false
			continue
		}
		for _, p := range some {
			f := l.fix(&p)
			pending = pending || p.Fresh
			if text := flaw(f, &p); text != "" {
				note.add(f, text)
				continue
			}
			if l.repeated(kept, f) {
				note.add(f, "same time and place as another fix; left out")
				continue
			}
			if n := len(kept); n > 0 && !l.NoClock && l.fix(&kept[n-1]).Time == f.Time {
				note.add(f, "same time as the fix before, at another place or state; taken to follow it")
			}
			p.Fresh, pending = pending, false
			kept = append(kept, p)
		}
	}
	return kept
}

// flaw says why a fix, laid flat at a place, has none on the field's plane; "" where it
// has.
func flaw(f *machine.Fix, at *Station) string {
	const reach = float64(plane.Reach-field.Room) / float64(plane.Metre)
	switch {
	case f.Quality == geo.NoFix:
		return "the receiver had no position; fix left out"
	case f.At.Lat == 0 && f.At.Lon == 0:
		return "position is zero north, zero east; fix left out"
	case !f.At.Valid():
		return "position is not on the Earth; fix left out"
	case !(math.Abs(at.X) < reach && math.Abs(at.Y) < reach):
		return "position is more than 49 km from the field's middle; fix left out"
	}
	return ""
}

// repeated reports whether f is among the last places already: all that have
// its time are looked at.
func (l *Log) repeated(places []Station, f *machine.Fix) bool {
	for i := len(places) - 1; i >= 0; i-- {
		last := l.fix(&places[i])
		if last.Time != f.Time && !l.NoClock {
			return false
		}
		if last.At == f.At && last.Working == f.Working && last.State == f.State {
			return true
		}
		if l.NoClock {
			return false
		}
	}
	return false
}

// leaps reports whether a step from one place to the next is long enough to be a spike's.
func leaps(places []Station) bool {
	return parallel.Any(len(places), parallel.AtOnce, func(from, to int) bool {
		for i := max(1, from); i < to; i++ {
			if !(places[i-1].apart(&places[i]) <= spikeSize) {
				return true
			}
		}
		return false
	})
}

// withoutSpikes moves the spikes of one machine's places.
//
// A spike is one fix or a few that lie away from the way: faster away and back than
// any machine drives, or on a detour several times longer than the way. A spike
// stays, for its working state, but is moved between its neighbours; beside a
// silence it is moved to where the fixes on its own side lead.
func (l *Log) withoutSpikes(places []Station, note *noter) []Station {
	possible := func(a, b *Station) bool {
		d := a.apart(b)
		return d <= spikeSize || l.NoClock && d < farJump || d <= topSpeed*l.since(a, b).Seconds()
	}
	kept := places[:0]
	for i := 0; i < len(places); i++ {
		p := places[i]
		if len(kept) == 0 || p.Fresh {
			kept = append(kept, p)
			continue
		}
		last := &kept[len(kept)-1]
		if possible(last, &p) {
			if n := detour(kept, places[i:]); n > 0 {
				kept = l.removeSpikes(kept, places[i:i+n], &places[i+n], note)
				i += n - 1
				continue
			}
			kept = append(kept, p)
			continue
		}
		back := -1
		for j := i + 1; j < len(places) && j <= i+spikeFixes; j++ {
			if possible(last, &places[j]) {
				back = j
				break
			}
		}
		if !l.NoClock && i+1 < len(places) && !l.quiet(last, &p) && l.strayedBack(kept, &p, &places[i+1]) {
			l.lead(last, &p, &places[i+1], note)
			kept = append(kept, p)
			continue
		}
		if back > 0 && !l.NoClock && !l.quiet(last, &p) && len(kept) > 1 && l.quiet(&places[back-1], &places[back]) {
			for k := i; k < back; k++ {
				n := len(kept)
				l.lead(&places[k], &kept[n-1], &kept[n-2], note)
				kept = append(kept, places[k])
			}
			i = back - 1
			continue
		}
		if back > 0 {
			kept = l.removeSpikes(kept, places[i:back], &places[back], note)
			i = back - 1
			continue
		}
		note.add(l.fix(&p), "position jumps faster than any machine drives; the track begins anew")
		p.Fresh = true
		kept = append(kept, p)
	}
	return kept
}

// gather makes a path of one machine's places.
func (l *Log) gather(places []Station) Path {
	c := Path{Fixes: make([]Fix, len(places)), Stations: places, Last: l.fix(&places[len(places)-1]).At}
	parallel.Runs(len(places), parallel.AtOnce, func(from, to int) {
		for i := from; i < to; i++ {
			f := l.fix(&places[i])
			c.Fixes[i] = Fix{Time: f.Time, Heading: f.Heading, Row: f.Row, State: f.State, Working: f.Working}
			places[i].First = int32(i)
		}
	})
	if !l.NoClock {
		c.standStill()
	}
	c.number()
	return c
}

// removeSpikes keeps fixes that are spikes, but puts them evenly between the last
// one kept and the one after them.
func (l *Log) removeSpikes(kept, spikes []Station, after *Station, note *noter) []Station {
	from, steps := kept[len(kept)-1], float64(len(spikes)+1)
	for k, p := range spikes {
		note.add(l.fix(&p), spikeNote)
		share := float64(k+1) / steps
		p.X, p.Y = from.X+share*(after.X-from.X), from.Y+share*(after.Y-from.Y)
		kept = append(kept, p)
	}
	return kept
}

// quiet reports whether the time between two fixes is so long that neither place
// tells anything of the other.
func (l *Log) quiet(a, b *Station) bool { return l.since(a, b) > shortGap }

// strayedBack reports whether the spike is not p but the last place kept, the first
// after a silence: a machine could drive from p to next.
func (l *Log) strayedBack(kept []Station, p, next *Station) bool {
	n := len(kept)
	if n > 1 && !kept[n-1].Fresh && !l.quiet(&kept[n-2], &kept[n-1]) || next.Fresh || l.quiet(p, next) {
		return false
	}
	return p.apart(next) <= topSpeed*l.since(p, next).Seconds()
}

// lead extrapolates the way from far through near to the time of a spike, and puts
// the spike there: the log is silent on its other side.
func (l *Log) lead(spike, near, far *Station, note *noter) {
	note.add(l.fix(spike), leadNote)
	share := 0.0
	if dt := l.since(far, near).Seconds(); dt != 0 {
		share = l.since(near, spike).Seconds() / dt
	}
	share = max(0, min(leadMost, share))
	spike.X, spike.Y = near.X+share*(near.X-far.X), near.Y+share*(near.Y-far.Y)
}

// detour returns how many of the fixes next lie on a detour: the way over them is
// far longer than the way past them, and the first step to them much longer than
// the step before. 0 means that none do.
func detour(kept, next []Station) int {
	if len(kept) < 2 {
		return 0
	}
	last := &kept[len(kept)-1]
	there := last.apart(&next[0])
	if there <= spikeSize || there <= detourStep*kept[len(kept)-2].apart(last)+detourSlack {
		return 0
	}
	gone := there
	for n := 1; n <= detourFixes && n < len(next) && !next[n].Fresh; n++ {
		back, way := next[n-1].apart(&next[n]), last.apart(&next[n])
		gone += back
		if back > spikeSize && last.apart(&next[n-1]) > spikeSize && gone > detourTimes*way+spikeSize {
			return n
		}
	}
	return 0
}

// standStill gathers the fixes of a machine that stands into one station, at
// the median of their places: noise would make the bar wander to and fro and
// turn on the spot. A stand is found by its slow fixes. Its first and last fix are
// found by their distance from the median, so that the result does not hang on
// whether one fix is just above or below the limit of speed.
func (c *Path) standStill() {
	st := c.Stations
	n := len(st)
	still := make([]bool, n)
	parallel.Runs(n, parallel.AtOnce, func(from, to int) { c.stillAmong(still, from, to) })
	out := st[:0] // never overtakes the stations being read
	done := 0
	for i := 0; i < n; {
		j := i + 1
		for still[i] && j < n && still[j] && !st[j].Fresh {
			j++
		}
		if j-i > 1 {
			stand := middleOf(st[i:j])
			there := func(k int) bool { return st[k].apart(&stand) <= arrived }
			for i+1 < j && !there(i) {
				i++
			}
			for j-1 > i && !there(j-1) {
				j--
			}
			for i > done && !st[i].Fresh && there(i-1) {
				i--
			}
			for j < n && !st[j].Fresh && there(j) {
				j++
			}
			if j-i > 1 {
				out = append(out, st[done:i]...)
				stand.First, stand.Fresh = st[i].First, st[i].Fresh
				out, done = append(out, stand), j
			}
		}
		i = j
	}
	out = append(out, st[done:]...)
	c.Stations = out
}

// stillAmong notes which of the fixes from ≤ i < to, each of which is still a station, are
// slow over a second either way.
func (c *Path) stillAmong(still []bool, from, to int) {
	st, n := c.Stations, len(c.Stations)
	since := func(a, b int) time.Duration { return c.Fixes[b].Time.Sub(c.Fixes[a].Time) }
	a, b := from, from
	for a > 0 && !st[a].Fresh && since(a-1, from) <= time.Second {
		a--
	}
	for i := from; i < to; i++ {
		if st[i].Fresh {
			a = i
		}
		for since(a, i) > time.Second {
			a++
		}
		b = max(b, i)
		for b+1 < n && !st[b+1].Fresh && since(i, b+1) <= time.Second {
			b++
		}
		lo, hi := a, b
		if lo == i && i > 0 && !st[i].Fresh {
			lo--
		}
		if hi == i && i+1 < n && !st[i+1].Fresh {
			hi++
		}
		dt := since(lo, hi).Seconds()
		still[i] = dt > 0 && dt < stillWithin && st[lo].apart(&st[hi]) < standing*dt
	}
}

// middleOf returns a station at the median of the places of some.
func middleOf(st []Station) Station {
	xs, ys := make([]float64, len(st)), make([]float64, len(st))
	for i := range st {
		xs[i], ys[i] = st[i].X, st[i].Y
	}
	slices.Sort(xs)
	slices.Sort(ys)
	return Station{X: xs[len(xs)/2], Y: ys[len(ys)/2]}
}

// number notes the station of each fix.
func (c *Path) number() {
	c.Of = make([]int32, len(c.Fixes))
	parallel.Runs(len(c.Stations), parallel.AtOnce, func(from, to int) {
		for k := from; k < to; k++ {
			for i := int(c.Stations[k].First); i < c.End(k); i++ {
				c.Of[i] = int32(k)
			}
		}
	})
}

// markSilences finds the stations before which there is a gap.
func (c *Path) markSilences(opt *field.Options) {
	beat := c.Beat()
	parallel.Runs(len(c.Stations), parallel.AtOnce, func(from, to int) {
		for k := max(1, from); k < to; k++ {
			c.Stations[k].Silent = beat.gap(int(c.Stations[k].First), opt)
		}
	})
}

// Beat is the times of the fixes.
func (c *Path) Beat() Beat {
	return Beat{len(c.Fixes), func(i int) geo.Instant { return c.Fixes[i].Time }}
}

// A noter counts the warnings about fixes of a log, by file and text.
type noter struct {
	log  *Log
	list []field.Warning
}

func (n *noter) add(f *machine.Fix, text string) {
	file := n.log.fileOf(f)
	for i := range n.list {
		if n.list[i].Text == text && n.list[i].File == file {
			n.list[i].Count++
			return
		}
	}
	n.list = append(n.list, field.Warning{File: file, Line: int(f.Line), Count: 1, Text: text})
}
