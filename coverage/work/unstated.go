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

// What working looks like from how a machine moves, in figures: judgement, no
// source. TestInferredOtherWork and TestOnlyWorking (package coverage) show what they do:
// the first fails where tightTurn or tightest is doubled. TestSamplesBetweenFixesAtOneTime
// fails where sampleStep is halved or doubled. No test of this package fails where one of
// the others is; TestLabelling tells how near to the truth each change comes.
const (
	slowestWork = 0.3 // m/s; a crawl
	fastestWork = 9.0 // m/s; a sprayer
	hurried     = 1.6 // times the usual speed, and more than steady: road travel
	steady      = 6.0 // m/s

	// tightTurn is the radius, in working widths, below which a bar is lifted;
	// headland corners are wider. tightest is its least in metres.
	tightTurn = 0.75
	tightest  = 6.0
	// softTurn is the radius, in working widths, of a bend that may part one
	// leg from the next, if it turns by more than parting.
	softTurn = 3.0
	parting  = 60 * math.Pi / 180
	turnedBy = 120 * math.Pi / 180 // from one pass to the next
	// A bend of less than slightBy is followed with the bar down however tight, as
	// the edge of a slough is; one of less than cornerBy, if it is no tighter than
	// tightTurn as a whole. A bend within turnNear of a turn is a part of that turn.
	slightBy = 45 * math.Pi / 180
	cornerBy = 100 * math.Pi / 180
	turnNear = 3.0 // m

	sampleStep = 0.5 // m between samples of the bar, at most
	mostSteps  = 400 // samples between two fixes: farther apart, interpolation means nothing
	bendBase   = 1.5 // m either way over which a bend is measured

	// A log that records only work has at least quietTurns silences shorter than
	// longQuiet, and quietTimes as many as turns.
	quietTurns = 8
	quietTimes = 3
	longQuiet  = 10 * time.Minute
)

// An unstated track is a track without a logged working state, whose working stretches are
// worked out.
type unstated struct {
	*splitter
	im       *machine.Implement
	onlyWork bool // the log is silent where nothing is worked
	parts    [][]timedStance
	samples  [][]sample // of each part
	spells   []openSpell
	judged   []Judgement // of its way, in order
}

// A sample is one of the bar's stance, about one for each sampleStep of way.
type sample struct {
	timedStance
	step float64 // m from the sample before
	turn float64 // rad/m, of the bar
	idle bool    // the bar does not work: it turns too hard, goes too fast or backs up
}

func (w *sample) bar() stance.Bar { return w.stance.Bar() }

func (s *timedStance) pose() Pose {
	return Pose{Time: s.at, Bar: plane.Point{X: plane.Metres(s.stance.X), Y: plane.Metres(s.stance.Y)}, Heading: s.stance.Heading}
}

// A leg is a stretch of the way from one turn to the next, or from one bend.
type leg struct {
	by            *unstated
	part          int // index into its parts
	first         int // index of its first sample into those of the part
	samples       []sample
	bend          bool        // the machine turns round in it
	before, after *leg        // those between the same two turns; nil: a turn
	run           float64     // m between the two turns, without bends
	headland      bool        // it lies along the boundary
	rank          int         // when it is looked at
	sides         []side      // where the bar is at each sample
	spells        []openSpell // taken on it

	travel  stretches // known not to be work
	forGood stretches // of travel, what is that even if its ground stays bare
	back    stretches // was taken for travel once before, and then for work again
}

// Stretches are samples of a leg, from each first one to its last.
type stretches [][2]int

func (s stretches) has(i int) bool {
	return slices.ContainsFunc(s, func(t [2]int) bool { return t[0] <= i && i <= t[1] })
}

// over tells of each of n samples whether it is in one of the stretches.
func (s stretches) over(n int) []bool {
	out := make([]bool, n)
	for _, t := range s {
		for i := t[0]; i <= t[1]; i++ {
			out[i] = true
		}
	}
	return out
}

// without returns the stretches without some samples.
func (s stretches) without(from, to int) (out stretches) {
	for _, t := range s {
		if t[0] < from {
			out = append(out, [2]int{t[0], min(t[1], from-1)})
		}
		if t[1] > to {
			out = append(out, [2]int{max(t[0], to+1), t[1]})
		}
	}
	return out
}

