package coverage

import (
	"cmp"
	"math"
	"slices"

	"lapwing/geo"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// A Pass is one unbroken working stretch of one machine.
//
// Measure numbers the passes of a field from 1 in the order they began, ties
// by machine name.
type Pass struct {
	ID       int
	Machine  int // index into the machines
	Track    int // index into the machine's tracks
	Headland bool
	Poses    []Pose

	Start, End geo.Instant
	Length     float64 // ticks, along the path of the bar's centre

	During Spell       // what the time from Start to End went into
	Before Spell       // and that since After
	After  geo.Instant // the end of the pass before on the track; 0 for the first

	Swept   plane.Area // of its swaths, inside the field and out
	New     plane.Area // inside, not covered by a visit that started earlier
	Overlap plane.Area // inside, covered by an earlier visit too
	inZone  plane.Area // of Swept, in the headland zone

	states []State     // what the poses' states mean; nil: as in the track
	rates  [][]float32 // of each product at each pose, see Track.Rates; nil where the log tells of none
}

// States returns what the states of the poses of p mean: [Pose.State] is an
// index into them.
func (p *Pass) States(machines []Machine) []State {
	if p.states != nil {
		return p.states
	}
	return machines[p.Machine].Tracks[p.Track].States
}

// agree is how far the chord of a silence and the headings at its ends may
// differ for the machine to have gone straight on.
const agree = 30 * math.Pi / 180

// Split finds the passes: the poses of the bar wherever it was working.
func Split(field Field, machines []Machine, opt Options) ([]Pass, []Warning) {
	var tracks []Track
	var whose []Pass // a template for each track
	for m := range machines {
		logs, of := joined(machines[m].Tracks)
		tracks = append(tracks, logs...)
		for i := range logs {
			p := Pass{Machine: m, Track: of[i]}
			if logs[i].files != nil {
				p.states = logs[i].States
			}
			whose = append(whose, p)
		}
	}
	passes := make([][]Pass, len(tracks))
	warnings := make([][]Warning, len(tracks))
	lookouts := make([][]*lookout, len(tracks)) // where the log does not say when the bar worked
	parallel.Each(len(tracks), func(i int) {
		t, m := &tracks[i], &machines[whose[i].Machine]
		cleaned, notes := t.clean(&field.Frame, opt.Shift)
		warnings[i] = notes
		for k := range cleaned {
			s := cleaned[k].splitter(t, m, whose[i], &opt)
			if !s.logged {
				lookouts[i] = append(lookouts[i], &lookout{splitter: s, track: t, machine: m})
				continue
			}
			s.split(t, &m.Implement)
			passes[i], warnings[i] = append(passes[i], s.passes...), append(warnings[i], s.warnings(t)...)
		}
	})
	if watched := slices.Concat(lookouts...); len(watched) > 0 {
		inferWork(&field, machines, watched, slices.Concat(passes...), &opt)
		for i := range lookouts {
			for _, l := range lookouts[i] {
				l.split()
				if l.clock {
					l.timePasses(l.passes)
				}
				passes[i], warnings[i] = append(passes[i], l.passes...), append(append(warnings[i], l.tell()), l.warnings(l.track)...)
			}
		}
	}
	all, notes := slices.Concat(passes...), slices.Concat(warnings...)
	slices.SortStableFunc(all, func(a, b Pass) int {
		return cmp.Or(
			cmp.Compare(a.Start, b.Start),
			cmp.Compare(machines[a.Machine].Name, machines[b.Machine].Name),
			cmp.Compare(a.End, b.End),
			cmp.Compare(a.Poses[0].Bar.X, b.Poses[0].Bar.X),
			cmp.Compare(a.Poses[0].Bar.Y, b.Poses[0].Bar.Y),
		)
	})
	for i := range all {
		all[i].ID = i + 1
	}
	return all, notes
}

// chunk is how many of a row of things one processor takes at a time: a
// multiple of what smoothing counts by, and long enough to be worth handing out.
const chunk = 64 * renew

// splitter follows the bar along the cleaned fixes of a track; pass is what
// its passes have in common.
func (c *cleaned) splitter(t *Track, m *Machine, pass Pass, opt *Options) *splitter {
	if !t.NoClock {
		c.markSilences(opt)
	}
	w := newWalk(&m.Implement, c.stations, smooth(c.stations), c.heading)
	c.heading = nil // a long log has better use for the room
	return &splitter{
		cleaned: c, walk: w, clock: !t.NoClock, logged: t.WorkingLogged && m.Working == Logged,
		pass: pass, rates: t.Rates, towed: m.Implement.Towed,
	}
}

// split finds the passes where the log says that the bar works.
func (s *splitter) split(t *Track, im *Implement) {
	working := make([]bool, len(s.fixes))
	for i, f := range s.fixes {
		working[i] = f.Working && (t.States[f.State] == nil || len(t.States[f.State]) > 0)
	}
	if s.clock && (im.OnDelay != 0 || im.OffDelay != 0) {
		s.runDelayed(working, im, t.States)
	} else {
		s.run(working)
	}
	if s.clock {
		s.timePasses(s.passes)
	}
}

// warnings says what was left out.
func (s *splitter) warnings(t *Track) (out []Warning) {
	if s.cutShort > 0 {
		out = append(out, Warning{File: t.File, Count: s.cutShort,
			Text: "the log ends or falls silent before the last product is on the ground; that ground is left out"})
	}
	if s.guessed > 0 {
		out = append(out, Warning{File: t.File, Count: s.guessed,
			Text: "a pass begins before the towed bar was pulled in line, where the log begins or was silent; it is taken to be in line with the travel"})
	}
	if s.backed > 0 {
		text := "the log says that the bar works while the machine backs up; that is believed, though no log of positions says whether the bar was in the ground"
		if s.towed {
			text += ", and how a towed bar stood while it was pushed is a guess"
		}
		out = append(out, Warning{File: t.File, Count: s.backed, Text: text})
	}
	if s.alone > 0 {
		out = append(out, Warning{File: t.File, Count: s.alone, Text: "a single working fix sweeps no ground"})
	}
	return out
}

// A splitter goes along a cleaned track and cuts it into passes.
type splitter struct {
	*cleaned
	walk     *walk
	logged   bool // the log itself says where the machine worked
	clock    bool
	passes   []Pass
	alone    int  // passes of a single fix
	cutShort int  // times the log ends before the product reached the ground
	guess    bool // of the pass being made
	guessed  int  // passes that begin where nobody knows how a towed bar stood
	towed    bool
	reverse  float64 // ticks that the bar has gone in reverse without a break
	backed   int     // times it did so for longer than anyone wanders

	pass  Pass   // the one being made, or a template; the room of its poses is used again
	steps []step // see run, and stepOf

	rates [][]float32 // of the track
}

// run makes a pass of every unbroken stretch of working fixes.
//
// A pass reaches from its first working fix to its last: the ground up to the
// next fix, which was no longer working, is not claimed. But a log that notes
// a switch at the moment it happens, off its usual beat, has told when work
// ended: the pass runs on to that fix. Within a pass what the sections do
// holds until the next fix.
func (s *splitter) run(working []bool) {
	var last stance // at the station before
	for i := range s.fixes {
		if !working[i] && (len(s.pass.Poses) == 0 || !s.promptly(i)) {
			s.end()
			continue
		}
		k := s.of[i]
		for s.walk.next <= int(k) {
			if n := len(s.steps); n > 0 {
				last = s.steps[n-1].stance
			}
			s.steps = s.walk.on(s.steps[:0]) // from one station to the next
		}
		between := s.steps[:len(s.steps)-1]
		at := &s.steps[len(between)]
		n := len(s.pass.Poses)
		if n == 0 {
			s.add(i, at)
			continue
		}
		before := s.of[i-1]
		if before == k { // standing
			s.pass.Poses[n-1].State = s.fixes[i].State
			s.pass.Poses[n-1].Time = s.fixes[i].Time
			continue
		}
		switch {
		case s.stations[k].fresh:
			s.end()
		case s.stations[k].silent:
			if !straightOn(&last, &at.stance) {
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

// prompt is the part of the usual interval within which a fix comes early: it
// was written because something was switched. Clocks that tick in whole
// tenths make regular fixes come early by less.
const prompt = 0.75

// promptly reports whether fix i, the first that no longer works, was written
// when work ended. What is usual is asked of the last fixes at work: three
// intervals at least.
func (s *splitter) promptly(i int) bool {
	if !s.clock || !s.logged || s.stations[s.of[i]].fresh || s.of[i] == s.of[i-1] {
		return false
	}
	after := s.fixes[i].Time.Sub(s.fixes[i-1].Time)
	from := i - 1
	for from > 0 && i-1-from < around && s.fixes[from-1].Working && !s.stations[s.of[from]].fresh {
		from--
	}
	if after <= 0 || i-1-from < 3 {
		return false
	}
	return float64(after) < prompt*float64(s.ticks().usual(from+1, i))
}

// shutAt returns when work ended that fix i no longer does.
func (s *splitter) shutAt(i int) geo.Instant {
	if s.promptly(i) {
		return s.fixes[i].Time
	}
	return s.fixes[i-1].Time
}

// straightOn reports whether the bar went straight from one stance to another
// while the log was silent.
func straightOn(from, to *stance) bool {
	dx, dy := to.x-from.x, to.y-from.y
	if math.Hypot(dx, dy) < 1 {
		return true // it stood; there is no ground in between to speak of
	}
	chord := math.Atan2(dx, dy)
	return math.Abs(math.Remainder(chord-from.heading, 2*math.Pi)) <= agree &&
		math.Abs(math.Remainder(chord-to.heading, 2*math.Pi)) <= agree
}

// add takes the pose at fix i into the pass.
func (s *splitter) add(i int, at *step) {
	s.pose(Pose{Time: s.fixes[i].Time, State: s.fixes[i].State}, &at.stance)
}

// addBetween takes a pose on the way from fix i to the next into the pass.
func (s *splitter) addBetween(i int, at *step) {
	t0, t1 := s.fixes[i].Time, s.fixes[i+1].Time
	s.pose(Pose{Time: t0 + geo.Instant(float64(t1-t0)*float64(at.share)), State: s.fixes[i].State}, &at.stance)
}

func (s *splitter) pose(p Pose, at *stance) {
	p.Bar = plane.Point{X: plane.Metres(at.x), Y: plane.Metres(at.y)}
	p.Heading = at.heading
	if n := len(s.pass.Poses); n == 0 {
		s.guess, s.reverse = at.guess, 0
	} else {
		step := plane.Distance(s.pass.Poses[n-1].Bar, p.Bar)
		p.Along = s.pass.Poses[n-1].Along + step
		s.backsUp(at.back, step)
	}
	s.pass.Poses = append(s.pass.Poses, p)
}

// backsUp notes a step of the bar at work, in reverse or not.
func (s *splitter) backsUp(back bool, step float64) {
	before := s.reverse
	if s.reverse += step; !back {
		s.reverse = 0
	}
	const least = leastBacked * float64(plane.Metre)
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
		done.Poses = slices.Clone(p.Poses)
		done.Start, done.End = p.Poses[0].Time, p.Poses[n-1].Time
		done.Length = p.Poses[n-1].Along
		done.rates = s.ratesAt(done.Poses)
		s.passes = append(s.passes, done)
	}
	p.Poses = p.Poses[:0]
}
