package receiver

import (
	"math"
	"time"

	"lapwing/geo"
)

// An assembler puts the parts of an epoch together, and tells it when the last
// has come.
type assembler struct {
	calendar *calendar // nil where keys are instants
	cycle    cycle
	counts   *Counts

	open   bool
	draft  draft
	active time.Time // when it got its newest part, or the line was last busy

	told     bool      // the epoch before was told before the next began
	closed   draft     // the epoch before
	fresh    bool      // the line was silent since then: what comes belongs to the next epoch
	spoke    time.Time // when the newest message came
	course   aside     // of a VTG that came before its epoch
	heading  aside     // of an HDT
	estimate aside     // of a GST

	held  []Epoch // without a date yet
	since time.Time
	out   []Epoch
}

// A draft is an epoch in the making.
type draft struct {
	key     int64 // nanoseconds into the day, or an instant
	parts   parts
	gga     bool // a position came with the sentence
	rmc     bool
	gns     bool
	lost    bool // a sentence said that there is no fix
	at      geo.LonLat
	quality geo.Quality
	speed   float64
	course  geo.Bearing
	heading geo.Bearing
	error   float64
	date    int64 // seconds since 1970; noDate if none came
	arrived time.Time
}

func (d *draft) placed() bool { return d.gga || d.rmc || d.gns }

// An aside is a value that came before the epoch it belongs to.
type aside struct {
	set     bool
	leads   bool // messages of this type came first in the cycle before
	key     int64
	speed   float64     // of a VTG
	bearing geo.Bearing // of a VTG or an HDT
	metres  float64     // of a GST
}

const (
	// holdFor is how long epochs wait for a date before the clock gives it: a
	// receiver that sends RMC or ZDA does so once a second at least, and what is
	// "no signal" after 3 s must not be held so long: TestNoDate fails where it is doubled.
	holdFor = 2 * time.Second
	// mostHeld bounds them where a log is fed at once. Judgement: TestManyWithoutDate
	// fails where it is doubled.
	mostHeld = 4096
)

// begin makes the epoch of a key the open one. It is false where that epoch
// has been told already.
func (a *assembler) begin(key int64, now time.Time) bool {
	switch {
	case a.open && a.draft.key == key:
		return true
	case a.open:
		a.close(false, now)
	case a.told && a.closed.key == key:
		return false
	}
	a.cycle.stepped(time.Duration(key - a.draft.key))
	a.open, a.told, a.fresh, a.active = true, false, false, now
	a.draft = draft{key: key, speed: math.NaN(), course: geo.Bearing(math.NaN()), heading: geo.Bearing(math.NaN()), error: math.NaN(),
		date: noDate, arrived: now}
	if a.course.take() {
		a.draft.speed, a.draft.course = a.course.speed, a.course.bearing
		a.took(partVTG, now)
	}
	if a.heading.take() {
		a.draft.heading = a.heading.bearing
		a.took(partHDT, now)
	}
	if a.estimate.take() && a.estimate.key == key {
		a.draft.error = a.estimate.metres
		a.took(partGST, now)
	}
	return true
}

// take reports whether there is a value, which from now on there is not.
func (v *aside) take() bool {
	v.leads = v.set
	v.set = false
	return v.leads
}

// drop forgets a value that came in a cycle without an epoch, as from a
// receiver that sends headings more often than positions.
func (v *aside) drop() {
	if v.set {
		v.set, v.leads = false, false
	}
}

// took notes a part of the open epoch, the first of its kind.
func (a *assembler) took(p part, now time.Time) {
	if a.draft.parts.has(p) {
		return
	}
	a.draft.parts |= 1 << p
	a.draft.arrived, a.active = now, now
	a.cycle.part(p)
}

// settle tells the open epoch if its last part has come.
func (a *assembler) settle(now time.Time) {
	if a.open && a.cycle.final() {
		a.close(true, now)
	}
}

// hear notes that a message of any type has come.
func (a *assembler) hear(now time.Time) {
	silence := now.Sub(a.spoke) >= a.cycle.quiet()
	a.fresh = !a.open && (a.fresh || silence)
	a.spoke = now
	if a.fresh && silence {
		a.course.drop()
		a.heading.drop()
	}
}

