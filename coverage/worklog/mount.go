package worklog

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"lapwing/coverage/worklog/cover"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Mount is how a bar hangs on the machine, as far as the places of its sections,
// or the corners of its polygons, tell: where a bar is rigid with the machine, or where it follows.
type Mount int

// How a bar hangs.
const (
	MountUnknown Mount = iota
	MountRigid
	MountTowed
)

// What tells a rigid bar from a towed one in turns, in figures: judgement.
// TestMountOfSections holds them from both sides with a bar that turns with the
// machine and one that follows a hitch.
const (
	turning     = 0.03              // radians a second, from which on a bar turns
	fewestTurns = 50                // bars that turn
	square      = math.Pi / 180     // how far a rigid bar is off the heading: by rounding
	behind      = 5 * math.Pi / 180 // how far a towed one is off it in turns at least
	leads       = 0.5               // m that a rigid bar is ahead of the axle, or behind it, at least
	wholeBar    = 0.98              // of the bar that has to work in a polygon
)

// swings are how bars with all their sections were turned, from the places of their
// ends: whether they stay square to the logged heading, and without one how
// far they swing outwards. What turns with the machine and is d ahead of the axle
// that does not slip moves sideways by d times the turn; a bar on wheels of its own
// does not.
//
//	      ^  heading           ^  heading
//	------+------                \
//	      |                 ------+------
//	   (axle)                      \
//	    rigid                     towed
type swings struct {
	bars  int     // that turn
	off   float64 // radians between bar and heading in turns, root mean square; NaN without a heading
	ahead float64 // m
	mount Mount
	why   string
}

// A swing is where a bar with all its sections was, and how it was turned.
type swing struct {
	t, x, y float64 // s, m
	normal  float64 // radians, clockwise from north: square to the bar, forward
	heading float64 // radians, of the machine as logged; NaN where it is not
}

// swung are the bars of a division, in the order of time.
func (j *joiner) swung(d *division, whole []*barRecord) (bars []swing) {
	if d.at == nil || len(d.codes) < 2 {
		return nil
	}
	slices.SortStableFunc(whole, func(a, b *barRecord) int { return cmp.Compare(j.Fixes[a.of[0]].Time, j.Fixes[b.of[0]].Time) })
	for _, b := range whole {
		var left, right int32 = b.of[0], b.of[0]
		for _, o := range b.of {
			if j.part.Codes[o] == d.codes[0] {
				left = o
			}
			if j.part.Codes[o] == d.codes[len(d.codes)-1] {
				right = o
			}
		}
		lx, ly := j.frame.Metres(j.Fixes[left].At)
		rx, ry := j.frame.Metres(j.Fixes[right].At)
		if math.Hypot(rx-lx, ry-ly) < apartLeast {
			continue
		}
		x, y := j.middle(b)
		f := &j.Fixes[b.of[0]]
		heading := math.NaN()
		if f.Heading.Known() {
			heading = radians(f.Heading)
		}
		bars = append(bars, swing{f.Time.Time().Sub(j.Fixes[whole[0].of[0]].Time.Time()).Seconds(), x, y, math.Atan2(-(ry - ly), rx-lx), heading})
	}
	return bars
}

// swungOf are the bars of a way that polygons tell, with all their sections. Its fixes
// are on the bar and headed square to it.
func swungOf(way *cover.Way) (bars []swing) {
	if len(way.Fixes) == 0 {
		return nil
	}
	frame := geo.NewFrame(way.Fixes[0].At)
	for i := range way.Fixes {
		var wide plane.Length
		for _, part := range way.States[way.Codes[i]] {
			wide += part.Right - part.Left
		}
		if wide < plane.Metres(wholeBar*way.Width) {
			continue
		}
		f := &way.Fixes[i]
		x, y := frame.Metres(f.At)
		bars = append(bars, swing{f.Time.Sub(way.Fixes[0].Time).Seconds(), x, y, radians(f.Heading), math.NaN()})
	}
	return bars
}

func radians(b geo.Bearing) float64 {
	sin, cos := b.Angle().Sincos()
	return math.Atan2(sin, cos)
}

// swingsOf measures how bars were turned.
func swingsOf(bars []swing) (s swings) {
	turn := func(a, b float64) float64 { return math.Remainder(b-a, 2*math.Pi) }
	var sideTurn, turnTurn float64
	var offs []float64
	mean, straight := 0.0, 0
	for i := 1; i+1 < len(bars); i++ {
		a, b, c := bars[i-1], bars[i], bars[i+1]
		dt := c.t - a.t
		if dt <= 0 || dt > cover.LongestWay {
			continue
		}
		vx, vy := (c.x-a.x)/dt, (c.y-a.y)/dt
		rate := turn(a.normal, c.normal) / dt
		sin, cos := math.Sincos(b.normal)
		sideways, forward := vx*cos-vy*sin, vx*sin+vy*cos
		if forward < apartLeast {
			continue
		}
		if math.Abs(rate) < turning {
			if !math.IsNaN(b.heading) { // on a straight way the two differ only by how the heading was taken
				mean += turn(b.normal, b.heading)
				straight++
			}
			continue
		}
		s.bars++
		sideTurn += sideways * rate
		turnTurn += rate * rate
		if !math.IsNaN(b.heading) {
			offs = append(offs, turn(b.normal, b.heading))
		}
	}
	if s.bars < fewestTurns {
		return s
	}
	s.ahead, s.off = sideTurn/turnTurn, math.NaN()
	if len(offs) == s.bars && straight > 0 {
		mean /= float64(straight)
		sum := 0.0
		for _, o := range offs {
			sum += (o - mean) * (o - mean)
		}
		s.off = math.Sqrt(sum / float64(len(offs)))
	}
	s.judge()
	return s
}

// judge says how the bar hangs.
func (s *swings) judge() {
	degrees := s.off * 180 / math.Pi
	switch {
	case s.off <= square:
		s.mount, s.why = MountRigid, fmt.Sprintf("its sections stay square to the logged heading in turns, to %.1f degrees", degrees)
	case s.off >= behind:
		s.mount, s.why = MountTowed, fmt.Sprintf("its sections are %.0f degrees off the logged heading in turns", degrees)
	case math.Abs(s.ahead) >= leads:
		s.mount, s.why = MountRigid, fmt.Sprintf("it swings outwards in turns, as what is rigid with the machine %.1f m from its axle does", math.Abs(s.ahead))
	}
}
