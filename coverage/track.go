package coverage

import (
	"fmt"
	"math"
	"slices"
	"time"

	"lapwing/geo"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

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
	// Rates are what the log says was put down by area of each product, as a
	// share of what should have been: Rates[k] is of product k, with a value
	// for each of Fixes, whose Row is its place among them; NaN where the log
	// does not say. It is nil for a product that the log does not tell of.
	Rates [][]float32

	files []string // of a track joined from several: Fix.file is an index into it
}

// A Fix is one position of the antenna, with what the machine was doing from
// then until the next fix.
type Fix struct {
	geo.Fix
	Working bool
	file    uint8 // of a track joined from several
	State   StateID
	Line    int32 // in the file, from 1; 0 where the format has no lines
}

// A StateID is an index into [Track.States].
type StateID uint16

// A State is the part of the bar that works: stretches from left to right
// that do not touch, since the edge between two open sections is no edge of
// the swath. A nil State is the whole bar; an empty one works nothing.
type State []Section

// How a log is cleaned. Speeds no field machine reaches tell a jump from
// travel: 20 m/s is above road speed and far below any spike at 10 Hz.
const (
	topSpeed  = 20.0 // m/s
	spikeSize = 3.0  // m; a step shorter than this is never a spike
	spikeRun  = 5    // fixes a spike may last
	standing  = 0.15 // m/s over two seconds: slower is standing still
	arrived   = 0.06 // m; fixes before and after that are so near a stand belong to it, others do not
)

const (
	spikeNote = "position jumps away and back; taken to be between its neighbours"
	leadNote  = "position jumps away beside a silence; taken to be where the fixes on its other side lead"
)

// cleaned is a track in order of time, without what cannot be true.
type cleaned struct {
	fixes    []*Fix
	stations []station
	of       []int32   // the station of each fix
	heading  []float64 // logged heading of each station, degrees; nil if the log has none
}

// A place is where a fix is on the field's plane, in metres.
type place struct {
	fix   *Fix
	x, y  float64
	fresh bool // does not continue from the one before
}

// clean puts a track in order and lays it flat, moved by shift. What it drops
// or mends it counts in warnings. It returns one cleaned track for each
// machine whose fixes the log holds.
func (t *Track) clean(frame *geo.Frame, shift plane.Point) ([]cleaned, []Warning) {
	note := noter{file: t.File, files: t.files}
	places := t.places(frame, shift, &note)
	if w, is := tellQualities(t.File, places); is {
		note.list = append(note.list, w)
	}
	var all [][]place
	if !t.NoClock {
		all = streams(places)
	}
	if all == nil {
		all = [][]place{places}
	} else {
		note.list = append(note.list, Warning{File: t.File, Text: fmt.Sprintf(
			"the fixes of %d machines that are far apart come one among the other; they are taken apart by where they are, want a machine column or a log for each", len(all))})
	}
	var out []cleaned
	for _, places := range all {
		if len(places) > 0 {
			out = append(out, t.cleanPlaces(places, &note))
		}
	}
	return out, note.warnings()
}

// places lays the fixes flat in order of time, without those that are nowhere.
func (t *Track) places(frame *geo.Frame, shift plane.Point, note *noter) []place {
	fixes, fresh := t.ordered(frame, note)
	flat := layFlat(frame, fixes)
	places := make([]place, 0, len(fixes))
	reach := (plane.Reach - Room).Metres()
	east, north := shift.X.Metres(), shift.Y.Metres()
	pending := false
	for i, f := range fixes {
		pending = pending || fresh[i]
		switch {
		case f.Quality == geo.NoFix:
			note.add(f, "the receiver had no position; fix left out")
			continue
		case f.At.Lat == 0 && f.At.Lon == 0:
			note.add(f, "position is zero north, zero east; fix left out")
			continue
		case !f.At.Valid():
			note.add(f, "position is not on the Earth; fix left out")
			continue
		}
		x, y := flat[i].x+east, flat[i].y+north
		if !(math.Abs(x) < reach && math.Abs(y) < reach) {
			note.add(f, "position is more than 49 km from the field's middle; fix left out")
			continue
		}
		if t.repeated(places, f) {
			note.add(f, "same time and place as another fix; left out")
			continue
		}
		if n := len(places); n > 0 && !t.NoClock && places[n-1].fix.Time == f.Time {
			note.add(f, "same time as the fix before, at another place or state; taken to follow it")
		}
		places = append(places, place{f, x, y, pending})
		pending = false
	}
	return places
}

// layFlat returns where fixes are on the plane, in metres.
func layFlat(frame *geo.Frame, fixes []*Fix) []vector {
	flat := make([]vector, len(fixes))
	parallel.Runs(len(fixes), chunk, func(from, to int) {
		for i, f := range fixes[from:to] {
			flat[from+i].x, flat[from+i].y = frame.Metres(f.At)
		}
	})
	return flat
}

