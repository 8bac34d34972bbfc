package stance

import (
	"math"
	"slices"

	"lapwing/coverage/machine"
	"lapwing/coverage/track"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Follower follows the bar of an implement while it is driven, place by place:
// where it is now, as far as can be told, and where it was some metres ago, as
// [Walk] has it once the whole path is known.
//
//	o--o--o--o--o--o--o--o--o--x   x: now, smoothed from one side
//	           |<- Baseline ->|
//	  settled  |  tells of now
//
// It is a push machine that asks no clock and keeps no more than the last metres.
type Follower struct {
	im *machine.Implement

	st      []track.Station // the last ones that continue from one another
	way     []float64       // m to each, since the last change of gear
	logged  []geo.Bearing   // at each; NaN where nothing says
	first   int32           // the number of the first of st
	settled int             // so many of st are settled
	whole   bool            // st begins where the path does
	back    bool            // in reverse
	worked  float64         // m driven at work since the last change of gear

	tow  tow         // at the last one that is settled
	last smoothed    // there
	slip plane.Angle // of the machine there
	has  bool        // there is one
	fit  slipFit     // of what is settled
	left []link      // of the tow, while it runs ahead

	out   []smoothed
	steps []Step
}

// NewFollower begins to follow an implement, of which nothing is known yet.
func NewFollower(im *machine.Implement) *Follower {
	return &Follower{im: im, tow: *newTow(im)}
}

// A Followed is what a place told.
type Followed struct {
	Now   Stance // of the bar
	Known bool   // the machine has moved far enough to say
	// Settled are the steps that are known for good, the oldest first. They are valid
	// until the next call. Step.Station counts the places that were told, from 0.
	Settled []Step
	// Ended says that what was told before does not continue: all of it is in Settled.
	Ended bool
}

// On takes the next place of the antenna, in metres. Heading is the logged one, NaN
// where there is none. Works says that the bar works there. Fresh says that the place does not continue from the one
// before, as after a silence.
func (f *Follower) On(x, y float64, heading geo.Bearing, works, fresh bool) Followed {
	f.steps = f.steps[:0]
	ended := false
	if fresh && len(f.st) > 0 {
		f.settle(len(f.st), f.reaches(len(f.st), true))
		f.forget(len(f.st))
		f.settled, f.back, f.worked = 0, false, 0
		ended = true
	}
	if len(f.st) == 0 {
		f.whole = true
	}
	f.add(x, y, heading)
	if n := len(f.st); works && n > 1 {
		f.worked += f.way[n-1] - f.way[n-2]
	}
	if turns := cusps(f.st, f.way); len(turns) > 0 {
		f.shift(turns[0])
	}
	f.settle(f.final(), f.reaches(len(f.st), false))
	now, known := f.peek()
	f.trim()
	return Followed{Now: now, Known: known, Settled: f.steps, Ended: ended}
}

// Peek is where the bar is if its antenna is at a place that is not to be remembered,
// such as one of a machine that stands.
func (f *Follower) Peek(x, y float64) (Stance, bool) {
	if len(f.st) == 0 {
		return Stance{}, false
	}
	f.add(x, y, geo.Bearing(math.NaN()))
	now, known := f.peek()
	n := len(f.st) - 1
	f.st, f.way, f.logged = f.st[:n], f.way[:n], f.logged[:n]
	return now, known
}

// Next is the number of the next place.
func (f *Follower) Next() int32 { return f.first + int32(len(f.st)) }

func (f *Follower) add(x, y float64, heading geo.Bearing) {
	way := 0.0
	if n := len(f.st); n > 0 {
		step := math.Hypot(x-f.st[n-1].X, y-f.st[n-1].Y)
		way = f.way[n-1] + step
	}
	f.st = append(f.st, track.Station{X: x, Y: y})
	f.way = append(f.way, way)
	f.logged = append(f.logged, heading)
}

// forget lets go of the first n places, which are settled.
func (f *Follower) forget(n int) {
	f.first += int32(n)
	f.st, f.way, f.logged = slices.Delete(f.st, 0, n), slices.Delete(f.way, 0, n), slices.Delete(f.logged, 0, n)
}

// shift begins anew at a cusp, where the machine changed gear: it is the last place of
// the one gear and the first of the other.
func (f *Follower) shift(at int) {
	f.settle(at+1, f.reaches(at+1, true))
	from := f.way[at]
	f.back = !f.back
	f.forget(at)
	for i := range f.way {
		f.way[i] -= from
	}
	f.settled, f.whole, f.worked = 1, true, 0
}

// final is how many places have a whole window, and so are settled.
func (f *Follower) final() int {
	n, i := len(f.st), f.settled
	for i < n && f.way[n-1]-f.way[i] >= Baseline {
		i++
	}
	return i
}

// reaches is how far smoothing reaches among the first n places; ends tells whether the
// path ends with the last of them.
func (f *Follower) reaches(n int, ends bool) windowing {
	r := windowing{way: f.way[:n]}
	if f.whole {
		r.begin = sided(f.st[:n], r.way, 1)
	}
	if ends {
		r.end = sided(f.st[:n], r.way, -1)
	}
	return r
}

// smooth finds the smoothed path at those of the first n places that are not settled.
func (f *Follower) smooth(n int, r windowing) {
	f.out = slices.Grow(f.out[:0], n)[:n]
	if len(r.way) == 1 {
		f.out[0] = smoothed{x: f.st[0].X, y: f.st[0].Y, tx: math.NaN(), ty: math.NaN()}
		return
	}
	if from := f.settled / renew * renew; from < n {
		smoothChunk(f.st[:len(r.way)], &r, func(i int) *smoothed { return &f.out[i] }, from, n)
	}
}

// settle follows the bar to the places that are new among the first n.
func (f *Follower) settle(n int, r windowing) {
	if n <= f.settled {
		return
	}
	f.smooth(n, r)
	f.follow(n)
}

// follow takes the bar along the smoothed path to place n - 1.
func (f *Follower) follow(n int) {
	for i := f.settled; i < n; i++ {
		here := f.faced(f.out[i])
		if s, ok := slipAt(&here, f.logged[i]); ok {
			f.fit.add(s)
		}
		s := f.step(i, &here)
		f.steps = append(f.steps, Step{Stance: s, Station: f.first + int32(i)})
	}
	f.settled = n
}

// step takes the bar to place i, adds the steps on the way there, and returns where the
// bar is then.
func (f *Follower) step(i int, here *smoothed) Stance {
	slip := slip{arm: f.fit.arm(f.im, f.fit.rest), quiet: slipQuiet}.at(here.curve)
	if i == 0 && f.has && !straight(&f.last, here) {
		f.tow.letGo()
	} else if i > 0 && f.has {
		f.steps = f.tow.between(f.steps, &f.last, here, f.slip, slip, f.first+int32(i)-1)
	}
	f.last, f.slip, f.has = *here, slip, true
	return f.tow.follow(here, slip)
}

// faced is a smoothed place with the machine's own direction.
func (f *Follower) faced(p smoothed) smoothed {
	switch {
	case math.IsNaN(p.tx) && f.has:
		p.tx, p.ty = f.last.tx, f.last.ty
	case math.IsNaN(p.tx):
		p.tx, p.ty = 0, 1
	case f.back:
		p.tx, p.ty = -p.tx, -p.ty
	}
	p.back = f.back
	return p
}

// peek is where the bar is at the last place, of which only one side is known.
func (f *Follower) peek() (Stance, bool) {
	n := len(f.st)
	r := f.reaches(n, true)
	r.end = max(r.end, f.alongStraight())
	f.smooth(n, r)
	ahead := f.out[f.settled:n]
	for i := range ahead { // which way it faces, only what is settled tells for good
		ahead[i] = f.faced(ahead[i])
	}
	f.left = append(f.left[:0], f.tow.links...)
	tow, last, slip, has, steps := f.tow, f.last, f.slip, f.has, len(f.steps)
	var now Stance
	for i := range ahead {
		now = f.step(f.settled+i, &ahead[i])
	}
	f.tow, f.last, f.slip, f.has, f.steps = tow, last, slip, has, f.steps[:steps]
	copy(f.tow.links, f.left)
	return now, !f.whole || f.way[n-1] >= leastMoved || f.has
}

// alongStraight is how far smoothing reaches from the last place where places are few, as
// at one fix a second, and the last of them lie on a line: 0 where they do not. Three
// places that a parabola goes through tell its direction at the last of them half as
// well as six on a line, and no window of few places tells by itself whether a longer
// one fits ([sided]).
func (f *Follower) alongStraight() float64 {
	n := len(f.st)
	if n < toTell {
		return 0
	}
	last, first := &f.st[n-1], &f.st[n-toTell]
	reach := f.way[n-1] - f.way[n-toTell]
	if reach <= oneSided*Baseline || reach > 2*longSided*Baseline {
		return 0
	}
	dx, dy := last.X-first.X, last.Y-first.Y
	off := straightOff * math.Hypot(dx, dy)
	for _, s := range f.st[n-toTell:] {
		if math.Abs((s.X-first.X)*dy-(s.Y-first.Y)*dx) > off {
			return 0
		}
	}
	const more = 1e-9 // m, so that the first of them has a weight
	return reach + more
}

// mostWorked is how far a machine works in reverse at most: who lowers the bar drives
// forward, and then the change of gear before was none. Judgement: longer, and the sides
// of the bar are changed on more of the way of a forage harvester (TestLawOnRealLogs,
// coverage/live); shorter, and a bar that is lowered before the machine has stopped
// counts. A whole log tells more: there the logged work is believed as far as
// mostBacked.
const mostWorked = 5.0 // m

// straightOff is how far off a line places may lie that are on one, in metres: the noise
// of a fixed position, and as much of steering. Judgement: over half as much a day at one
// fix a second misses its goal in TestAgreesWithTheMap (coverage/live), and twice as much
// costs real drivers at one fix a second a centimetre.
const straightOff = 0.03

// leastMoved is how far a machine has gone from a standstill when its direction can
// be told, in metres. Judgement: ten times what a fixed position is off by. No test of
// the package fails where it is halved or doubled.
const leastMoved = 0.3

// trim forgets what no window reaches any more.
func (f *Follower) trim() {
	n := len(f.st)
	if f.back && (f.way[n-1] > mostBacked || f.worked > mostWorked) {
		f.back = false
	}
	from := 0
	for from < f.settled-1 && f.way[n-1]-f.way[from] > (longSided*longerBy+2)*Baseline {
		from++
	}
	if from < 2*renew { // seldom, since all places move
		return
	}
	f.forget(from)
	f.settled -= from
	f.whole = false
}
