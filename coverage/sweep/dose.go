package sweep

import (
	"math"
	"slices"

	"lapwing/coverage/stance"
	"lapwing/geo/plane"
)

// A Dose is how the rate that each part of a bar laid down compares with its
// target. A metering system gives the whole bar what the speed of its centre
// asks for, so in a turn
//
//	rate = target × speed of the centre / speed of the part
//
// with speeds square to the bar: in a turn of radius R about a bar of width w
// from target × R / (R + w/2) at the outer end to target × R / (R - w/2) at the
// inner one. Where the inner end stands or runs backward there is no rate to
// speak of: that ground is kept apart. Each visit counts by itself, on the
// ground as thinned for the swath, whatever other visits lie there too.
//
// The mean of the rate over the ground of a bar that is open throughout is
// exactly the target: what a turn puts down too thick on its inner side, it puts
// down too thin on its outer side. The mean over the bar's parts is not.
type Dose struct {
	// Ground is the m² at each class of the rate, bounded by [DoseBounds]:
	// Ground[i] lies from DoseBounds[i-1] up to DoseBounds[i].
	Ground [len(DoseBounds) + 1]float64
	// Reversing is the m² that a part of the bar covered while it, or the
	// bar's centre, went backward.
	Reversing float64
	// Product is Σ rate × ground in m² at the target, without Reversing.
	Product float64
	// Least and Most are the rates of the ends of the bar, as a share of the
	// target; zero where nothing was swept.
	Least, Most float64
}

// DoseBounds are the bounds of the classes of rate, as shares of the target.
// OnTarget is the class between 0.9 and 1.1: within 10 % of the target, as
// Luck, Pitla, Zandonadi, Sama and Shearer, Precision Agriculture 12(4):534-545
// (2011), count ground that turns leave off rate.
var DoseBounds = [6]float64{0.5, 0.7, thinBound, thickBound, 1.5, 2}

// thinBound and thickBound are the shares of the target outside which a rate is off
// it: see [DoseBounds].
const thinBound, thickBound = 0.9, 1.1

// OnTarget is the index of the class within 10 % of the target.
const OnTarget = 3

// Total is all ground, in m².
func (d *Dose) Total() float64 {
	sum := d.Reversing
	for _, g := range d.Ground {
		sum += g
	}
	return sum
}

// OffTarget is the ground more than 10 % off the target, in m², Reversing
// among it.
func (d *Dose) OffTarget() float64 { return d.Total() - d.Ground[OnTarget] }

// dose adds what a part of a visit laid down, whose poses that matter are keep.
//
// Between two stances with unit vectors e0 and e1 along the bar, whose centre
// moves by c, the part at offset u travels c + u (e1 - e0). Square to the
// bar's middle stance that is its way a - b u, with a = (e0 + e1)/2 × c and
// b = e1 × e0. The integral of the way over u is exactly the area of the quad that
// the bar sweeps. All parts take the same time, so that the rate at u, inversely
// proportional to the part's speed, is a / (a - b u) of the target. Where sections
// open and shut on the way, each counts by its share of it.
func (s *sweeper) dose(d *Dose, keep []int32) {
	steps(s.barsAt(keep), func(i, j int, a, b float64) {
		from, to := keep[i], keep[j]
		for changes := s.changesIn(from, to); ; changes = changes[1:] {
			next := to
			if len(changes) > 0 {
				next = changes[0]
			}
			share := s.share(from, next, keep[i], to)
			for _, part := range s.open(from) {
				d.sweep(a*share, b*share, part.Left.Metres(), part.Right.Metres())
			}
			if from = next; from == to {
				return
			}
		}
	})
}

// share returns how much of the way from one pose to another lies between two
// on it.
func (s *sweeper) share(a, b, from, to int32) float64 {
	if way := s.poses[to].Along - s.poses[from].Along; way > 0 {
		return float64((s.poses[b].Along - s.poses[a].Along) / way)
	}
	return float64(b-a) / float64(to-from)
}

// steps yields the pairs of stances that rates are taken from, with a and b of
// the part's way a - b u between them.
//
// Stances nearer to each other than doseTravel are taken together: what the
// heading does in between is mostly noise.
func steps(bars []stance.Bar, yield func(i, j int, a, b float64)) {
	near := func(p, q *stance.Bar) bool {
		x, y := float64(p.At.X-q.At.X), float64(p.At.Y-q.At.Y)
		return x*x+y*y < float64(doseTravel)*float64(doseTravel) && math.Abs(q.Sin*p.Cos-q.Cos*p.Sin) < doseTurn
	}
	from, last := 0, len(bars)-1
	for i := 1; i <= last; i++ {
		p, q := &bars[from], &bars[i]
		if i < last && (near(p, q) || near(q, &bars[last])) {
			continue
		}
		cx, cy := (q.At.X - p.At.X).Metres(), (q.At.Y - p.At.Y).Metres()
		b := q.Sin*p.Cos - q.Cos*p.Sin
		// A bar with heading h lies along (cos h, -sin h), left to right.
		ex, ey := (p.Cos+q.Cos)/2, -(p.Sin+q.Sin)/2
		yield(from, i, ex*cy-ey*cx, b)
		from = i
	}
}