// leave notes that samples are travel, for good those that were taken back before.
func (r *leg) leave(from, to int) {
	r.travel = append(r.travel, [2]int{from, to})
	for _, b := range r.back {
		if b[0] <= to && b[1] >= from {
			r.forGood = append(r.forGood, [2]int{max(b[0], from), min(b[1], to)})
		}
	}
}

// way returns how many metres a leg goes.
func (r *leg) way() (sum float64) {
	for i := range r.samples {
		sum += r.samples[i].step
	}
	return sum
}

// An openSpell is a time in which the bar works.
type openSpell struct {
	leg              *leg
	begin, end       int // the first and the last of its samples
	from, to         timedStance
	fromTurn, toTurn bool // it begins or ends with the leg, and not by the ground
	fromOpen         bool // nor does worked ground lie before it
}

// poses are those of the bar at the ends of a spell, and at the samples between.
func (s *openSpell) poses() []Pose {
	out := []Pose{s.from.pose()}
	for i := s.begin; i <= s.end; i++ {
		if w := &s.leg.samples[i]; w.at > s.from.at && w.at < s.to.at {
			out = append(out, w.pose())
		}
	}
	return append(out, s.to.pose())
}

// look cuts the way into legs.
func (l *unstated) look() []*leg {
	at := l.stepOf()
	quiet, turns := 0, 0
	var parts [][]sample
	for k := 0; k < len(l.Stations); {
		next := k + 1
		for next < len(l.Stations) && !l.parted(nil, at, next) {
			next++
		}
		sights := l.sights(int(at[k]), int(at[next-1]))
		l.parts = append(l.parts, sights)
		parts = append(parts, samplesOf(sights, mostSteps*(next-k)))
		if next < len(l.Stations) && !l.Stations[next].Fresh && l.gap(next) < longQuiet {
			quiet++
		}
		k = next
	}
	l.samples = parts
	usual := usualSpeed(parts)
	for _, p := range parts {
		l.judge(p, usual)
		turns += countTurns(p)
	}
	l.onlyWork = !l.log.NoClock && quiet >= quietTurns && quiet >= quietTimes*turns
	var legs []*leg
	for i, p := range parts {
		legs = append(legs, l.legs(i, p)...)
	}
	return legs
}

// gap returns the time before a station.
func (l *unstated) gap(station int) time.Duration {
	i := l.Stations[station].First
	return l.Fixes[i].Time.Sub(l.Fixes[i-1].Time)
}

// samplesOf samples the bar at every sight and about every sampleStep between them,
// with at most most samples between sights.
func samplesOf(sights []timedStance, most int) []sample {
	away := func(i int) float64 {
		a, b := sights[i-1].stance, sights[i].stance
		return math.Hypot(b.X-a.X, b.Y-a.Y)
	}
	steps := func(i int, every float64) int { return max(1, min(mostSteps, int(math.Ceil(away(i)/every)))) }
	every, count := sampleStep, 0
	for i := 1; i < len(sights); i++ {
		count += steps(i, every)
	}
	if count > most { // many sights from one fix to the next, hundreds of metres long
		every *= float64(count) / float64(most)
	}
	out := make([]sample, 0, min(count, most)+len(sights))
	for i := range sights {
		s := sights[i]
		d := 0.0
		if i > 0 {
			last := &sights[i-1]
			d = away(i)
			n := steps(i, every)
			for k := 1; k < n; k++ {
				t := float64(k) / float64(n) // of the way, not of the time: two fixes may have one time
				at := last.at + geo.Instant(float64(s.at-last.at)*t)
				st := between(last, &s, t)
				out = append(out, sample{timedStance: timedStance{at: at, stance: &st}, step: d / float64(n)})
			}
			d /= float64(n)
		}
		out = append(out, sample{timedStance: s, step: d})
	}
	return out
}

// usualSpeed returns the speed at which half of the way is driven; 0 where
// there is no way or no clock.
func usualSpeed(parts [][]sample) float64 {
	var speeds []float64
	for _, p := range parts {
		for i := 1; i < len(p); i++ {
			if dt := p[i].at.Sub(p[i-1].at).Seconds(); dt > 0 && p[i].step >= slowestWork*dt {
				speeds = append(speeds, p[i].step/dt)
			}
		}
	}
	if len(speeds) == 0 {
		return 0
	}
	slices.Sort(speeds)
	return speeds[len(speeds)/2]
}

