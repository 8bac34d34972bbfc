package track

import (
	"time"

	"lapwing/geo"
	"lapwing/geo/plane"
)

// How stands are told, in figures: common practice, no source. No test holds them
// closely.
const (
	// LongStop is how long a machine stands for the stop to be one of its own:
	// for filling, a repair or a meal; the log does not say which. Shorter, and
	// waiting at a turn is a stop; longer, and a quick fill is none.
	LongStop = 3 * time.Minute
	// longestStand is how long a stop may last and be time in the field. Longer, it
	// is a night, a meal at home or rain, whether the log goes on or not.
	longestStand = 2 * time.Hour
	// A log that is silent for shortestStand to longestStand, and goes on within
	// stoodNear of where it was, is of a machine that stood with its key off.
	shortestStand = time.Minute
	stoodNear     = 20.0 // m
)

// A Spell is what a stretch of a track's time went into.
type Spell struct {
	Moving   time.Duration
	Standing time.Duration // in stands of less than three minutes
	Stopped  time.Duration // in longer ones, up to two hours
	Parked   time.Duration // in longer ones still
	Silent   time.Duration // in silences of the log
	Stops    []Stop        // of three minutes or more, in order
}

// A Stop is a place where a machine stood for three minutes or more.
type Stop struct {
	At    plane.Point // of the antenna
	From  geo.Instant
	Stood time.Duration
}

// Total is all time in the field that the log tells of.
func (s *Spell) Total() time.Duration { return s.Moving + s.Standing + s.Stopped }

// Spell tells what the time between two instants went into. It begins with a
// step no later than the first, and returns the step that the second is in.
func (p *Path) Spell(i int, from, to geo.Instant) (Spell, int) {
	var s Spell
	within := func(i, j int) time.Duration { // of the time from fix i to fix j
		return max(0, min(p.Fixes[j].Time, to).Sub(max(p.Fixes[i].Time, from)))
	}
	for ; i+1 < len(p.Fixes) && p.Fixes[i].Time < to; i++ {
		start := i
		for i+1 < len(p.Fixes) && p.Fixes[i].Time < to && p.drove(i) {
			i++
		}
		if i > start {
			s.Moving += within(start, i)
			if i+1 == len(p.Fixes) || p.Fixes[i].Time >= to {
				break
			}
			start = i
		}
		for i+1 < len(p.Fixes) && p.Fixes[i].Time < to && p.stood(i) {
			i++
		}
		if i > start {
			p.stand(&s, start, max(p.Fixes[start].Time, from), within(start, i))
			if p.Fixes[i].Time >= to {
				return s, i - 1
			}
			if i+1 == len(p.Fixes) {
				break
			}
		}
		next := &p.Stations[p.Of[i+1]]
		if p.Of[i] != p.Of[i+1] && (next.Silent || next.Fresh) {
			s.Silent += within(i, i+1)
		} else {
			s.Moving += within(i, i+1)
		}
	}
	return s, max(0, i-1)
}

// stand adds the part of a stand, beginning at a fix, that lies in the spell.
func (p *Path) stand(s *Spell, fix int, from geo.Instant, stood time.Duration) {
	if stood < LongStop {
		s.Standing += stood
		return
	}
	st := &p.Stations[p.Of[fix]]
	at := plane.Point{X: plane.Metres(st.X), Y: plane.Metres(st.Y)}
	s.Stops = append(s.Stops, Stop{at, from, stood})
	if stood > longestStand {
		s.Parked += stood
	} else {
		s.Stopped += stood
	}
}

// drove reports at a glance that the machine went on from fix i to the next, as it mostly
// does: the log was not silent, nor so long that the machine may have stood.
func (p *Path) drove(i int) bool {
	b := &p.Stations[p.Of[i+1]]
	return p.Of[i] != p.Of[i+1] && !b.Silent && !b.Fresh && p.Fixes[i+1].Time.Sub(p.Fixes[i].Time) < stillWithin*time.Second
}

// stood reports whether the machine stood from fix i to the next: at one station,
// with its key off, or, where a log writes seldom while nothing moves, as far as a
// machine that stands may seem to wander in stillWithin.
func (p *Path) stood(i int) bool {
	k, l := p.Of[i], p.Of[i+1]
	if k == l {
		return true
	}
	a, b := &p.Stations[k], &p.Stations[l]
	took := p.Fixes[i+1].Time.Sub(p.Fixes[i].Time)
	least, near := stillWithin, standing*stillWithin
	if b.Silent {
		least, near = shortestStand.Seconds(), stoodNear
	}
	return !b.Fresh && took <= longestStand && took.Seconds() >= least && a.apart(b) < near
}
