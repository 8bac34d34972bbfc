package work

import (
	"cmp"
	"slices"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/stance"
	"lapwing/coverage/track"
	"lapwing/geo"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// A Pass is one unbroken working stretch of one machine.
type Pass struct {
	Machine int  // index into the machines
	Track   int  // index into the machine's tracks
	NoClock bool // the log has no times, so those of the pass mean nothing
	Poses   []Pose
	States  []machine.State // what the poses' states mean: [Pose.State] is an index into it
	Rates   [][]float32     // of each product at each pose, see [machine.Track.Rates]; nil where the log tells of none

	Start, End geo.Instant
	Length     plane.Distance // along the path of the bar's centre

	During track.Spell // what the time from Start to End went into
	Before track.Spell // and that since After
	After  geo.Instant // the end of the pass before on the track; 0 for the first
}

// Split finds the passes along walks: the poses of the bar wherever it was
// working, in the order they began, ties by machine name. Of logs that do not say when the
// bar was working come judgements, in order. The warnings are by log.
func Split(land *field.Field, machines []machine.Machine, logs []track.Log, walks [][]*stance.Walk, opt *field.Options) (_ []Pass, judged []Judgement, _ [][]field.Warning) {
	passes := make([][]Pass, len(logs))
	warnings := make([][]field.Warning, len(logs))
	unclear := make([][]*unstated, len(logs)) // where the log does not say when the bar worked
	parallel.Each(len(logs), func(i int) {
		l := &logs[i]
		im := &machines[l.Machine].Implement
		for _, w := range walks[i] {
			s := newSplitter(l, im, w)
			if !l.TellsWork {
				unclear[i] = append(unclear[i], &unstated{splitter: s, im: im})
				continue
			}
			s.split(im)
			passes[i], warnings[i] = append(passes[i], s.passes...), append(warnings[i], s.warnings()...)
		}
		passes[i], warnings[i] = withoutFast(l, passes[i], warnings[i])
	})
	if all := slices.Concat(unclear...); len(all) > 0 {
		inferWork(land, machines, all, slices.Concat(passes...), opt)
		for i := range unclear {
			for _, l := range unclear[i] {
				l.split()
				judged = append(judged, l.judged...)
				if !l.log.NoClock {
					timePasses(l.Path, l.log.Away, l.passes)
				}
				passes[i], warnings[i] = append(passes[i], l.passes...), append(append(warnings[i], l.tell()), l.splitter.warnings()...)
			}
			if len(unclear[i]) > 0 {
				passes[i], warnings[i] = withoutFast(&logs[i], passes[i], warnings[i])
			}
		}
	}
	all := slices.Concat(passes...)
	slices.SortStableFunc(all, func(a, b Pass) int {
		return cmp.Or(
			cmp.Compare(a.Start, b.Start),
			cmp.Compare(machines[a.Machine].Name, machines[b.Machine].Name),
			cmp.Compare(a.End, b.End),
			cmp.Compare(a.Poses[0].Bar.X, b.Poses[0].Bar.X),
			cmp.Compare(a.Poses[0].Bar.Y, b.Poses[0].Bar.Y),
		)
	})
	return all, judged, warnings
}

// timePasses fills in what the time of each pass, and that since the pass
// before it on the track, went into. Passes are in order; one may begin or end
// between two fixes.
func timePasses(path *track.Path, away []geo.Instant, passes []Pass) {
	next := 0 // the step, from fix next to the one after, to begin with
	for k := range passes {
		p := &passes[k]
		if k > 0 {
			p.After = passes[k-1].End
			for ; len(away) > 0 && away[0] <= p.Start; away = away[1:] {
				p.After = max(p.After, away[0])
			}
			p.Before, next = path.Spell(next, p.After, p.Start)
		} else {
			next, _ = slices.BinarySearchFunc(path.Fixes, p.Start, func(f track.Fix, t geo.Instant) int { return cmp.Compare(f.Time, t) })
			next = max(0, next-1)
		}
		p.During, next = path.Spell(next, p.Start, p.End)
	}
}

// split finds the passes where the log says that the bar works.
func (s *splitter) split(im *machine.Implement) {
	states := s.log.States
	working := make([]bool, len(s.Fixes))
	for i, f := range s.Fixes {
		working[i] = f.Working && (states[f.State] == nil || len(states[f.State]) > 0)
	}
	if !s.log.NoClock && (im.OnDelay != 0 || im.OffDelay != 0) {
		s.delayedPasses(working, im, states)
	} else {
		s.passesOf(working, im)
	}
	if !s.log.NoClock {
		timePasses(s.Path, s.log.Away, s.passes)
	}
}

// warnings says what was left out.
func (s *splitter) warnings() (out []field.Warning) {
	if s.cutShort > 0 {
		out = append(out, field.Warning{File: s.log.File, Count: s.cutShort,
			Text: "the log ends or falls silent before the last product is on the ground; that ground is left out"})
	}
	if s.guessed > 0 {
		out = append(out, field.Warning{File: s.log.File, Count: s.guessed,
			Text: "a pass begins before the towed bar was pulled in line, where the log begins or was silent; it is taken to be in line with the travel"})
	}
	if s.backed > 0 {
		text := "the log says that the bar works while the machine backs up; that is believed, though no log of positions says whether the bar was in the ground"
		if s.towed {
			text += ", and how a towed bar stood while it was pushed is a guess"
		}
		out = append(out, field.Warning{File: s.log.File, Count: s.backed, Text: text})
	}
	if s.alone > 0 {
		out = append(out, field.Warning{File: s.log.File, Count: s.alone, Text: "a single working fix sweeps no ground"})
	}
	return out
}

// A splitter goes along a walk and cuts it into passes.
type splitter struct {
	*stance.Walk
	log      *track.Log
	passes   []Pass
	alone    int  // passes of a single fix
	cutShort int  // times the log ends before all product is on the ground
	guess    bool // of the pass being made
	guessed  int  // passes that begin before a towed bar was pulled in line
	towed    bool
	reverse  plane.Distance // that the bar has gone in reverse without a break
	backed   int            // times it did so for leastBacked or more

	pass  Pass          // the one being made; where it has room for all, its Poses are a part of that, else they are reused for the next
	room  bool          // for the poses of all passes
	steps []stance.Step // see passesOf, and stepOf
}

// newSplitter makes the splitter of one walk of a log.
func newSplitter(l *track.Log, im *machine.Implement, w *stance.Walk) *splitter {
	return &splitter{
		Walk: w, log: l, towed: im.Towed,
		pass: Pass{Machine: l.Machine, Track: l.First, NoClock: l.NoClock, States: l.States},
	}
}

// passesOf makes a pass of every unbroken stretch of working fixes.
//
// A pass reaches from its first working fix to its last: the ground up to the
// next fix, which was no longer working, is not claimed. But where a log writes
// an extra fix at the moment of a switch, off its usual interval, the pass runs on
// to that fix. Within a pass the state of the sections holds until the next fix.
//
// Where the bar is rigid, stretches are looked at side by side.
func (s *splitter) passesOf(working []bool, im *machine.Implement) {
	if !s.Rigid() {
		s.passesWithin(working, 0, len(working))
		return
	}
	cuts := s.cuts(working)
	for k, part := range parallel.Ahead(len(cuts)-1, 1, func(k int) *splitter {
		part := newSplitter(s.log, im, s.From(int(s.Of[cuts[k]])))
		part.passesWithin(working, cuts[k], cuts[k+1])
		return part
	}) {
		s.take(part)
		s.Forget(int(s.Of[cuts[k+1]-1]))
	}
}

// cuts are the fixes at which a stretch ends and another begins, first and last among
// them: the bar works neither there nor at the fix before. A stretch is worth handing out.
func (s *splitter) cuts(working []bool) []int {
	cuts := []int{0}
	for i := parallel.AtOnce; i < len(working); i++ {
		if !working[i] && !working[i-1] {
			cuts = append(cuts, i)
			i += parallel.AtOnce - 1
		}
	}
	return append(cuts, len(working))
}

// take adds the passes of a later part of the walk.
func (s *splitter) take(part *splitter) {
	s.passes = append(s.passes, part.passes...)
	s.alone += part.alone
	s.guessed += part.guessed
	s.backed += part.backed
}

// passesWithin is passesOf for the fixes from ≤ i < to, where no pass is under way.
func (s *splitter) passesWithin(working []bool, from, to int) {
	poses := 0
	for _, is := range working[from:to] {
		if is {
			poses++
		}
	}
	s.pass.Poses, s.room = make([]Pose, 0, poses), true // a few more in bends make new room
	var last stance.Stance                              // at the station before
	for i := from; i < to; i++ {
		if !working[i] && (len(s.pass.Poses) == 0 || !s.promptly(i)) {
			s.end()
			continue
		}
		k := s.Of[i]
		for s.Next() <= int(k) {
			if n := len(s.steps); n > 0 {
				last = s.steps[n-1].Stance
			}
			s.steps = s.On(s.steps[:0]) // from one station to the next
		}
		between := s.steps[:len(s.steps)-1]
		at := &s.steps[len(between)]
		n := len(s.pass.Poses)
		if n == 0 {
			s.add(i, at)
			continue
		}
		before := s.Of[i-1]
		if before == k { // standing
			s.pass.Poses[n-1].State = s.Fixes[i].State
			s.pass.Poses[n-1].Time = s.Fixes[i].Time
			continue
		}
		switch {
		case s.Stations[k].Fresh:
			s.end()
		case s.Stations[k].Silent:
			if !stance.StraightOn(&last, &at.Stance) {
				s.end()
			} else {
				s.pass.Poses[n-1].Silent = true
			}
		default:
			for j := range between {
				s.addBetween(i-1, &between[j])
			}
		}
		s.add(i, at)
		if !working[i] {
			s.end()
		}
	}
	s.end()
}

// leastBacked is how far a bar goes in reverse before a warning says so: farther than
// a fix wanders about a machine that stands. Judgement; no test of the package fails
// where it is halved or doubled.
const leastBacked = 1.0 // m

// A fix that comes within prompt of the usual interval was written because something
// was switched: TestSwitchOffNotedAtOnce. Clocks that tick in whole tenths make
// regular fixes early by less. promptLeast is how many intervals tell the usual one:
// judgement, no test holds it closely.
const (
	prompt      = 0.75
	promptLeast = 3
)

// promptly reports whether fix i, the first that no longer works, was written
// when work ended: sooner after the fix before than the last fixes at work were.
func (s *splitter) promptly(i int) bool {
	if s.log.NoClock || !s.log.TellsWork || s.Stations[s.Of[i]].Fresh || s.Of[i] == s.Of[i-1] {
		return false
	}
	after := s.Fixes[i].Time.Sub(s.Fixes[i-1].Time)
	from := i - 1
	for from > 0 && i-1-from < track.Around && s.Fixes[from-1].Working && !s.Stations[s.Of[from]].Fresh {
		from--
	}
	if after <= 0 || i-1-from < promptLeast {
		return false
	}
	return float64(after) < prompt*float64(s.Beat().Usual(from+1, i))
}

// shutAt returns when work ended, where fix i is the first that does not work.
func (s *splitter) shutAt(i int) geo.Instant {
	if s.promptly(i) {
		return s.Fixes[i].Time
	}
	return s.Fixes[i-1].Time
}

// add takes the pose at fix i into the pass.
func (s *splitter) add(i int, at *stance.Step) {
	s.pose(Pose{Time: s.Fixes[i].Time, State: s.Fixes[i].State}, &at.Stance)
}

// addBetween takes a pose on the way from fix i to the next into the pass.
func (s *splitter) addBetween(i int, at *stance.Step) {
	t0, t1 := s.Fixes[i].Time, s.Fixes[i+1].Time
	s.pose(Pose{Time: t0 + geo.Instant(float64(t1-t0)*float64(at.Share)), State: s.Fixes[i].State}, &at.Stance)
}

func (s *splitter) pose(p Pose, at *stance.Stance) {
	p.Bar = plane.Point{X: plane.Metres(at.X), Y: plane.Metres(at.Y)}
	p.Heading = at.Heading
	if n := len(s.pass.Poses); n == 0 {
		s.guess, s.reverse = at.Guess, 0
	} else {
		step := s.pass.Poses[n-1].Bar.Distance(p.Bar)
		p.Along = s.pass.Poses[n-1].Along + step
		s.backsUp(at.Back, step)
	}
	s.pass.Poses = append(s.pass.Poses, p)
}

// backsUp notes a step of the bar at work, in reverse or not.
func (s *splitter) backsUp(back bool, step plane.Distance) {
	before := s.reverse
	if s.reverse += step; !back {
		s.reverse = 0
	}
	const least = leastBacked * plane.Distance(plane.Metre)
	if before < least && s.reverse >= least {
		s.backed++
	}
}

// end closes the pass being made.
func (s *splitter) end() {
	p := &s.pass
	switch n := len(p.Poses); {
	case n == 0:
		return
	case n == 1:
		s.alone++
	default:
		done := *p
		if s.guess {
			s.guessed++
		}
		if s.room {
			done.Poses, p.Poses = p.Poses[:n:n], p.Poses[n:]
		} else {
			done.Poses = slices.Clone(p.Poses)
		}
		done.Start, done.End = done.Poses[0].Time, done.Poses[n-1].Time
		done.Length = done.Poses[n-1].Along
		done.Rates = s.ratesAt(done.Poses)
		s.passes = append(s.passes, done)
	}
	p.Poses = p.Poses[:0]
}