// judge fills in the turn of each sample of a part, and whether it is idle.
func (l *unstated) judge(p []sample, usual float64) {
	tight := max(tightest, tightTurn*l.im.Width.Metres())
	fastest := min(fastestWork, max(steady, hurried*usual))
	along := make([]float64, len(p))
	for i := 1; i < len(p); i++ {
		along[i] = along[i-1] + p[i].step
	}
	a, b := 0, 0
	for i := range p {
		for a < i && along[i]-along[a+1] >= bendBase {
			a++
		}
		for b < len(p)-1 && (b < i || along[b]-along[i] < bendBase) {
			b++
		}
		d := along[b] - along[a]
		if d > 0.1 {
			p[i].turn = float64(p[a].stance.Heading.To(p[b].stance.Heading)) / d
		}
		p[i].idle = math.Abs(p[i].turn) > 1/tight
	}
	l.followBends(p, along, tight)
	a, b = 0, 0
	for i := range p {
		for a < i && along[i]-along[a+1] >= bendBase {
			a++
		}
		for b < len(p)-1 && (b < i || along[b]-along[i] < bendBase) {
			b++
		}
		if dt := p[b].at.Sub(p[a].at).Seconds(); !l.log.NoClock && dt > 0 && along[b]-along[a] > fastest*dt || p[i].stance.Back {
			p[i].idle = true
		}
	}
}

// followBends clears idle on bends that crews follow with the bar down: a gentle
// corner as a whole, and a hard turn by a slight angle.
func (l *unstated) followBends(p []sample, along []float64, tight float64) {
	soft := 1 / (softTurn * l.im.Width.Metres())
	follow(p, along, func(w *sample) bool { return math.Abs(w.turn) > soft }, func(by, way float64) bool {
		return by < slightBy || by < cornerBy && by*tight < way
	})
	follow(p, along, func(w *sample) bool { return w.idle }, func(by, _ float64) bool { return by < slightBy })
}

// follow clears idle on the bends that followed accepts, by their angle and
// length, unless a bend that it rejects, a real turn, is within turnNear.
func follow(p []sample, along []float64, is func(*sample) bool, followed func(by, way float64) bool) {
	type bend struct {
		from, to int
		followed bool
	}
	var bends []bend
	eachBend(p, is, func(from, to int, by float64) {
		bends = append(bends, bend{from, to, followed(math.Abs(by), along[to-1]-along[max(0, from-1)])})
	})
	turns := func(i, k int) bool {
		return k >= 0 && k < len(bends) && !bends[k].followed &&
			along[bends[max(i, k)].from]-along[bends[min(i, k)].to-1] < turnNear
	}
	for i, b := range bends {
		if b.followed && !turns(i, i-1) && !turns(i, i+1) {
			for k := b.from; k < b.to; k++ {
				p[k].idle = false
			}
		}
	}
}

// countTurns counts the idle bends of more than turnedBy: turns from one pass to
// the next.
func countTurns(p []sample) int {
	n := 0
	eachBend(p, func(w *sample) bool { return w.idle }, func(_, _ int, by float64) {
		if math.Abs(by) > turnedBy {
			n++
		}
	})
	return n
}

// eachBend calls f for each unbroken stretch of samples for which is holds, with
// the angle by which the bar turns on it.
func eachBend(p []sample, is func(*sample) bool, f func(from, to int, by float64)) {
	for i := 0; i < len(p); {
		if !is(&p[i]) {
			i++
			continue
		}
		j, by := i, 0.0
		for ; j < len(p) && is(&p[j]); j++ {
			by += p[j].turn * p[j].step
		}
		f(i, j, by)
		i = j
	}
}