// How far a bar travels at least, and how much it turns at most (as a sine),
// between the stances that its ends' speeds are taken from. The heading is
// smoothed over twice [stance.Baseline], so that a shorter way shows its noise; a
// turn cut in chords of 0.2 rad loses 0.7 % of its ground to the segments beside
// them. No test holds either closely.
const (
	doseTravel = plane.Length(2 * stance.Baseline * float64(plane.Metre))
	doseTurn   = 0.2
)

// sweep adds the ground of the parts from left to right (m from the centre)
// whose ways are a - b u.
func (d *Dose) sweep(a, b, left, right float64) {
	way := func(u float64) float64 { return a - b*u }
	// The ground from u to v is the trapezoid under the way.
	ground := func(u, v float64) float64 { return (way(u) + way(v)) / 2 * (v - u) }
	if a <= 0 { // the whole bar backs up, or its centre stands while an end swings
		d.Reversing += reversed(way(left), way(right), ground(left, right), b)
		return
	}
	// The offset at which the rate, a / way, equals a bound.
	at := func(bound float64) float64 { return (a - a/bound) / b }
	if b == 0 || math.Abs(b)*max(math.Abs(left), math.Abs(right)) < a*nearlyStraight {
		d.Ground[OnTarget] += ground(left, right)
		d.Product += a * (right - left)
		d.end(1)
		return
	}
	// On a gentle curve, as nearly everywhere, both ends are on target, and so
	// is all of the bar between them.
	atLeft, atRight := a/way(left), a/way(right) // the rates there
	if min(atLeft, atRight) > thinBound && max(atLeft, atRight) < thickBound {
		d.Ground[OnTarget] += ground(left, right)
		d.Product += a * (right - left)
		d.end(atLeft)
		d.end(atRight)
		return
	}
	lo, hi := left, right // the parts that go forward
	if still := a / b; still > left && still < right {
		if b > 0 {
			d.Reversing += -ground(still, right)
			hi = still
		} else {
			d.Reversing += -ground(left, still)
			lo = still
		}
	} else if way(left) <= 0 && way(right) <= 0 {
		d.Reversing += -ground(left, right)
		return
	}
	d.Product += a * (hi - lo)
	if lo == left { // otherwise the bar stands there and has no rate
		d.end(a / way(lo))
	}
	if hi == right {
		d.end(a / way(hi))
	}
	// Along the bar toward the inner end the rate rises through the bounds.
	from := lo
	step := func(i int, to float64) {
		to = min(max(to, from), hi)
		d.Ground[i] += ground(from, to)
		from = to
	}
	if b > 0 { // the inner end is on the right
		for i, bound := range DoseBounds {
			step(i, at(bound))
		}
		step(len(DoseBounds), hi)
		return
	}
	for i, bound := range slices.Backward(DoseBounds[:]) {
		step(i+1, at(bound))
	}
	step(0, hi)
}

// nearlyStraight is the change of rate along the bar, as a share of the target,
// below which all of the bar is on target: no class boundary lies that near. It
// keeps b out of a denominator; no test holds its size.
const nearlyStraight = 1e-6

// reversed is the m² that a bar backing up covers: where it turns about a place on
// itself, on both sides of that.
func reversed(atLeft, atRight, net, b float64) float64 {
	if atLeft*atRight >= 0 || b == 0 {
		return math.Abs(net)
	}
	return (atLeft*atLeft + atRight*atRight) / 2 / math.Abs(b)
}

// end takes the rate at an end of a stretch into account.
func (d *Dose) end(rate float64) {
	if d.Least == 0 || rate < d.Least {
		d.Least = rate
	}
	d.Most = max(d.Most, rate)
}

// Add adds the ground of another.
func (d *Dose) Add(o *Dose) {
	for i, g := range o.Ground {
		d.Ground[i] += g
	}
	d.Reversing += o.Reversing
	d.Product += o.Product
	if o.Most > 0 {
		d.end(o.Least)
		d.end(o.Most)
	}
}
