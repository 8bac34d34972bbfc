package coverage

import (
	"slices"

	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// A Swath is the ground a pass covered in one visit: where its rings wind
// round more often anticlockwise than clockwise. They may cross and overlap;
// clockwise run those about ground that sections left out while they were shut.
type Swath struct {
	Pass     int // index into Map.Passes
	Visit    int // 0 for the first
	Rings    []plane.Ring
	From, To float64 // ticks along the pass
	Dose     Dose    // the rate that the parts of the bar laid down
}

// A Silence is the straight swath between two poses where the log is silent
// while working.
type Silence struct {
	Pass  int // index into Map.Passes
	Rings []plane.Ring
}

// Ground is what Sweep leaves: the swaths of the passes, and the silences.
type Ground struct {
	Passes   []Pass
	Swaths   []Swath
	Silences []Silence
}

// Sweep finds the ground that the bars swept, one swath a visit.
func Sweep(passes []Pass, machines []Machine) Ground {
	type result struct {
		swaths  []Swath
		silence []plane.Ring
	}
	results := make([]result, len(passes))
	parallel.EachWith(len(passes), func(i int, s *sweeper) {
		r := &results[i]
		s.follow(&passes[i], machines)
		r.swaths, r.silence = s.sweepPass(i)
	})
	g := Ground{Passes: passes}
	for i, r := range results {
		g.Swaths = append(g.Swaths, r.swaths...)
		if len(r.silence) > 0 {
			g.Silences = append(g.Silences, Silence{i, r.silence})
		}
	}
	return g
}

// sweepPass finds the swaths of the pass, which is that of an index, and the
// ground of its silences.
func (s *sweeper) sweepPass(index int) ([]Swath, []plane.Ring) {
	poses, keep, parts := cutByVisit(s.poses, s.bars, s.keep, s.im.Width)
	if len(poses) != len(s.poses) {
		s.along(poses)
	}
	s.keep = keep
	var swaths []Swath
	var silence []plane.Ring
	for _, part := range parts {
		if int(part.visit) == len(swaths) {
			swaths = append(swaths, Swath{Pass: index, Visit: int(part.visit), From: poses[part.from].Along})
		}
		sw := &swaths[part.visit]
		if int(part.visit) == len(swaths)-1 { // else it meets again what it has met
			sw.To = poses[part.to].Along
		}
		silence = s.sweep(sw, silence, part.of(keep))
	}
	return slices.DeleteFunc(swaths, func(sw Swath) bool { return len(sw.Rings) == 0 }), silence
}

// A sweeper follows the bar along one pass after another.
type sweeper struct {
	im      *Implement
	states  []State
	whole   State // all of the bar
	poses   []Pose
	bars    []bar   // the stances at the poses
	keep    []int32 // the poses that matter to the way of the bar's ends
	changes []int32 // the poses at which the open parts change
	reach   Section // all that is open at some time

	some     []bar // of barsAt
	outliner outliner
}

// follow turns to a pass.
func (s *sweeper) follow(p *Pass, machines []Machine) {
	s.drives(p, machines)
	s.along(p.Poses)
	s.keep = thin(s.poses, s.bars, s.im.Width/2, float64(Thin), s.keep)
}

// drives takes up what drives a pass.
func (s *sweeper) drives(p *Pass, machines []Machine) {
	s.im, s.states = &machines[p.Machine].Implement, p.States(machines)
	s.whole = stretches(s.im, nil, 0)
}

// along makes the sweeper go from one of some poses to the next.
func (s *sweeper) along(poses []Pose) {
	s.poses, s.bars = poses, barsOf(poses, s.bars)
	s.changes, s.reach = s.changes[:0], Section{}
	for i := range s.poses {
		if i > 0 {
			if s.poses[i].State == s.poses[i-1].State {
				continue
			}
			s.changes = append(s.changes, int32(i))
		}
		if open := s.open(int32(i)); len(open) > 0 {
			s.reach.Left = min(s.reach.Left, open[0].Left)
			s.reach.Right = max(s.reach.Right, open[len(open)-1].Right)
		}
	}
}

// open returns the parts of the bar that work from a pose on.
func (s *sweeper) open(pose int32) State {
	if id := int(s.poses[pose].State); id < len(s.states) && s.states[id] != nil {
		return s.states[id]
	}
	return s.whole
}

// changesIn returns the poses between two at which the open parts change.
func (s *sweeper) changesIn(from, to int32) []int32 {
	i, _ := slices.BinarySearch(s.changes, from+1)
	j, _ := slices.BinarySearch(s.changes, to)
	return s.changes[i:max(i, j)]
}

// barsAt returns the bar's stances at some of the poses, until it is asked
// again.
func (s *sweeper) barsAt(poses []int32) []bar {
	s.some = s.some[:0]
	for _, k := range poses {
		s.some = append(s.some, s.bars[k])
	}
	return s.some
}

// merged returns the poses that are in either of two lists, in their order.
func merged(a, b []int32) []int32 {
	missing := func(pose int32) bool { _, in := slices.BinarySearch(a, pose); return !in }
	if !slices.ContainsFunc(b, missing) {
		return a
	}
	out := slices.Concat(a, b)
	slices.Sort(out)
	return slices.Compact(out)
}

// sweep adds what a visit swept, whose poses that matter are keep, to its
// swath, and what it may have swept while the log was silent to silence.
func (s *sweeper) sweep(sw *Swath, silence []plane.Ring, keep []int32) []plane.Ring {
	s.spells(keep, func(keep []int32, silent bool) {
		if silent {
			for _, part := range s.open(keep[0]) {
				silence = strip(silence, s.barsAt(keep), part)
			}
			return
		}
		sw.Rings = s.rings(sw.Rings, keep)
		s.dose(&sw.Dose, keep)
	})
	return silence
}

// spells yields the poses of keep up to where the log falls silent, and those
// at either end of the silence, and so on.
func (s *sweeper) spells(keep []int32, yield func(keep []int32, silent bool)) {
	for i, last := 0, len(keep)-1; i < last; {
		j := i + 1
		silent := s.poses[keep[i]].Silent
		for !silent && j < last && !s.poses[keep[j]].Silent {
			j++
		}
		yield(keep[i:j+1], silent)
		i = j
	}
}

// rings adds rings over what was swept while the log was not silent. Where the
// whole bar goes ahead they are outlines, however the sections open and shut.
func (s *sweeper) rings(rings []plane.Ring, keep []int32) []plane.Ring {
	last := len(keep) - 1
	for i := 0; i < last; {
		j, ahead := i+1, s.goesAhead(keep[i], keep[i+1])
		for j < last && s.goesAhead(keep[j], keep[j+1]) == ahead {
			j++
		}
		if ahead {
			rings = s.outline(rings, keep[i:j+1])
		} else {
			rings = s.pivot(rings, keep[i:j+1])
		}
		i = j
	}
	return rings
}

// goesAhead reports whether all parts of the bar go forward from one pose to
// another: what it sweeps then turns left at every corner.
func (s *sweeper) goesAhead(from, to int32) bool {
	a, b := &s.bars[from], &s.bars[to]
	return turnsLeft([4]plane.Point{a.end(s.reach.Right), b.end(s.reach.Right), b.end(s.reach.Left), a.end(s.reach.Left)})
}

// pivot adds rings over what each part of the bar swept for as long as no
// section opened or shut.
func (s *sweeper) pivot(rings []plane.Ring, keep []int32) []plane.Ring {
	poses := merged(keep, s.changesIn(keep[0], keep[len(keep)-1]))
	for i, last := 0, len(poses)-1; i < last; {
		j := i + 1
		for j < last && s.poses[poses[j]].State == s.poses[poses[i]].State {
			j++
		}
		bars := s.barsAt(poses[i : j+1])
		for _, part := range s.open(poses[i]) {
			rings = strip(rings, bars, part)
		}
		i = j
	}
	return rings
}

// stretches returns the parts of the bar that work in a state.
func stretches(im *Implement, states []State, id StateID) State {
	if int(id) < len(states) && states[id] != nil {
		return states[id]
	}
	return State{{im.Sections[0].Left, im.Sections[len(im.Sections)-1].Right}}
}

// strip adds the ground that a stretch of the bar swept to rings.
//
// Between two stances a stretch sweeps a quad. Quads that follow one another
// and run anticlockwise are one ring, along the right edge and back along the
// left:
//
//	l0---l1---l2---l3
//	|    |    |    |   -->
//	r0---r1---r2---r3
//
// Its winding number at any place is the number of quads over it. Where an
// end of the stretch stands still or goes backward the quad would count
// against that ground: it is made into rings of its own that run the right way.
func strip(rings []plane.Ring, bars []bar, s Section) []plane.Ring {
	left, right := make([]plane.Point, len(bars)), make([]plane.Point, len(bars))
	for i, b := range bars {
		left[i], right[i] = b.end(s.Left), b.end(s.Right)
	}
	from := 0
	flush := func(to int) {
		if to > from {
			r := make(plane.Ring, 0, 2*(to-from+1))
			for _, p := range right[from : to+1] {
				r = appendNew(r, p)
			}
			for i := to; i >= from; i-- {
				r = appendNew(r, left[i])
			}
			if len(r) > 2 {
				rings = append(rings, r)
			}
		}
	}
	for i := 1; i < len(bars); i++ {
		q := [4]plane.Point{right[i-1], right[i], left[i], left[i-1]}
		if turnsLeft(q) {
			continue
		}
		flush(i - 1)
		rings = append(rings, positive(q)...)
		from = i
	}
	flush(len(bars) - 1)
	return rings
}

// appendNew adds p to r unless it is where r ends.
func appendNew(r plane.Ring, p plane.Point) plane.Ring {
	if n := len(r); n > 0 && r[n-1] == p {
		return r
	}
	return append(r, p)
}

// turnsLeft reports whether the quad turns left at every corner: it is convex
// and runs anticlockwise.
func turnsLeft(q [4]plane.Point) bool {
	for i := range q {
		if plane.Side(q[i], q[(i+1)%4], q[(i+2)%4]) != plane.Left {
			return false
		}
	}
	return true
}

// positive returns anticlockwise rings over the ground of the quad from r0 to
// r1 to l1 to l0 that a stretch of the bar sweeps from r0 l0 to r1 l1.
//
//	l1        l0      the bar turns about a point of its own:
//	  `.    .'        two triangles that meet where its two
//	    `.x'          stances cross
//	    .' `.
//	  r0     r1
func positive(q [4]plane.Point) []plane.Ring {
	r0, r1, l1, l0 := q[0], q[1], q[2], q[3]
	var out []plane.Ring
	add := func(a, b, c plane.Point) {
		switch plane.Side(a, b, c) {
		case plane.Left:
			out = append(out, plane.Ring{a, b, c})
		case plane.Right:
			out = append(out, plane.Ring{a, c, b})
		}
	}
	opposite := func(a, b, c, d plane.Point) bool { return plane.Side(a, b, c)*plane.Side(a, b, d) < 0 }
	if opposite(r0, l0, r1, l1) && opposite(r1, l1, r0, l0) {
		x := meeting(r0, l0, r1, l1)
		add(r0, r1, x)
		add(l0, l1, x)
		return out
	}
	if opposite(r0, r1, l0, l1) && opposite(l0, l1, r0, r1) { // its ends' ways cross
		x := meeting(r0, r1, l0, l1)
		add(r0, l0, x)
		add(r1, l1, x)
		return out
	}
	// A quad that does not cross itself is two triangles either side of a
	// diagonal that lies in it: one that has the other corners on either side,
	// or any if it has no area there.
	if opposite(r1, l0, r0, l1) {
		add(r0, r1, l0)
		add(r1, l1, l0)
	} else {
		add(r0, r1, l1)
		add(r0, l1, l0)
	}
	return out
}

// meeting returns the tick nearest to where ab and cd cross.
func meeting(a, b, c, d plane.Point) plane.Point {
	t := float64(plane.Cross(c, d, a))
	t /= t - float64(plane.Cross(c, d, b))
	return plane.Point{
		X: a.X + plane.Round(t*float64(b.X-a.X)),
		Y: a.Y + plane.Round(t*float64(b.Y-a.Y)),
	}
}
