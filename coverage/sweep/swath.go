package sweep

import (
	"slices"

	"lapwing/coverage/machine"
	"lapwing/coverage/stance"
	"lapwing/coverage/work"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// A Swath is the ground a pass covered in one visit: where its rings wind
// round more often anticlockwise than clockwise. They may cross and overlap;
// clockwise run those about ground that sections left out while they were shut.
type Swath struct {
	Pass     int // index into the passes
	Visit    int // 0 for the first
	Rings    []plane.Ring
	From, To plane.Distance // along the pass
	Dose     Dose           // the rate that the parts of the bar laid down
}

// A Silence is the straight swath between two poses where the log is silent
// while working.
type Silence struct {
	Pass  int // index into the passes
	Rings []plane.Ring
}

// Ground is what the bars swept: the swaths of the passes, in their order, and the
// silences.
type Ground struct {
	Passes   []work.Pass
	Swaths   []Swath
	Silences []Silence
}

// Sweep finds the ground that the bars swept, one swath a visit.
func Sweep(machines []machine.Machine, passes []work.Pass) Ground {
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
	im      *machine.Implement
	states  []machine.State
	whole   machine.State // all of the bar
	poses   []work.Pose
	bars    []stance.Bar    // the stances at the poses
	keep    []int32         // the poses that matter to the way of the bar's ends
	changes []int32         // the poses at which the open parts change
	reach   machine.Section // all that is open at some time

	some     []stance.Bar // of barsAt
	outliner outliner
}

// follow makes ready to sweep a pass.
func (s *sweeper) follow(p *work.Pass, machines []machine.Machine) {
	s.drives(p, machines)
	s.along(p.Poses)
	s.keep = work.Keep(s.poses, s.bars, s.im.Width/2, plane.Distance(Thin), s.keep)
}

// drives takes up the implement of a pass and the states of its sections.
func (s *sweeper) drives(p *work.Pass, machines []machine.Machine) {
	s.im, s.states = &machines[p.Machine].Implement, p.States
	s.whole = s.im.Whole()
}

// along takes up the poses to be swept: the bar's stances at them, where its open
// parts change, and how far these reach.
func (s *sweeper) along(poses []work.Pose) {
	s.poses, s.bars = poses, work.BarsOf(poses, s.bars)
	s.changes, s.reach = s.changes[:0], machine.Section{}
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
func (s *sweeper) open(pose int32) machine.State {
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

// barsAt returns the bar's stances at some of the poses. The slice is reused by
// the next call.
func (s *sweeper) barsAt(poses []int32) []stance.Bar {
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
				silence = stance.Strip(silence, s.barsAt(keep), part)
			}
			return
		}
		sw.Rings = s.rings(sw.Rings, keep)
		s.dose(&sw.Dose, keep)
	})
	return silence
}

// spells yields in turn the poses of keep up to where the log falls silent, and the
// two at the ends of the silence.
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
	return stance.TurnsLeft([4]plane.Point{a.End(s.reach.Right), b.End(s.reach.Right), b.End(s.reach.Left), a.End(s.reach.Left)})
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
			rings = stance.Strip(rings, bars, part)
		}
		i = j
	}
	return rings
}

// Thin is how far the straight edge of a swath may lie from the path that an
// end of the bar took. A pose is left out if both ends stay that near without
// it. On a straight pass nearly all are, so that a day's log makes thousands
// of edges and not hundreds of thousands.
//
// What it may do to an area: on noise the edge leaves the path to either side
// and nothing is gained or lost on average; on a steady turn of radius r the
// chord lies inside the arc of the bar's outer end, by 2/3 of Thin on average,
// and inside that of its inner end by (r - w/2)/(r + w/2) of it. What is lost
// along the one less what is gained along the other is 2/3 Thin × turn angle ×
// w × 2r/(r + w/2): 0.24 m² for a half turn of 18 m radius with a 16 m bar. In
// the worst case, all to one side, it is 5 mm along an edge: 0.03 % of a 16 m
// swath. Smaller, the noise that smoothing leaves (4 mm of the 2 cm of a good
// receiver) keeps every pose; larger, it shows beside the 2 cm.
const Thin = 5 * plane.Millimetre
