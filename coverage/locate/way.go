// Package locate finds places along passes: how far along the bar's way a place lies, and
// how far beside it (station and offset).
package locate

import (
	"math"

	"lapwing/coverage/machine"
	"lapwing/coverage/work"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// A Way is the path of a pass's bar, made ready to find places along it: the
// bar at equal steps of the way, so that poses need not be gone through.
type Way struct {
	Index int // of the pass
	Pass  *work.Pass
	Width plane.Distance // working width
	Step  plane.Distance // between knots
	Knots []Knot
}

// A Knot is the bar's centre at one step along a way.
type Knot struct {
	X, Y     float64
	Sin, Cos float64 // of the bar's heading
	Pose     int32   // the last pose that is no farther along
	Straight bool    // the heading is about that of the knots before and after
}

// straightTo is how far the headings of neighbouring knots may differ for the
// way to be straight between them. Judgement; no test holds it closely.
const straightTo = plane.Angle(15 * math.Pi / 180)

// A WayStance is the bar on its way, in ticks of the plane.
type WayStance struct {
	X, Y     float64
	Sin, Cos float64 // of the bar's heading
	Pose     int32   // the pose at it or before
}

// An Offset is a place as seen from a line that is driven: how far along it the place
// lies, and how far to its right.
type Offset struct{ Along, Across plane.Distance }

// A Spot is a place in the along-track and cross-track coordinates of a way (station
// and offset): the bar's line goes over it at Along. Before the start and beyond
// the end of the way, Along is that end and Ahead the rest of the distance, negative
// before the start.
type Spot struct {
	WayStance
	Along, Across, Ahead plane.Distance // across is positive to the right
}

// knotsPerWidth is how many knots a working width of travel has. The nearest
// knot only has to be on the right stretch of the way: from there it is
// followed pose by pose. So the figure trades speed only.
const knotsPerWidth = 2

// mostKnots is how many knots there are for each pose at most: poses 50 m apart of
// a bar a metre wide have as many. A narrower bar has its knots farther apart,
// which only makes its ways slower to follow.
const mostKnots = 100

// ID is the number of the pass, from 1.
func (w *Way) ID() int { return w.Index + 1 }

// NewWay makes the way of a pass. Poses come at about equal steps, so the next
// knot's pose is looked for from about as many poses on as the last took.
func NewWay(index int, p *work.Pass, width plane.Length) Way {
	w := Way{Index: index, Pass: p, Width: plane.Distance(width)}
	w.Step = max(w.Width/knotsPerWidth, p.Length/plane.Distance(mostKnots*len(p.Poses)))
	last := int(math.Ceil(float64(p.Length / w.Step)))
	w.Knots = make([]Knot, 0, last+1)
	pose, stride := 0, 1
	for k := 0; k <= last; k++ {
		along := min(plane.Distance(k)*w.Step, p.Length)
		i := min(pose+stride, len(p.Poses)-1)
		for i > pose && p.Poses[i].Along > along {
			i--
		}
		for i+1 < len(p.Poses) && p.Poses[i+1].Along <= along {
			i++
		}
		pose, stride = i, max(1, i-pose)
		x, y, heading := poseBetween(p.Poses, i, along)
		sin, cos := heading.Sincos()
		w.Knots = append(w.Knots, Knot{x, y, sin, cos, int32(i), true})
	}
	for k := 1; k < len(w.Knots); k++ {
		if a, b := &w.Knots[k-1], &w.Knots[k]; a.Sin*b.Sin+a.Cos*b.Cos < math.Cos(float64(straightTo)) {
			a.Straight, b.Straight = false, false
		}
	}
	return w
}

// StraightAt reports whether the way is straight at a distance along it, see [Knot].
func (w *Way) StraightAt(along plane.Distance) bool {
	k := min(int(along/w.Step), len(w.Knots)-1)
	return w.Knots[k].Straight && w.Knots[min(k+1, len(w.Knots)-1)].Straight
}

// Between returns the first and last knot between two distances along the
// way, or one beside them; the last knot of all is at the way's end.
func (w *Way) Between(from, to plane.Distance) (lo, hi int) {
	last := len(w.Knots) - 1
	lo, hi = min(int(math.Ceil(float64(from/w.Step))), last), int(to/w.Step)
	if to >= w.Pass.Length {
		hi = last
	}
	return lo, max(lo, min(hi, last))
}

// Nearest returns the knot nearest to x, y between two distances along.
//
// A knot lies no farther than a step from the next, so the distance to x, y changes
// by no more than a step from knot to knot (a Lipschitz bound): knots that cannot be
// nearer than the nearest so far are skipped. On a straight way the first guess is
// right and most are.
func (w *Way) Nearest(x, y float64, from, to plane.Distance) int {
	lo, hi := w.Between(from, to)
	a, b := &w.Knots[lo], &w.Knots[hi]
	dx, dy := b.X-a.X, b.Y-a.Y
	best := lo
	if l := dx*dx + dy*dy; l > 0 {
		t := ((x-a.X)*dx + (y-a.Y)*dy) / l
		best += int(math.Round(max(0, min(1, t)) * float64(hi-lo)))
	}
	nearest := math.Sqrt(w.Knots[best].Away(x, y))
	for k := lo; k <= hi; {
		d := math.Sqrt(w.Knots[k].Away(x, y))
		if d < nearest {
			best, nearest = k, d
		}
		k += max(1, int((d-nearest)/float64(w.Step)))
	}
	return best
}

// Away returns the square of the distance from a knot to x, y.
func (k *Knot) Away(x, y float64) float64 { return (x-k.X)*(x-k.X) + (y-k.Y)*(y-k.Y) }

// Follow returns the knot nearest to x, y, starting from knot k, which was nearest
// to a place close by. It goes on as long as knots come nearer, and searches anew
// if it ends more than a width away.
func (w *Way) Follow(k int, x, y float64, from, to plane.Distance) int {
	lo, hi := w.Between(from, to)
	d := w.Knots[k].Away(x, y)
	for _, by := range [2]int{1, -1} {
		for n := k + by; n >= lo && n <= hi && w.Knots[n].Away(x, y) < d; n += by {
			k, d = n, w.Knots[n].Away(x, y)
		}
	}
	if d > float64(w.Width*w.Width) {
		return w.Nearest(x, y, from, to)
	}
	return k
}

// At returns the bar's stance at a distance along the way, held to its ends.
func (w *Way) At(along plane.Distance) WayStance {
	along = max(0, min(along, w.Pass.Length))
	k := min(int(along/w.Step), len(w.Knots)-1)
	if n := &w.Knots[k]; along == min(plane.Distance(k)*w.Step, w.Pass.Length) {
		return WayStance{n.X, n.Y, n.Sin, n.Cos, n.Pose} // as was worked out for the knot
	}
	from, to := int(w.Knots[k].Pose), len(w.Pass.Poses)-1
	if k+1 < len(w.Knots) {
		to = int(w.Knots[k+1].Pose)
	}
	// Poses come at about equal steps: guess, and go the rest.
	poses := w.Pass.Poses
	i := from + int(float64(to-from)*(float64(along/w.Step)-float64(k)))
	i = max(from, min(i, to))
	for i > from && poses[i].Along > along {
		i--
	}
	for i < to && poses[i+1].Along <= along {
		i++
	}
	x, y, heading := poseBetween(poses, i, along)
	sin, cos := heading.Sincos()
	return WayStance{x, y, sin, cos, int32(i)}
}

// Locate returns the coordinates of p on the way between two distances along it:
// from the nearest knot it moves along until the bar's line goes over p, to the
// millimetre.
func (w *Way) Locate(p plane.Point, from, to plane.Distance) Spot {
	x, y := float64(p.X), float64(p.Y)
	best := w.Nearest(x, y, from, to)
	s := Spot{Along: max(from, min(plane.Distance(best)*w.Step, to, w.Pass.Length))}
	for range 4 {
		s.WayStance = w.At(s.Along)
		dx, dy := x-s.X, y-s.Y
		s.Ahead = plane.Distance(dx*s.Sin + dy*s.Cos)
		s.Across = plane.Distance(dx*s.Cos - dy*s.Sin)
		next := max(from, min(s.Along+s.Ahead, to))
		if (next - s.Along).Abs() < plane.Distance(plane.Millimetre) {
			break
		}
		s.Along = next
	}
	return s
}

// Glance is an approximate [Way.Locate] that takes the way as straight from the
// nearest knot on: its error is a part of a width in a turn, and a centimetre or
// two elsewhere. It looks at no poses, and so is many times quicker.
func (w *Way) Glance(p plane.Point, from, to plane.Distance) Spot {
	x, y := float64(p.X), float64(p.Y)
	k := w.Nearest(x, y, from, to)
	n := &w.Knots[k]
	dx, dy := x-n.X, y-n.Y
	ahead := plane.Distance(float64(min(plane.Distance(k)*w.Step, w.Pass.Length)) + dx*n.Sin + dy*n.Cos)
	along := max(from, min(ahead, to))
	return Spot{Along: along, Ahead: ahead - along, Across: plane.Distance(dx*n.Cos - dy*n.Sin)}
}

// Direction returns the heading of the chord from reach before a place to reach
// after it, which a weaving machine's own heading swings about.
func (w *Way) Direction(along, reach plane.Distance) plane.Angle {
	a, b := w.At(along-reach), w.At(along+reach)
	if a.X == b.X && a.Y == b.Y {
		return plane.Direction(a.Sin, a.Cos)
	}
	return plane.Direction(b.X-a.X, b.Y-a.Y)
}

// Turned returns how far the bar's heading ranges within a distance before and
// after a place.
func (w *Way) Turned(along, reach plane.Distance) plane.Angle {
	// Samples of the heading for each reach. Judgement; no test of the package fails where
	// they are half as many or twice as many.
	const parts = 4
	s := w.At(along - reach)
	last := plane.Direction(s.Sin, s.Cos)
	var h, lo, hi plane.Angle
	for k := 1; k <= 2*parts; k++ {
		s = w.At(along - reach + plane.Distance(k)*reach/parts)
		next := plane.Direction(s.Sin, s.Cos)
		h += last.To(next)
		lo, hi, last = min(lo, h), max(hi, h), next
	}
	return hi - lo
}

// Ways makes the ways of passes.
func Ways(machines []machine.Machine, passes []work.Pass) []Way {
	out := make([]Way, len(passes))
	parallel.Each(len(out), func(i int) {
		out[i] = NewWay(i, &passes[i], machines[passes[i].Machine].Implement.Width)
	})
	return out
}

// Nearest returns the way of the nearest of some passes, given by their IDs, and
// roughly the coordinates of a place on it (see [Way.Glance]): the first of several
// that are equally near, nil for none.
func Nearest(ways []Way, at plane.Point, passes []int) (*Way, Spot) {
	var best *Way
	var where Spot
	nearest := math.Inf(1)
	for _, id := range passes {
		w := &ways[id-1]
		s := w.Glance(at, 0, w.Pass.Length)
		if d := math.Hypot(float64(s.Ahead), float64(max(0, s.Across.Abs()-w.Width/2))); d < nearest {
			best, where, nearest = w, s, d
		}
	}
	return best, where
}

// GrowingWay makes the way of a pass that is being driven, which may have no poses
// yet. Poses are added to the pass, and then [Way.Grow] is called.
func GrowingWay(index int, p *work.Pass, width plane.Length) Way {
	w := Way{Index: index, Pass: p, Width: plane.Distance(width), Step: plane.Distance(width) / knotsPerWidth}
	w.Grow()
	return w
}

// Grow adds the knots that the poses have come past, and returns how many knots there
// were before. The end of the pass has a knot only once it has gone a step farther.
func (w *Way) Grow() (before int) {
	before = len(w.Knots)
	poses := w.Pass.Poses
	pose := 0
	if before > 0 {
		pose = int(w.Knots[before-1].Pose)
	}
	for k := before; len(poses) > 0; k++ {
		along := plane.Distance(k) * w.Step
		if along > w.Pass.Length {
			break
		}
		for pose+1 < len(poses) && poses[pose+1].Along <= along {
			pose++
		}
		x, y, heading := poseBetween(poses, pose, along)
		sin, cos := heading.Sincos()
		w.Knots = append(w.Knots, Knot{x, y, sin, cos, int32(pose), true})
		if k > 0 {
			if a, b := &w.Knots[k-1], &w.Knots[k]; a.Sin*b.Sin+a.Cos*b.Cos < math.Cos(float64(straightTo)) {
				a.Straight, b.Straight = false, false
			}
		}
	}
	return before
}

// poseBetween returns the bar's centre at a distance along, and its heading, from
// the last pose that is no farther along.
func poseBetween(poses []work.Pose, i int, along plane.Distance) (x, y float64, heading plane.Angle) {
	a := &poses[i]
	x, y, heading = float64(a.Bar.X), float64(a.Bar.Y), a.Heading
	if i+1 < len(poses) {
		b := &poses[i+1]
		if d := b.Along - a.Along; d > 0 {
			t := float64((along - a.Along) / d)
			x += t * float64(b.Bar.X-a.Bar.X)
			y += t * float64(b.Bar.Y-a.Bar.Y)
			heading += plane.Angle(t) * a.Heading.To(b.Heading)
		}
	}
	return x, y, heading
}