// repeated reports whether f is among the last places already: all that have
// its time are looked at.
func (t *Track) repeated(places []place, f *Fix) bool {
	for i := len(places) - 1; i >= 0; i-- {
		last := places[i].fix
		if last.Time != f.Time && !t.NoClock {
			return false
		}
		if last.At == f.At && last.Working == f.Working && last.State == f.State {
			return true
		}
		if t.NoClock {
			return false
		}
	}
	return false
}

// cleanPlaces mends the spikes of one machine's places and gathers them into
// stations.
//
// A spike is away in one step and back in another, faster than anything
// drives, or a detour several times longer than the way. Such a fix stays,
// for what it says of the work, at a place between its neighbours; beside a
// silence, where the way leads on that side of it.
func (t *Track) cleanPlaces(places []place, note *noter) cleaned {
	dist := func(a, b *place) float64 { return math.Hypot(a.x-b.x, a.y-b.y) }
	possible := func(a, b *place) bool {
		d := dist(a, b)
		return d <= spikeSize || t.NoClock && d < 100 || d <= topSpeed*b.fix.Time.Sub(a.fix.Time).Seconds()
	}
	kept := places[:0]
	for i := 0; i < len(places); i++ {
		p := places[i]
		if len(kept) == 0 || p.fresh {
			kept = append(kept, p)
			continue
		}
		last := &kept[len(kept)-1]
		if possible(last, &p) {
			if n := detour(kept, places[i:]); n > 0 {
				kept = mend(kept, places[i:i+n], &places[i+n], note)
				i += n - 1
				continue
			}
			kept = append(kept, p)
			continue
		}
		back := -1
		for j := i + 1; j < len(places) && j <= i+spikeRun; j++ {
			if possible(last, &places[j]) {
				back = j
				break
			}
		}
		if !t.NoClock && i+1 < len(places) && !quiet(last, &p) && strayedBack(kept, &p, &places[i+1]) {
			lead(last, &p, &places[i+1], note)
			kept = append(kept, p)
			continue
		}
		if back > 0 && !t.NoClock && !quiet(last, &p) && len(kept) > 1 && quiet(&places[back-1], &places[back]) {
			for k := i; k < back; k++ {
				n := len(kept)
				lead(&places[k], &kept[n-1], &kept[n-2], note)
				kept = append(kept, places[k])
			}
			i = back - 1
			continue
		}
		if back > 0 {
			kept = mend(kept, places[i:back], &places[back], note)
			i = back - 1
			continue
		}
		note.add(p.fix, "position jumps faster than any machine drives; the track begins anew")
		p.fresh = true
		kept = append(kept, p)
	}

	c := cleaned{fixes: make([]*Fix, len(kept)), stations: make([]station, len(kept))}
	for i := range kept {
		p := &kept[i]
		c.fixes[i] = p.fix
		c.stations[i] = station{x: p.x, y: p.y, first: int32(i), end: int32(i) + 1, fresh: p.fresh}
	}
	if !t.NoClock {
		c.standStill()
	}
	c.finish()
	return c
}

// mend keeps fixes that are spikes, evenly between the last one kept and the one
// after them.
func mend(kept, spikes []place, after *place, note *noter) []place {
	from, steps := kept[len(kept)-1], float64(len(spikes)+1)
	for k, p := range spikes {
		note.add(p.fix, spikeNote)
		share := float64(k+1) / steps
		p.x, p.y = from.x+share*(after.x-from.x), from.y+share*(after.y-from.y)
		kept = append(kept, p)
	}
	return kept
}

// quiet reports whether so long lies between two fixes that the one tells
// nothing of where the other was.
func quiet(a, b *place) bool { return b.fix.Time.Sub(a.fix.Time) > shortGap }

// strayedBack reports whether the last place kept, the first after a silence, is
// a spike, and not p: p goes on to the next one as it should.
func strayedBack(kept []place, p, next *place) bool {
	n := len(kept)
	if n > 1 && !kept[n-1].fresh && !quiet(&kept[n-2], &kept[n-1]) || next.fresh || quiet(p, next) {
		return false
	}
	return math.Hypot(next.x-p.x, next.y-p.y) <= topSpeed*next.fix.Time.Sub(p.fix.Time).Seconds()
}

// lead puts a spike where the way of two places beside it leads to, the nearer
// one first: beyond it the log was silent.
func lead(spike, near, far *place, note *noter) {
	note.add(spike.fix, leadNote)
	share := 0.0
	if dt := near.fix.Time.Sub(far.fix.Time).Seconds(); dt != 0 {
		share = spike.fix.Time.Sub(near.fix.Time).Seconds() / dt
	}
	share = max(0, min(2, share))
	spike.x, spike.y = near.x+share*(near.x-far.x), near.y+share*(near.y-far.y)
}

// detourRun is how many fixes in a row may be off at speeds that can be driven.
const detourRun = 2