// busy keeps the open epoch waiting: the line still carries its cycle.
func (a *assembler) busy(now time.Time) {
	if a.open {
		a.active = now
	}
}

// late notes a part of an epoch that has been told. One that the epoch had
// already, as from a second talker, is none.
func (a *assembler) late(p part) {
	if !a.closed.parts.has(p) {
		a.counts.Late++
		a.cycle.late()
	}
}

// lateDate takes a date that came after its epoch was told.
func (a *assembler) lateDate(date int64, now time.Time) {
	a.move(a.calendar.date(date, now))
}

// untimed says what a message without a time belongs to: the open epoch, the
// next one, or none.
func (a *assembler) untimed(p part, v *aside) (open, next bool) {
	switch {
	case a.open:
		return !a.draft.parts.has(p), false
	case !a.told:
		return false, false
	case v.leads || a.fresh:
		return false, true
	}
	a.late(p)
	return false, false
}

// due is when the open epoch is told if no further message comes.
func (a *assembler) due() (at time.Time, ok bool) {
	if a.open {
		at, ok = a.active.Add(a.cycle.wait()), true
	}
	if len(a.held) > 0 {
		if release := a.since.Add(holdFor); !ok || release.Before(at) {
			at, ok = release, true
		}
	}
	return at, ok
}

// tick tells what is due.
func (a *assembler) tick(now time.Time) {
	if a.open && !now.Before(a.active.Add(a.cycle.wait())) {
		a.close(true, now)
	}
	if len(a.held) > 0 && !now.Before(a.since.Add(holdFor)) {
		a.move(a.calendar.guess(now))
	}
}

// finish tells all there is: the source has ended, or broken off.
func (a *assembler) finish(now time.Time) {
	if a.open {
		a.close(true, now)
	}
	if len(a.held) > 0 {
		a.move(a.calendar.guess(now))
	}
	a.told = false
	a.course.set, a.heading.set, a.estimate.set = false, false, false
}

// close makes an epoch of the draft.
func (a *assembler) close(told bool, now time.Time) {
	d := &a.draft
	a.open, a.told, a.closed = false, told, *d
	a.cycle.end()
	// A simulating receiver marks its RMC as void, as the standard has it.
	if d.lost && d.quality != geo.Simulated {
		return
	}
	at := geo.Instant(d.key)
	if a.calendar != nil {
		var shift int64
		at, shift = a.calendar.mark(d.key, d.date, now)
		a.move(shift)
	}
	if !d.placed() {
		return
	}
	e := Epoch{Fix: geo.Fix{Time: at, At: d.at, Heading: d.course, Speed: d.speed, Quality: d.quality},
		Error: d.error, Arrived: d.arrived}
	if d.heading.Known() {
		e.Heading = d.heading
	}
	a.counts.Epochs++
	if a.calendar == nil || a.calendar.dated || a.calendar.guessed {
		a.out = append(a.out, e)
		return
	}
	if len(a.held) == 0 {
		a.since = d.arrived
	}
	a.held = append(a.held, e)
	if len(a.held) >= mostHeld {
		a.move(a.calendar.guess(now))
	}
}

// move gives the epochs held their date and tells them, once there is one.
func (a *assembler) move(shift int64) {
	if !a.calendar.dated && !a.calendar.guessed {
		return
	}
	for _, e := range a.held {
		e.Time += geo.Instant(shift)
		a.out = append(a.out, e)
	}
	a.held = a.held[:0]
}

// estimated takes the estimate of error for the epoch of a key, which may not
// have begun.
func (a *assembler) estimated(key int64, metres float64, now time.Time) {
	switch {
	case a.open && a.draft.key == key:
		if !a.draft.parts.has(partGST) {
			a.draft.error = metres
			a.took(partGST, now)
		}
	case a.told && a.closed.key == key:
		a.late(partGST)
	default:
		a.estimate = aside{set: true, key: key, metres: metres}
	}
}