// legs cuts a part at idle samples, before and after the other bends of more than cornerBy, and
// in the middle of those of more than parting.
func (l *unstated) legs(part int, p []sample) []*leg {
	if l.onlyWork {
		out := []*leg{{by: l, part: part, samples: p}}
		join(out)
		return out
	}
	soft := 1 / (softTurn * l.im.Width.Metres())
	var cuts []int // rising
	bends := map[int]bool{}
	eachBend(p, func(w *sample) bool { return math.Abs(w.turn) > soft && !w.idle }, func(from, to int, by float64) {
		switch {
		case math.Abs(by) > cornerBy:
			bends[from] = true
			cuts = append(cuts, from)
			if to < len(p) {
				cuts = append(cuts, to)
			}
		case math.Abs(by) > parting:
			cuts = append(cuts, (from+to)/2)
		}
	})
	cutAt := func(j int) bool {
		_, is := slices.BinarySearch(cuts, j)
		return is
	}
	var out []*leg
	first := 0
	for i := 0; i < len(p); {
		j := i + 1
		for j < len(p) && p[j].idle == p[i].idle && (p[i].idle || !cutAt(j)) {
			j++
		}
		if !p[i].idle {
			if i == 0 || p[i-1].idle {
				first = len(out)
			}
			end := j
			if j < len(p) && !p[j].idle { // cut in a bend: both have the place
				end++
			}
			if end-i > 1 {
				out = append(out, &leg{by: l, part: part, first: i, samples: p[i:end], bend: bends[i]})
			}
			if j == len(p) || p[j].idle {
				join(out[first:])
			}
		}
		i = j
	}
	return out
}

// cutAt returns the parts of a leg, cut at samples, rising, that both parts have.
func (r *leg) cutAt(cuts []int) []*leg {
	if len(cuts) == 0 {
		return []*leg{r}
	}
	var parts []*leg
	from := 0
	for _, to := range append(cuts, len(r.samples)-1) {
		parts = append(parts, &leg{by: r.by, part: r.part, first: r.first + from, samples: r.samples[from : to+1], run: r.run})
		from = to
	}
	for k := 1; k < len(parts); k++ {
		parts[k].before, parts[k-1].after = parts[k-1], parts[k]
	}
	first, last := parts[0], parts[len(parts)-1]
	if first.before = r.before; r.before != nil {
		r.before.after = first
	}
	if last.after = r.after; r.after != nil {
		r.after.before = last
	}
	return parts
}

// join notes of legs that no turn is between them.
func join(run []*leg) {
	way := 0.0
	for k, r := range run {
		if !r.bend {
			way += r.way()
		}
		if k > 0 {
			r.before, run[k-1].after = run[k-1], r
		}
	}
	for _, r := range run {
		r.run = way
	}
}

// split makes passes of the spells in which the bar worked.
func (l *unstated) split() {
	slices.SortFunc(l.spells, func(a, b openSpell) int {
		return cmp.Or(cmp.Compare(a.leg.part, b.leg.part), cmp.Compare(a.from.at, b.from.at))
	})
	next, fix := 0, 0
	for i, sights := range l.parts {
		var moments []moment
		for ; next < len(l.spells) && l.spells[next].leg.part == i; next++ {
			s := &l.spells[next]
			if n := len(moments); n > 0 && moments[n-1].at >= s.from.at {
				moments = moments[:n-1] // the spell before runs on into this one
			}
			for fix < len(l.Fixes) && l.time(fix) < s.from.at {
				fix++
			}
			state := l.Fixes[max(0, fix-1)].State
			if fix < len(l.Fixes) && l.time(fix) == s.from.at {
				state = l.Fixes[fix].State
			}
			moments = append(moments, l.moment(s.from.at, state))
			for ; fix < len(l.Fixes) && l.time(fix) < s.to.at; fix++ {
				if m := l.moment(l.time(fix), l.Fixes[fix].State); m.state != moments[len(moments)-1].state {
					moments = append(moments, m)
				}
			}
			moments = append(moments, moment{at: s.to.at})
		}
		l.follow(sights, moments)
	}
	if l.log.NoClock {
		for i := range l.passes {
			p := &l.passes[i]
			for k := range p.Poses {
				p.Poses[k].Time = 0
			}
			p.Start, p.End = 0, 0
		}
	}
}

// moment is the state of the bar from a time on.
func (l *unstated) moment(at geo.Instant, state machine.StateID) moment {
	s := l.log.States[state]
	return moment{at: at, state: state, open: s == nil || len(s) > 0}
}
