package coverage

import (
	"cmp"
	"math"
	"slices"
	"time"

	"lapwing/geo"
	"lapwing/geo/plane"
)

// What the times of a track mean in figures. None has a source: they are
// common practice.
const (
	// longStop is how long a machine stands for the stop to be one of its own:
	// for filling, a repair or a meal; the log does not say which. Shorter, and
	// waiting at a turn is a stop; longer, and a quick fill is none.
	longStop = 3 * time.Minute
	// longestTurn is how long a machine moves from the end of a pass to the
	// start of the next for that to be a turn, and no travelling.
	longestTurn = 90 * time.Second
	// A log that is silent for longestStand at most, and within stoodNear of
	// where it was, is of a machine that stood with its key off.
	longestStand = 2 * time.Hour
	stoodNear    = 20.0 // m
	// stillWorking is how long before the last pass of all a machine's own
	// last pass may have ended for it to be working now.
	stillWorking = 30 * time.Minute
)

// A Spell is what a stretch of a track's time went into.
type Spell struct {
	Moving   time.Duration
	Standing time.Duration // in stands of less than three minutes
	Stopped  time.Duration // in longer ones
	Silent   time.Duration // the log does not say
	Stops    []Stop        // the longer ones, in order
}

// A Stop is a place where a machine stood for three minutes or more.
type Stop struct {
	At    plane.Point // of the antenna
	From  geo.Instant
	Stood time.Duration
}

// total is all time the log tells of.
func (s *Spell) total() time.Duration { return s.Moving + s.Standing + s.Stopped }

// timePasses fills in what the time of each pass, and that since the pass
// before it on the track, went into. Passes are in order; one may begin or end
// between two fixes.
func (c *cleaned) timePasses(passes []Pass) {
	next := 0 // the step, from fix next to the one after, to begin with
	for k := range passes {
		p := &passes[k]
		if k > 0 {
			p.After = passes[k-1].End
			p.Before, next = c.spell(next, p.After, p.Start)
		} else {
			next, _ = slices.BinarySearchFunc(c.fixes, p.Start, func(f *Fix, t geo.Instant) int { return cmp.Compare(f.Time, t) })
			next = max(0, next-1)
		}
		p.During, next = c.spell(next, p.Start, p.End)
	}
}

// spell tells what the time between two instants went into. It begins with a
// step no later than the first, and returns the step that the second is in.
func (c *cleaned) spell(i int, from, to geo.Instant) (Spell, int) {
	var s Spell
	within := func(i, j int) time.Duration { // of the time from fix i to fix j
		return max(0, min(c.fixes[j].Time, to).Sub(max(c.fixes[i].Time, from)))
	}
	for ; i+1 < len(c.fixes) && c.fixes[i].Time < to; i++ {
		start := i
		for i+1 < len(c.fixes) && c.fixes[i].Time < to && c.stood(i) {
			i++
		}
		if i > start {
			c.stand(&s, start, max(c.fixes[start].Time, from), within(start, i))
			if c.fixes[i].Time >= to {
				return s, i - 1
			}
			if i+1 == len(c.fixes) {
				break
			}
		}
		next := &c.stations[c.of[i+1]]
		if c.of[i] != c.of[i+1] && (next.silent || next.fresh) {
			s.Silent += within(i, i+1)
		} else {
			s.Moving += within(i, i+1)
		}
	}
	return s, max(0, i-1)
}

// stand adds a stand that began at a fix, as far as it lies in the spell.
func (c *cleaned) stand(s *Spell, fix int, from geo.Instant, stood time.Duration) {
	if stood < longStop {
		s.Standing += stood
		return
	}
	st := &c.stations[c.of[fix]]
	at := plane.Point{X: plane.Metres(st.x), Y: plane.Metres(st.y)}
	s.Stops = append(s.Stops, Stop{at, from, stood})
	s.Stopped += stood
}

// stood reports whether the machine stood from fix i to the next.
func (c *cleaned) stood(i int) bool {
	k, l := c.of[i], c.of[i+1]
	if k == l {
		return true
	}
	a, b := &c.stations[k], &c.stations[l]
	return b.silent && !b.fresh && c.fixes[i+1].Time.Sub(c.fixes[i].Time) <= longestStand && math.Hypot(b.x-a.x, b.y-a.y) < stoodNear &&
		c.fixes[i+1].Time.Sub(c.fixes[i].Time) >= time.Minute
}

