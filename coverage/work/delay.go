package work

import (
	"cmp"
	"math"
	"slices"
	"time"

	"lapwing/coverage/machine"
	"lapwing/coverage/stance"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// Ground delay: product is on its way down while the machine goes on. A part
// of the bar that is switched on at t works the ground from t + OnDelay, and
// one switched off at t does so until t + OffDelay:
//
//	switch    ______|==========|___________
//	ground    _________|==========|________
//	                on         off
//
// An opening shorter than the on-delay puts nothing on the ground; a closing
// shorter than the off-delay leaves no break. Poses are interpolated at the times
// at which the ground's state changes. The machine's way after a log ends or falls
// silent is unknown, so ground worked then is left out.

// A moment is a time from which on the ground is worked in some state of the bar.
type moment struct {
	at    geo.Instant
	state machine.StateID
	open  bool // some of the bar works
}

// A timedStance is the stance of the bar at one time.
type timedStance struct {
	at     geo.Instant
	stance *stance.Stance
	silent bool // the log is silent between the sight before and this one
}

// delayedPasses is passesOf for an implement with a ground delay. The states of the
// passes it makes are its own: parts of the bar that were switched together
// may reach the ground one after another.
func (s *splitter) delayedPasses(working []bool, im *machine.Implement, states []machine.State) {
	g := newGrounding(im, states)
	at := s.stepOf()
	from := len(s.passes)
	for k := 0; k < len(s.Stations); {
		next := k + 1
		for next < len(s.Stations) && !s.parted(working, at, next) {
			next++
		}
		first, end := int(s.Stations[k].First), s.End(next-1)
		if moments := g.moments(s, working, first, end); len(moments) > 0 {
			s.follow(s.sights(int(at[k]), int(at[next-1])), moments)
		}
		k = next
	}
	for i := from; i < len(s.passes); i++ {
		s.passes[i].States = g.states
	}
	s.cutShort += g.cut
}

// stepOf walks all the way, and returns the step of each station.
func (s *splitter) stepOf() []int32 {
	s.steps = s.All()
	at := make([]int32, len(s.Stations))
	for j := range s.steps {
		if s.steps[j].Share == 0 {
			at[s.steps[j].Station] = int32(j)
		}
	}
	return at
}

// parted reports whether the way to station k from the one before is unknown.
// Nil working means that it is unknown when the bar worked.
func (s *splitter) parted(working []bool, at []int32, k int) bool {
	st := &s.Stations[k]
	if !st.Silent {
		return st.Fresh
	}
	return st.Fresh || working != nil && (!working[st.First-1] || !working[st.First]) || !stance.StraightOn(&s.steps[at[k-1]].Stance, &s.steps[at[k]].Stance)
}

// sights returns the stances from one step to another with their times; a
// machine that stands has two at its place.
func (s *splitter) sights(from, to int) []timedStance {
	out := make([]timedStance, 0, to-from+1)
	for j := from; j <= to; j++ {
		p := &s.steps[j]
		st := &s.Stations[p.Station]
		if p.Share > 0 {
			if next := &s.Stations[p.Station+1]; !next.Silent {
				t0, t1 := s.time(s.End(int(p.Station))-1), s.time(int(next.First))
				out = append(out, timedStance{at: t0 + geo.Instant(float64(t1-t0)*float64(p.Share)), stance: &p.Stance})
			}
			continue
		}
		out = append(out, timedStance{at: s.time(int(st.First)), stance: &p.Stance, silent: st.Silent && j > from})
		if end := s.End(int(p.Station)); end-int(st.First) > 1 {
			out = append(out, timedStance{at: s.time(end - 1), stance: &p.Stance})
		}
	}
	return out
}

// time returns when fix i was; where the log has no clock, a second after the
// one before.
func (s *splitter) time(i int) geo.Instant {
	if s.log.NoClock {
		return geo.Instant(i) * geo.Instant(time.Second)
	}
	return s.Fixes[i].Time
}

// follow goes along the sights and makes a pass wherever the ground is worked.
func (s *splitter) follow(sights []timedStance, moments []moment) {
	next := 0
	state := machine.StateID(0)
	take := func(at geo.Instant, where *stance.Stance, silent bool) {
		if n := len(s.pass.Poses); n > 0 && silent {
			s.pass.Poses[n-1].Silent = true
		}
		s.pose(Pose{Time: at, State: state}, where)
	}
	open := false
	for i := range sights {
		k := &sights[i]
		for ; next < len(moments) && moments[next].at <= k.at; next++ {
			m := &moments[next]
			where := *k.stance
			if i > 0 && m.at < k.at {
				where = amid(&sights[i-1], k, m.at)
			}
			was := open
			state, open = m.state, m.open
			if open || was {
				take(m.at, &where, was && k.silent)
			}
			if !open {
				s.end()
			}
		}
		if open && (next == 0 || moments[next-1].at < k.at) {
			take(k.at, k.stance, k.silent)
		}
	}
	s.end()
}

// amid returns the stance at a time between two sights.
func amid(a, b *timedStance, at geo.Instant) stance.Stance {
	return between(a, b, float64(at-a.at)/float64(b.at-a.at))
}

// between is the stance at a share of the way from one stance to the next.
func between(a, b *timedStance, t float64) stance.Stance {
	p, q := a.stance, b.stance
	return stance.Stance{
		X: p.X + t*(q.X-p.X), Y: p.Y + t*(q.Y-p.Y),
		Heading: p.Heading + plane.Angle(t)*p.Heading.To(q.Heading), Guess: p.Guess, Back: q.Back,
	}
}

// A delayer turns the times of switches into the times at which the ground is
// worked. Its parts of the bar are the largest that are only switched as a whole.
type delayer struct {
	on, off geo.Instant
	parts   []machine.Section
	works   [][]bool        // by state of the log: the parts it opens
	states  []machine.State // those of the log, then those that delays make of them
	ids     map[string]machine.StateID
	cut     int  // times the log ends before all product is on the ground
	late    bool // this has happened in the stretch at hand
}

func newGrounding(im *machine.Implement, states []machine.State) *delayer {
	g := &delayer{on: geo.Instant(im.OnDelay), off: geo.Instant(im.OffDelay), ids: map[string]machine.StateID{}}
	if g.states = slices.Clone(states); len(states) == 0 {
		g.states = []machine.State{nil}
	}
	var edges []plane.Length
	for i := range g.states {
		for _, part := range im.Open(g.states, machine.StateID(i)) {
			edges = append(edges, part.Left, part.Right)
		}
	}
	slices.Sort(edges)
	edges = slices.Compact(edges)
	for i := 1; i < len(edges); i++ {
		g.parts = append(g.parts, machine.Section{Left: edges[i-1], Right: edges[i]})
	}
	for i := range g.states {
		works := make([]bool, len(g.parts))
		for _, part := range im.Open(g.states, machine.StateID(i)) {
			for k, p := range g.parts {
				works[k] = works[k] || part.Left <= p.Left && p.Right <= part.Right
			}
		}
		g.works = append(g.works, works)
		if _, known := g.ids[keyOf(works)]; !known {
			g.ids[keyOf(works)] = machine.StateID(i)
		}
	}
	return g
}

// keyOf makes a key of which parts work.
func keyOf(works []bool) string {
	key := make([]byte, len(works))
	for i, is := range works {
		if is {
			key[i] = 1
		}
	}
	return string(key)
}

// A turning is a time at which a part of the bar begins or ceases to work the
// ground.
type turning struct {
	at   geo.Instant
	part int
	by   int // +1 begins, -1 ceases
}

// moments returns the states in which the ground is worked from the first fix up
// to end, with their times.
func (g *delayer) moments(s *splitter, working []bool, first, end int) []moment {
	var turns []turning
	since := make([]geo.Instant, len(g.parts))
	open := make([]bool, len(g.parts))
	last := s.Fixes[end-1].Time
	shut := func(part int, at geo.Instant) {
		open[part] = false
		if begin, cease := since[part]+g.on, at+g.off; begin < min(cease, last) {
			turns = append(turns, turning{begin, part, 1}, turning{min(cease, last), part, -1})
			if cease > last {
				g.late = true
			}
		}
	}
	for i := first; i < end; i++ {
		f := s.Fixes[i]
		if i > first && working[i] == working[i-1] && (!working[i] || f.State == s.Fixes[i-1].State) {
			continue
		}
		for part := range g.parts {
			switch is := working[i] && g.works[f.State][part]; {
			case is && !open[part]:
				open[part], since[part] = true, f.Time
			case !is && open[part] && working[i]:
				shut(part, f.Time)
			case !is && open[part]:
				shut(part, s.shutAt(i))
			}
		}
	}
	for part, is := range open {
		if is {
			shut(part, last)
		}
	}
	if g.late {
		g.cut, g.late = g.cut+1, false
	}
	return g.join(turns)
}

// join merges the turnings of all parts into moments, in order of time.
func (g *delayer) join(turns []turning) []moment {
	slices.SortFunc(turns, func(a, b turning) int { return cmp.Compare(a.at, b.at) })
	var out []moment
	count := make([]int, len(g.parts)) // a late shutting may outlast the next opening
	works := make([]bool, len(g.parts))
	for i, t := range turns {
		count[t.part] += t.by
		works[t.part] = count[t.part] > 0
		if i+1 < len(turns) && turns[i+1].at == t.at {
			continue
		}
		m := moment{at: t.at, open: slices.Contains(works, true)}
		m.state = g.stateOf(works)
		if n := len(out); n == 0 || out[n-1].state != m.state || out[n-1].open != m.open {
			out = append(out, m)
		}
	}
	return out
}

// stateOf returns the state in which some parts work, making it if need be.
func (g *delayer) stateOf(works []bool) machine.StateID {
	key := keyOf(works)
	if id, known := g.ids[key]; known || len(g.states) > math.MaxUint16 {
		return id
	}
	state := machine.State{}
	for k, p := range g.parts {
		switch n := len(state); {
		case !works[k]:
		case n > 0 && state[n-1].Right == p.Left:
			state[n-1].Right = p.Right
		default:
			state = append(state, p)
		}
	}
	id := machine.StateID(len(g.states))
	g.states, g.ids[key] = append(g.states, state), id
	return id
}
