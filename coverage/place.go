package coverage

import (
	"math"
	"slices"

	"lapwing/geo/plane"
)

// onBar is how far from the bar's centre a patch counts as on the pass, as a
// share of the working width: beyond the middle half of the bar it is on a
// side.
const onBar = 0.25

// place says where a patch is along the pass nearest to it, of some swaths.
// The first of several that are equally near is taken.
//
//	north end of pass 7
//	        |
//	  140 m |
//	        |  x  right side
//	        ^
//	south end
func (m *Map) place(ways []way, at plane.Point, swaths []int) Place {
	var best *way
	var spot spot
	nearest := math.Inf(1)
	for _, s := range swaths {
		w := &ways[m.Swaths[s].Pass]
		sp := w.locate(at, m.Swaths[s].From, m.Swaths[s].To)
		if d := math.Hypot(max(0, math.Abs(sp.across)-w.width/2), sp.ahead); d < nearest {
			best, spot, nearest = w, sp, d
		}
	}
	if best == nil {
		return Place{}
	}
	p := Place{Pass: best.pass.ID, Along: spot.along}
	first := true // the end it began with is the nearer
	if rest := best.pass.Length - spot.along; rest < spot.along {
		p.Along, first = rest, false
	}
	p.From = best.endName(first)
	switch {
	case spot.across < -onBar*best.width:
		p.Side = "left"
	case spot.across > onBar*best.width:
		p.Side = "right"
	}
	return p
}

// points are the eight points of the compass, clockwise from north.
var points = [8]string{"north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"}

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
	eighths := math.Atan2(float64(b.X-a.X), float64(b.Y-a.Y)) / (math.Pi / 4)
	return points[(int(math.Round(eighths))+8)%8]
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
	x, y float64
	pose int32 // the last pose that is no farther along
}

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
		x, y, _ := poseBetween(p.Poses, i, along)
		w.knots = append(w.knots, knot{x, y, int32(i)})
	}
	return w
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
			heading += t * math.Remainder(b.Heading-a.Heading, 2*math.Pi)
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
	n, _ := slices.BinarySearchFunc(w.pass.Poses[from+1:max(from, to)+1], along, func(p Pose, a float64) int {
		if p.Along <= a {
			return -1
		}
		return 1
	})
	i := from + n
	x, y, heading := poseBetween(w.pass.Poses, i, along)
	sin, cos := math.Sincos(heading)
	return wayStance{x, y, sin, cos, int32(i)}
}

// locate finds the nearest place of the way between two distances along it,
// and then the stance there whose bar's line goes over p.
func (w *way) locate(p plane.Point, from, to float64) spot {
	x, y := float64(p.X), float64(p.Y)
	lo := min(int(math.Ceil(from/w.step)), len(w.knots)-1)
	hi := max(lo, min(int(to/w.step), len(w.knots)-1))
	best, nearest := lo, math.Inf(1)
	for k := lo; k <= hi; k++ {
		dx, dy := x-w.knots[k].x, y-w.knots[k].y
		if d := dx*dx + dy*dy; d < nearest {
			best, nearest = k, d
		}
	}
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
		h += math.Remainder(next-last, 2*math.Pi)
		lo, hi, last = min(lo, h), max(hi, h), next
	}
	return hi - lo
}

// ways makes the ways of all passes.
func (m *Map) ways() []way {
	out := make([]way, len(m.Passes))
	each(len(out), func(i int) {
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
