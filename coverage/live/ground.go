package live

import (
	"math"

	"lapwing/coverage/beside"
	"lapwing/coverage/stance"
	"lapwing/coverage/work"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// settled adds the steps of a machine that will not change any more to its passes.
func (e *Engine) settled(m *mach, f *stance.Followed) {
	first := m.follower.Next() - int32(len(m.pending))
	for i := range f.Settled {
		s := &f.Settled[i]
		at := int(s.Station - first)
		if at < 0 || at >= len(m.pending) {
			continue // the follower tells the place where a machine changed gear twice
		}
		here := m.pending[at]
		if s.Share > 0 && at+1 < len(m.pending) { // on the way to the next place
			if !m.pending[at+1].works {
				continue
			}
			here.time += geo.Instant(float64(m.pending[at+1].time-here.time) * float64(s.Share))
		}
		e.step(m, &s.Stance, here)
	}
	if f.Ended {
		m.lift()
		m.atOK = false
	}
	if n := len(f.Settled); n > 0 {
		if drop := int(f.Settled[n-1].Station - first); drop > 0 && drop <= len(m.pending) {
			m.pending = m.pending[:copy(m.pending, m.pending[drop:])]
		}
	}
}

// step moves the settled bar of a machine.
func (e *Engine) step(m *mach, s *stance.Stance, l barThen) {
	was, had := m.at, m.atOK
	length := 0.0
	if had {
		length = math.Hypot(s.X-was.X, s.Y-was.Y)
	}
	m.at, m.atOK = *s, true
	if !l.works {
		m.lift()
		return
	}
	bar := s.Bar()
	pose := work.Pose{Time: l.time, Bar: bar.At, Heading: s.Heading, State: l.state}
	if !m.going {
		m.passes = append(m.passes, &driven{Pass: work.Pass{Machine: m.index, Start: l.time}, index: -1})
		m.going, had = true, false
	}
	p := m.passes[len(m.passes)-1]
	more := p.push(pose, plane.DistanceOf(length), had)
	p.States = m.states
	if p.index < 0 {
		p.index = e.near.Add(&p.Pass)
	}
	e.near.Extend(p.index)
	left, right, width := m.open(l.state)
	m.bars.paint(bar.End(left), bar.End(right), l.time, !had, more)
	if !had || width == 0 {
		return
	}
	for k := range m.filled {
		m.filled[k] += length * width.Metres()
	}
	e.left.work(bar, left, right, length)
	e.edge.work(bar, left, right, length)
}

// push adds a pose, step from the one before. Where the last pose lies on a straight way to
// it the new one takes its place. It reports whether there is one pose more.
func (p *driven) push(pose work.Pose, step plane.Distance, on bool) bool {
	n := len(p.Poses)
	if on && n > 0 {
		p.Length += step
	}
	pose.Along = p.Length
	p.End = pose.Time
	if n >= 2 {
		kept, last := &p.Poses[n-2], &p.Poses[n-1]
		if !kept.Silent && !last.Silent && !pose.Silent && last.State == kept.State && last.State == pose.State && (pose.Along-kept.Along).Metres() < dropSpacing &&
			kept.Heading.To(pose.Heading).Abs() < dropTurn {
			*last = pose
			return false
		}
	}
	p.Poses = append(p.Poses, pose)
	return true
}

// lift ends the pass of a machine.
func (m *mach) lift() {
	if !m.going {
		return
	}
	m.going = false
	if n := len(m.passes); len(m.passes[n-1].Poses) < 2 && m.passes[n-1].index < 0 {
		m.passes = m.passes[:n-1]
	}
}

// since drops what was driven up to a time, which is in an answer and its neighbourhood,
// and adds to that neighbourhood what was driven later.
func (m *mach) since(cut geo.Instant, n *beside.Neighbourhood, exact int) {
	kept := m.passes[:0]
	m.begun, m.before = -1, 0
	for i, p := range m.passes {
		goes := m.going && i == len(m.passes)-1
		if p.End <= cut && !goes {
			continue
		}
		if p.Start <= cut {
			from := 0
			for from+1 < len(p.Poses) && p.Poses[from+1].Time <= cut {
				from++
			}
			along := p.Poses[from].Along
			poses := append([]work.Pose(nil), p.Poses[from:]...)
			for k := range poses {
				poses[k].Along -= along
			}
			if len(kept) == 0 {
				m.begun, m.before = m.ownOf(n, exact, p.Start)
			}
			p.Poses, p.Length = poses, p.Length-along
		}
		p.Machine = m.index
		p.index = n.Add(&p.Pass)
		n.Extend(p.index)
		kept = append(kept, p)
	}
	m.passes = kept
}

// ownOf finds the pass of an answer of which a pass that began at a time is the rest, and
// how long it is in the answer.
func (m *mach) ownOf(n *beside.Neighbourhood, exact int, begun geo.Instant) (int, plane.Distance) {
	best := -1
	for i := range exact {
		if p := n.Of(i); p.Machine == m.index && p.End >= begun && (best < 0 || p.End > n.Of(best).End) {
			best = i
		}
	}
	if best < 0 {
		return -1, 0
	}
	return best, n.Of(best).Length
}

// A Bar is where the working part of a bar was, from its left end to its right, in
// metres east and north of the field's centre.
type Bar struct {
	LeftX, LeftY, RightX, RightY float32
	Begins                       bool // the ground from the bar before to this one was not worked
	time                         geo.Instant
}

// painted is the ground of a machine that no answer has yet, as it is drawn: bars of
// which only the last one still moves.
type painted struct {
	bars  []Bar
	first int         // the number of the first of bars: an answer has the ground of so many
	cut   geo.Instant // the answer has the ground up to this time
}

// paint adds a bar to the drawing, or moves the last one.
func (p *painted) paint(left, right plane.Point, at geo.Instant, begins, more bool) {
	b := Bar{float32(left.X.Metres()), float32(left.Y.Metres()), float32(right.X.Metres()), float32(right.Y.Metres()), begins, at}
	if n := len(p.bars); n > 0 && !begins && (!more || at <= p.cut) {
		b.Begins = p.bars[n-1].Begins
		p.bars[n-1] = b
		return
	}
	p.bars = append(p.bars, b)
}

// since drops the bars whose ground is in an answer that goes up to a time. The last of
// them stays where ground goes on from it.
func (p *painted) since(cut geo.Instant) {
	n := 0
	for n < len(p.bars) && p.bars[n].time <= cut {
		n++
	}
	if n > 0 && (n == len(p.bars) || !p.bars[n].Begins) {
		n-- // the last one may still move, or the next goes on from it
	}
	p.first, p.cut = p.first+n, cut
	p.bars = append([]Bar(nil), p.bars[n:]...)
}