// detour returns how many of the fixes next are off the way that was kept and
// goes on after them: there and back again is far longer than the way, and the
// first step much longer than the one before it. 0 where none are.
func detour(kept, next []place) int {
	if len(kept) < 2 {
		return 0
	}
	dist := func(a, b *place) float64 { return math.Hypot(a.x-b.x, a.y-b.y) }
	last := &kept[len(kept)-1]
	there := dist(last, &next[0])
	if there <= spikeSize || there <= 2.5*dist(&kept[len(kept)-2], last)+spikeSize/3 {
		return 0
	}
	gone := there
	for n := 1; n <= detourRun && n < len(next) && !next[n].fresh; n++ {
		back, way := dist(&next[n-1], &next[n]), dist(last, &next[n])
		gone += back
		if back > spikeSize && dist(last, &next[n-1]) > spikeSize && gone > 3*way+spikeSize {
			return n
		}
	}
	return 0
}

// standStill gathers the fixes of a machine that stands into one station, at
// the median of their places: noise would make the bar wander to and fro and
// turn on the spot. The slow ones are the heart of a stand; where it begins and
// ends is told by place, so that no fix that is slow by a hair matters.
func (c *cleaned) standStill() {
	st := c.stations
	n := len(st)
	still := make([]bool, n)
	a, b := 0, 0
	for i := range st {
		if st[i].fresh {
			a = i
		}
		for c.fixes[i].Time.Sub(c.fixes[a].Time) > time.Second {
			a++
		}
		if b < i {
			b = i
		}
		for b+1 < n && !st[b+1].fresh && c.fixes[b+1].Time.Sub(c.fixes[i].Time) <= time.Second {
			b++
		}
		lo, hi := a, b
		if lo == i && i > 0 && !st[i].fresh {
			lo--
		}
		if hi == i && i+1 < n && !st[i+1].fresh {
			hi++
		}
		dt := c.fixes[hi].Time.Sub(c.fixes[lo].Time).Seconds()
		still[i] = dt > 0 && dt < 30 && math.Hypot(st[hi].x-st[lo].x, st[hi].y-st[lo].y) < standing*dt
	}
	out := st[:0] // never gets as far as what is looked at
	done := 0
	for i := 0; i < n; {
		j := i + 1
		for still[i] && j < n && still[j] && !st[j].fresh {
			j++
		}
		if j-i > 1 {
			stand := middleOf(st[i:j])
			there := func(k int) bool { return math.Hypot(st[k].x-stand.x, st[k].y-stand.y) <= arrived }
			for i+1 < j && !there(i) {
				i++
			}
			for j-1 > i && !there(j-1) {
				j--
			}
			for i > done && !st[i].fresh && there(i-1) {
				i--
			}
			for j < n && !st[j].fresh && there(j) {
				j++
			}
			if j-i > 1 {
				out = append(out, st[done:i]...)
				stand.first, stand.end, stand.fresh = st[i].first, st[j-1].end, st[i].fresh
				out, done = append(out, stand), j
			}
		}
		i = j
	}
	out = append(out, st[done:]...)
	c.stations = out
}

// middleOf returns a station at the median of the places of some.
func middleOf(st []station) station {
	xs, ys := make([]float64, len(st)), make([]float64, len(st))
	for i := range st {
		xs[i], ys[i] = st[i].x, st[i].y
	}
	slices.Sort(xs)
	slices.Sort(ys)
	return station{x: xs[len(xs)/2], y: ys[len(ys)/2]}
}

// finish numbers the fixes by station and gathers the logged headings.
func (c *cleaned) finish() {
	c.of = make([]int32, len(c.fixes))
	heading, told := make([]float64, len(c.stations)), false
	for k, s := range c.stations {
		heading[k] = math.NaN()
		for i := s.first; i < s.end; i++ {
			c.of[i] = int32(k)
			if h := c.fixes[i].Heading; math.IsNaN(heading[k]) && !math.IsNaN(h) {
				heading[k], told = h, true
			}
		}
	}
	if told {
		c.heading = heading
	}
}

// markSilences finds the stations before which there is a gap.
func (c *cleaned) markSilences(opt *Options) {
	ticks := c.ticks()
	for k := 1; k < len(c.stations); k++ {
		c.stations[k].silent = ticks.gap(int(c.stations[k].first), opt)
	}
}

// ticks are the times of the fixes.
func (c *cleaned) ticks() ticks {
	return ticks{len(c.fixes), func(i int) geo.Instant { return c.fixes[i].Time }}
}

// A noter counts what happened to the fixes of a track, by file and kind.
type noter struct {
	file  string
	files []string // of a track joined from several
	list  []Warning
}

func (n *noter) fileOf(f *Fix) string {
	if len(n.files) > 0 {
		return n.files[f.file]
	}
	return n.file
}

func (n *noter) add(f *Fix, text string) {
	file := n.fileOf(f)
	for i := range n.list {
		if n.list[i].Text == text && n.list[i].File == file {
			n.list[i].Count++
			return
		}
	}
	n.list = append(n.list, Warning{File: file, Line: int(f.Line), Count: 1, Text: text})
}

func (n *noter) warnings() []Warning { return n.list }
