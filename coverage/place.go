package coverage

import (
	"math"

	"lapwing/geo"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// onBar is how far from the bar's centre a patch counts as on the pass, as a
// share of the working width: beyond the middle half of the bar it is on a
// side.
const onBar = 0.25

// nearestOf returns the way of the nearest of some passes, given by their
// IDs, and about where on it the place is: the first of several that are
// equally near, nil for none.
func nearestOf(ways []way, at plane.Point, passes []int) (*way, spot) {
	var best *way
	var where spot
	nearest := math.Inf(1)
	for _, id := range passes {
		w := &ways[id-1]
		s := w.glance(at, 0, w.pass.Length)
		if d := math.Hypot(s.ahead, max(0, math.Abs(s.across)-w.width/2)); d < nearest {
			best, where, nearest = w, s, d
		}
	}
	return best, where
}

// place says where a spot is, from the nearer end of the pass.
//
//	north end of pass 7
//	        |
//	  140 m |
//	        |  x  right side
//	        ^
//	south end
func (w *way) place(s spot) Place {
	p := Place{Pass: w.pass.ID, Along: s.along}
	first := true // the end it began with is the nearer
	if rest := w.pass.Length - s.along; rest < s.along {
		p.Along, first = rest, false
	}
	p.From = w.endName(first)
	switch {
	case s.across < -onBar*w.width:
		p.Side = "left"
	case s.across > onBar*w.width:
		p.Side = "right"
	}
	return p
}

// endName returns the point of the compass that the first or last end of a
// pass lies at, seen from its other end; seen from the place half-way where
// the pass comes back to its beginning, as a round does.
func (w *way) endName(first bool) string {
	poses := w.pass.Poses
	a, b := poses[0].Bar, poses[len(poses)-1].Bar
	if d := plane.Distance(a, b); d < 2*w.width && d < w.pass.Length/2 {
		half := w.at(w.pass.Length / 2)
		a, b = plane.Point{X: plane.Round(half.x), Y: plane.Round(half.y)}, a
		first = false
	}
	if first {
		a, b = b, a
	}
	return geo.Compass(math.Atan2(float64(b.X-a.X), float64(b.Y-a.Y)))
}

// A way is the path of a pass's bar, made ready to find places along it: the
// bar at equal steps of the way, so that poses need not be gone through.
type way struct {
	pass  *Pass
	width float64 // working width, ticks
	step  float64 // ticks between knots
	knots []knot
}

// A knot is the bar's centre at one step along a way.
type knot struct {
	x, y     float64
	sin, cos float64 // of the bar's heading
	pose     int32   // the last pose that is no farther along
	straight bool    // the heading is about that of the knots before and after
}

// straightTo is how far the headings of neighbouring knots may differ for the
// way to be straight between them.
const straightTo = 15 * math.Pi / 180

// A stance of the bar on its way, in ticks of the plane.
type wayStance struct {
	x, y     float64
	sin, cos float64 // of the bar's heading
	pose     int32   // the pose at it or before
}

// A spot is a place as seen from a way: the bar's line goes over it at along.
// Before the start and beyond the end of the way, along is that end and ahead
// what is left to go, negative behind the start.
type spot struct {
	wayStance
	along, across, ahead float64 // ticks; across is positive to the right
}

// knotsPerWidth is how many knots a working width of travel has. The nearest
// knot only has to be on the right stretch of the way: from there it is
// followed pose by pose.
const knotsPerWidth = 2

// newWay makes the way of a pass. Poses come at about equal steps, so the next
// knot's pose is looked for from about as many poses on as the last took.
func newWay(p *Pass, width plane.Length) way {
	w := way{pass: p, width: float64(width), step: float64(width) / knotsPerWidth}
	last := int(math.Ceil(p.Length / w.step))
	w.knots = make([]knot, 0, last+1)
	pose, stride := 0, 1
	for k := 0; k <= last; k++ {
		along := min(float64(k)*w.step, p.Length)
		i := min(pose+stride, len(p.Poses)-1)
		for i > pose && p.Poses[i].Along > along {
			i--
		}
		for i+1 < len(p.Poses) && p.Poses[i+1].Along <= along {
			i++
		}
		pose, stride = i, max(1, i-pose)
		x, y, heading := poseBetween(p.Poses, i, along)
		sin, cos := math.Sincos(heading)
		w.knots = append(w.knots, knot{x, y, sin, cos, int32(i), true})
	}
	for k := 1; k < len(w.knots); k++ {
		if a, b := &w.knots[k-1], &w.knots[k]; a.sin*b.sin+a.cos*b.cos < math.Cos(straightTo) {
			a.straight, b.straight = false, false
		}
	}
	return w
}

// between returns the first and last knot between two distances along the
// way, or one beside them; the last knot of all is at the way's end.
func (w *way) between(from, to float64) (lo, hi int) {
	last := len(w.knots) - 1
	lo, hi = min(int(math.Ceil(from/w.step)), last), int(to/w.step)
	if to >= w.pass.Length {
		hi = last
	}
	return lo, max(lo, min(hi, last))
}

// nearest returns the knot nearest to x, y between two distances along.
//
// A knot lies no farther than a step from the next, so from one that is much
// farther off than the nearest known so far some can be leapt over. On a
// straight way the first guess is right and the leaps are long.
func (w *way) nearest(x, y, from, to float64) int {
	lo, hi := w.between(from, to)
	a, b := &w.knots[lo], &w.knots[hi]
	dx, dy := b.x-a.x, b.y-a.y
	best := lo
	if l := dx*dx + dy*dy; l > 0 {
		t := ((x-a.x)*dx + (y-a.y)*dy) / l
		best += int(math.Round(max(0, min(1, t)) * float64(hi-lo)))
	}
	nearest := math.Sqrt(w.knots[best].away(x, y))
	for k := lo; k <= hi; {
		d := math.Sqrt(w.knots[k].away(x, y))
		if d < nearest {
			best, nearest = k, d
		}
		k += max(1, int((d-nearest)/w.step))
	}
	return best
}

// away returns the square of the distance from a knot to x, y.
func (k *knot) away(x, y float64) float64 { return (x-k.x)*(x-k.x) + (y-k.y)*(y-k.y) }

// follow returns the knot nearest to x, y where one was near to a place
// before: it goes from there as long as it comes nearer, and looks anew if it
// is led astray.
func (w *way) follow(k int, x, y, from, to float64) int {
	lo, hi := w.between(from, to)
	d := w.knots[k].away(x, y)
	for _, by := range [2]int{1, -1} {
		for n := k + by; n >= lo && n <= hi && w.knots[n].away(x, y) < d; n += by {
			k, d = n, w.knots[n].away(x, y)
		}
	}
	if d > w.width*w.width {
		return w.nearest(x, y, from, to)
	}
	return k
}

// poseBetween returns the bar's centre at a distance along, and its heading, from
// the last pose that is no farther along.
func poseBetween(poses []Pose, i int, along float64) (x, y, heading float64) {
	a := &poses[i]
	x, y, heading = float64(a.Bar.X), float64(a.Bar.Y), a.Heading
	if i+1 < len(poses) {
		b := &poses[i+1]
		if d := b.Along - a.Along; d > 0 {
			t := (along - a.Along) / d
			x += t * float64(b.Bar.X-a.Bar.X)
			y += t * float64(b.Bar.Y-a.Bar.Y)
			heading += t * turnBetween(a.Heading, b.Heading)
		}
	}
	return x, y, heading
}

// at returns the bar's stance at a distance along the way, held to its ends.
func (w *way) at(along float64) wayStance {
	along = max(0, min(along, w.pass.Length))
	k := min(int(along/w.step), len(w.knots)-1)
	from, to := int(w.knots[k].pose), len(w.pass.Poses)-1
	if k+1 < len(w.knots) {
		to = int(w.knots[k+1].pose)
	}
	// Poses come at about equal steps: guess, and go the rest.
	poses := w.pass.Poses
	i := from + int(float64(to-from)*(along/w.step-float64(k)))
	i = max(from, min(i, to))
	for i > from && poses[i].Along > along {
		i--
	}
	for i < to && poses[i+1].Along <= along {
		i++
	}
	x, y, heading := poseBetween(poses, i, along)
	sin, cos := math.Sincos(heading)
	return wayStance{x, y, sin, cos, int32(i)}
}

// locate finds the nearest place of the way between two distances along it,
// and then the stance there whose bar's line goes over p.
func (w *way) locate(p plane.Point, from, to float64) spot {
	x, y := float64(p.X), float64(p.Y)
	best := w.nearest(x, y, from, to)
	s := spot{along: max(from, min(float64(best)*w.step, to, w.pass.Length))}
	for range 4 {
		s.wayStance = w.at(s.along)
		dx, dy := x-s.x, y-s.y
		s.ahead = dx*s.sin + dy*s.cos
		s.across = dx*s.cos - dy*s.sin
		next := max(from, min(s.along+s.ahead, to))
		if math.Abs(next-s.along) < float64(plane.Millimetre) {
			break
		}
		s.along = next
	}
	return s
}

// glance is locate as seen from the nearest knot, as if the way ran straight
// on from there: good to a part of a width in a turn, and to a centimetre or
// two elsewhere. It looks at no poses, and so is many times quicker.
func (w *way) glance(p plane.Point, from, to float64) spot {
	x, y := float64(p.X), float64(p.Y)
	k := w.nearest(x, y, from, to)
	n := &w.knots[k]
	dx, dy := x-n.x, y-n.y
	ahead := min(float64(k)*w.step, w.pass.Length) + dx*n.sin + dy*n.cos
	along := max(from, min(ahead, to))
	return spot{along: along, ahead: ahead - along, across: dx*n.cos - dy*n.sin}
}

// direction returns the way travelled over a distance before and after a
// place, as a heading: what a weaving machine makes for.
func (w *way) direction(along, reach float64) float64 {
	a, b := w.at(along-reach), w.at(along+reach)
	if a.x == b.x && a.y == b.y {
		return math.Atan2(a.sin, a.cos)
	}
	return math.Atan2(b.x-a.x, b.y-a.y)
}

// turned returns how far the bar's heading ranges within a distance before and
// after a place, in radians.
func (w *way) turned(along, reach float64) float64 {
	const parts = 4
	s := w.at(along - reach)
	last := math.Atan2(s.sin, s.cos)
	h, lo, hi := 0.0, 0.0, 0.0
	for k := 1; k <= 2*parts; k++ {
		s = w.at(along - reach + float64(k)*reach/parts)
		next := math.Atan2(s.sin, s.cos)
		h += turnBetween(last, next)
		lo, hi, last = min(lo, h), max(hi, h), next
	}
	return hi - lo
}

// ways makes the ways of all passes.
func (m *Map) ways() []way {
	out := make([]way, len(m.Passes))
	parallel.Each(len(out), func(i int) {
		p := &m.Passes[i]
		out[i] = newWay(p, m.Machines[p.Machine].Implement.Width)
	})
	return out
}

// crossing returns the angle between two directions, whichever way they are
// driven: from 0, parallel, to a right angle.
func crossing(a, b float64) float64 {
	return math.Abs(math.Remainder(a-b, math.Pi))
}