// A Clock is where a machine's time in the field went, from the start of its
// first pass there to the end of its last. Time before and after, and between
// one log and the next, belongs to the road and the yard.
type Clock struct {
	Machine    int // index into Map.Machines
	From, To   geo.Instant
	Working    time.Duration // the bar at work and the machine moving
	Turning    time.Duration // from one pass to the next, a minute and a half at most
	Standing   time.Duration // in stands of less than three minutes
	Stopped    time.Duration // in longer ones: filling, repairs, meals
	Travelling time.Duration // moving otherwise
	Silent     time.Duration // the log does not say; in no other figure
	Stops      []Stop

	New    plane.Area // inside, not covered by an earlier visit of any machine
	Speed  float64    // m/s at work
	cycles []cycle
	width  plane.Length
}

// A cycle is a pass with the time since the one before.
type cycle struct{ ground, seconds float64 }

// FieldTime is all time spent in the field that the log tells of.
func (c *Clock) FieldTime() time.Duration {
	return c.Working + c.Turning + c.Standing + c.Stopped + c.Travelling
}

// Capacity is the effective field capacity in m²/s: new ground by field time.
// Ground worked twice adds nothing to it.
func (c *Clock) Capacity() float64 {
	if t := c.FieldTime().Seconds(); t > 0 {
		return c.New.SquareMetres() / t
	}
	return 0
}

// Theoretical is the theoretical field capacity in m²/s: the speed at work
// times the full working width. In acres an hour, with mph and feet, that is
// speed × width / 8.25 (Iowa State University Extension, PM 696).
func (c *Clock) Theoretical() float64 { return c.Speed * c.width.Metres() }

// Efficiency is the field efficiency: effective by theoretical capacity; 0
// where the machine did not work.
func (c *Clock) Efficiency() float64 {
	if t := c.Theoretical(); t > 0 {
		return c.Capacity() / t
	}
	return 0
}

// Clocks tells where the time of each machine went that has passes in the
// field and a log with times.
func (m *Map) Clocks() []Clock {
	var out []Clock
	for machine := range m.Machines {
		c := Clock{Machine: machine, width: m.Machines[machine].Implement.Width}
		length, driven := 0.0, time.Duration(0)
		last := map[int]geo.Instant{} // the end of the last pass, by track
		for i := range m.Passes {
			p := &m.Passes[i]
			if p.Machine != machine || m.noClock(p) {
				continue
			}
			if c.cycles == nil {
				c.From = p.Start
			}
			c.To = max(c.To, p.End)
			took := c.during(&p.During)
			if end, ok := last[p.Track]; ok && end == p.After { // not so where a pass elsewhere lies between
				took += c.between(&p.Before)
			}
			last[p.Track] = p.End
			c.New += p.New
			length += p.Length / float64(plane.Metre)
			driven += p.During.Moving + p.During.Silent // its length goes on across a silence
			c.cycles = append(c.cycles, cycle{p.New.SquareMetres(), took.Seconds()})
		}
		if driven > 0 {
			c.Speed = length / driven.Seconds()
		}
		if c.FieldTime() > 0 {
			out = append(out, c)
		}
	}
	return out
}

// noClock reports whether the times of p mean nothing.
func (m *Map) noClock(p *Pass) bool {
	tracks := m.Machines[p.Machine].Tracks
	return p.Track < len(tracks) && tracks[p.Track].NoClock
}

// during adds the time of a pass, and returns how long it took.
func (c *Clock) during(s *Spell) time.Duration {
	c.Working += s.Moving
	c.stand(s)
	c.Silent += s.Silent
	return s.total()
}

// between adds the time between two passes, and returns how long it took.
// A log that records only work is silent in the turns: a short silence is one.
func (c *Clock) between(s *Spell) time.Duration {
	c.stand(s)
	if s.Stopped == 0 && s.Moving+s.Silent <= longestTurn {
		c.Turning += s.Moving + s.Silent
		return s.total() + s.Silent
	}
	c.Travelling += s.Moving
	c.Silent += s.Silent
	return s.total()
}

func (c *Clock) stand(s *Spell) {
	c.Standing += s.Standing
	c.Stopped += s.Stopped
	c.Stops = append(c.Stops, s.Stops...)
}
