package taskdata

import (
	"math"
	"slices"
	"time"

	"lapwing/geo"
)

// A Track is what one device did in one log: the fixes of its antenna, and
// what its bar was doing from each fix to the next.
type Track struct {
	Task, Device string // ids; Device is "" where the log names none
	DeviceName   string
	Log, File    string // the log's name, and its file as it stands in messages

	Fixes    []geo.Fix
	NoClock  bool
	Zoneless bool // the times come from a clock without a zone; the zone given was used

	Bar   Bar
	Hitch Hitch

	// Working says for each fix whether any of the bar worked; nil where the
	// log does not say. Before the log first says so it did not.
	Working []bool
	// States are the sets of sections that occur, and State is for each fix
	// an index into them; both nil where the log has no states of sections.
	States []State
	State  []uint32

	// Widths are the actual working widths that the log gives for the bar as
	// a whole, in millimetres; nil if it gives none. Which side of the bar a
	// smaller width is of, it does not say.
	Widths *Values
	// Rates are the setpoint and actual amounts per area of the bar and its
	// sections; [DDI.Meaning] gives their units.
	Rates []*Values

	// Notes say what was chosen where the set leaves a choice.
	Notes []string
}

// Tracks returns what the devices of a task did, log by log. Zone is for the
// times of logs that know only a clock; nil means UTC. A log that speaks of
// several devices gives a track for each whose width or working state it
// tells; one that tells of none gives one track without. The tracks of one log
// share its fixes.
func (s *Set) Tracks(t *Task, zone *time.Location) []Track {
	var tracks []Track
	of := s.owners()
	for _, log := range t.Logs {
		n := len(tracks)
		for _, d := range spokenOf(log, of) {
			b := newBearing(d, log)
			element := b.bar()
			if element < 0 || !b.speaks(element) {
				continue
			}
			tracks = append(tracks, s.track(t, log, b, element))
		}
		if len(tracks) == n {
			tracks = append(tracks, Track{Bar: Bar{X: math.NaN(), Y: math.NaN()}, Hitch: unknownHitch(),
				Notes: []string{"the log tells of no device's width or working state"}})
		}
		fixes := inZone(log, zone)
		for i := range tracks[n:] {
			t1 := &tracks[n+i]
			t1.Task, t1.Log, t1.File = t.ID, log.Name, log.File
			t1.Fixes, t1.NoClock, t1.Zoneless = fixes, log.NoClock, log.Zoneless
		}
	}
	return tracks
}

// owners returns the device of each element; of several with an id the first.
func (s *Set) owners() map[string]*Device {
	of := map[string]*Device{}
	for i := range s.Devices {
		for _, e := range s.Devices[i].Elements {
			if of[e.ID] == nil {
				of[e.ID] = &s.Devices[i]
			}
		}
	}
	return of
}

// spokenOf returns the devices that a log has values of, as they come.
func spokenOf(log *Log, of map[string]*Device) []*Device {
	var out []*Device
	for i := range log.Values {
		d := of[log.Values[i].Element]
		if d != nil && len(log.Values[i].Raw) > 0 && !slices.Contains(out, d) {
			out = append(out, d)
		}
	}
	return out
}

// speaks reports whether the log tells of the work of a bar, so that it is one
// that was in use.
func (b *bearing) speaks(bar int) bool {
	w := b.sources(bar, b.sectionsOf(bar), nil)
	return len(w.plain)+len(w.sections) > 0 || b.logged(bar, ActualWidth) != nil
}

// track puts together what is known of one device.
func (s *Set) track(t *Task, log *Log, b *bearing, element int) Track {
	bar, sections, place := b.lay(element)
	out := Track{Device: b.device.ID, DeviceName: b.device.Name, Bar: bar, Hitch: b.hitch(s, t, bar)}
	w := b.sources(element, sections, place)
	b.choose(&w)
	if n := installed(w.sections); n > 0 && n != bar.Count {
		if bar.Count > 0 {
			b.note("device %s has %d sections, its working states are of %d; those that both have are used", shorten(b.device.ID), bar.Count, n)
		} else {
			out.Bar.Count = n
		}
	} else if n == 0 && len(w.sections) > 0 && bar.Count > MostSections {
		b.note("device %s has %d sections, of which working states tell the first %d apart; the others count as off",
			shorten(b.device.ID), bar.Count, MostSections)
	}
	out.work(log, w)
	out.Widths = b.logged(element, ActualWidth)
	for i := range log.Values {
		v := &log.Values[i]
		at := b.device.element(v.Element)
		if at >= 0 && len(v.Raw) > 0 && slices.Contains(rates, v.DDI) && (b.device.within(at, element) || b.device.within(element, at)) {
			out.Rates = append(out.Rates, v)
		}
	}
	slices.Sort(b.notes)
	out.Notes = slices.Compact(b.notes)
	return out
}

// choose leaves out a source of working states that never says "on" in a log
// in which another does: some devices send states that they never set.
func (b *bearing) choose(w *works) {
	plain, sections := ever(w.plain), ever(w.sections)
	switch {
	case len(w.sections) > 0 && !sections && plain:
		b.note("device %s: the states of sections never say on, the work state does; the states are left out", shorten(b.device.ID))
		w.sections = nil
	case len(w.plain) > 0 && !plain && sections:
		b.note("device %s: the work state never says on, the states of sections do; the work state is left out", shorten(b.device.ID))
		w.plain = nil
	}
}

// work works out for each fix whether the bar worked, and what of it: where
// the work state says off, nothing of it works whatever its sections say.
func (t *Track) work(log *Log, w works) {
	if len(w.plain)+len(w.sections) == 0 {
		return
	}
	n := len(log.Fixes)
	t.Working = make([]bool, n)
	count := t.Bar.Count
	if len(w.sections) > 0 {
		t.State = make([]uint32, n)
	}
	ids := map[State]uint32{}
	id := uint32(0)
	var now State
	plain := make([]State, len(w.plain)) // each of one bit
	for i := range n {
		changed := i == 0
		for k := range w.sections {
			changed = w.sections[k].apply(i, count, &now) || changed
		}
		on := len(w.plain) == 0
		for k := range w.plain {
			w.plain[k].apply(i, 1, &plain[k])
			on = on || plain[k].Any()
		}
		t.Working[i] = on && (len(w.sections) == 0 || now.Any())
		if len(w.sections) == 0 {
			continue
		}
		if changed {
			var known bool
			if id, known = ids[now]; !known {
				id = uint32(len(t.States))
				ids[now] = id
				t.States = append(t.States, now)
			}
		}
		t.State[i] = id
	}
}

// inZone returns the fixes of a log, with times by a clock without a zone
// taken to be of the zone given.
func inZone(log *Log, zone *time.Location) []geo.Fix {
	if !log.Zoneless || zone == nil || zone == time.UTC {
		return log.Fixes
	}
	fixes := slices.Clone(log.Fixes)
	for i := range fixes {
		c := fixes[i].Time.Time()
		fixes[i].Time = geo.InstantOf(time.Date(c.Year(), c.Month(), c.Day(), c.Hour(), c.Minute(), c.Second(), c.Nanosecond(), zone))
	}
	return fixes
}
