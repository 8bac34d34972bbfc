package pace

import (
	"time"

	"lapwing/coverage"
	"lapwing/coverage/track"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// What the times of passes mean in figures: judgement, no source.
// TestForecast fails where stillWorking is doubled; no test holds longestTurn closely.
const (
	// longestTurn is how long a machine moves from the end of a pass to the
	// start of the next for that to be a turn, and no travelling.
	longestTurn = 90 * time.Second
	// stillWorking is how long before the last pass of all a machine's own
	// last pass may have ended for it to be working now.
	stillWorking = 30 * time.Minute
)

// A Clock is where a machine's time in the field went, from the start of its
// first pass there to the end of its last. Time before and after, and between
// one log and the next, belongs to the road and the yard.
type Clock struct {
	Machine    int // index into Map.Machines
	From, To   geo.Instant
	Working    time.Duration // the bar at work and the machine moving
	Turning    time.Duration // from one pass to the next, longestTurn at most
	Standing   time.Duration // in stands of less than three minutes
	Stopped    time.Duration // in longer ones: filling, repairs, meals
	Travelling time.Duration // moving otherwise
	Silent     time.Duration // the log does not say; in no other figure
	Parked     time.Duration // in stands of over two hours: a night, rain; in no other figure
	Stops      []track.Stop  // of three minutes or more, those parked among them

	New    plane.Area   // inside, not covered by an earlier visit of any machine
	Swept  plane.Area   // by its passes, laps and ground outside counted: never less than New
	Shut   float64      // m² that sections went over while they were shut
	Width  plane.Length // of the bar
	Cycles []Cycle
}

// A Cycle is a pass with the time since the one before: what it added to the
// ground covered, in m², and how long that took, in seconds.
type Cycle struct{ New, Seconds float64 }

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

// Theoretical is the theoretical field capacity in m²/s: the ground that the full
// width went over, laps and shut sections counted, by the time it moved at work. A
// silence of the log has neither ground nor time in it, a stand no ground and no time.
// 0 where the machine never moved at work.
//
// On straight passes that is the speed times the full working width. In acres an hour,
// with mph and feet, it is speed × width / 8.25 (Iowa State University Extension, PM 696).
func (c *Clock) Theoretical() float64 {
	if t := c.Working.Seconds(); t > 0 {
		return (c.Swept.SquareMetres() + c.Shut) / t
	}
	return 0
}

// Speed is that of the bar at work, in m/s: the mean over its width, so that in a turn
// its outer end counts as much as its inner one.
func (c *Clock) Speed() float64 {
	if c.Width > 0 {
		return c.Theoretical() / c.Width.Metres()
	}
	return 0
}

// Efficiency is the field efficiency: effective by theoretical capacity; 0
// where the machine did not work. It is the part of its time in the field that the
// machine worked, times the part of the ground gone over that was new: two shares of a
// whole, so at most 1.
func (c *Clock) Efficiency() float64 {
	if t := c.Theoretical(); t > 0 {
		return c.Capacity() / t
	}
	return 0
}

// Clocks tells where the time of each machine went that has passes in the
// field and a log with times.
func Clocks(m *coverage.Map) []Clock {
	var out []Clock
	for machine := range m.Machines {
		c := Clock{Machine: machine, Width: m.Machines[machine].Implement.Width}
		last := map[int]geo.Instant{} // the end of the last pass, by track
		for i := range m.Passes {
			p := &m.Passes[i]
			if p.Machine != machine || p.NoClock {
				continue
			}
			if c.Cycles == nil {
				c.From = p.Start
			}
			c.To = max(c.To, p.End)
			took := c.during(&p.During)
			if end, ok := last[p.Track]; ok && end == p.After { // not so where a pass elsewhere lies between
				took += c.between(&p.Before)
			}
			last[p.Track] = p.End
			c.New += p.New
			c.Swept += p.Swept
			c.Shut += p.ShutGround(m.Machines)
			c.Cycles = append(c.Cycles, Cycle{p.New.SquareMetres(), took.Seconds()})
		}
		if c.FieldTime() > 0 {
			out = append(out, c)
		}
	}
	return out
}

// during adds the time of a pass, and returns how long it took.
func (c *Clock) during(s *track.Spell) time.Duration {
	c.Working += s.Moving
	c.stand(s)
	c.Silent += s.Silent
	return s.Total()
}

// between adds the time between two passes, and returns how long it took.
// A log that records only work is silent in the turns, so a short silence counts as
// a turn.
func (c *Clock) between(s *track.Spell) time.Duration {
	c.stand(s)
	if s.Stopped == 0 && s.Parked == 0 && s.Moving+s.Silent <= longestTurn {
		c.Turning += s.Moving + s.Silent
		return s.Total() + s.Silent
	}
	c.Travelling += s.Moving
	c.Silent += s.Silent
	return s.Total()
}

func (c *Clock) stand(s *track.Spell) {
	c.Standing += s.Standing
	c.Stopped += s.Stopped
	c.Parked += s.Parked
	c.Stops = append(c.Stops, s.Stops...)
}
