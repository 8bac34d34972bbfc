package beside

import (
	"math"

	"lapwing/coverage/locate"
	"lapwing/geo/plane"
)

// An EndLap is how far a pass runs, at its start or end, onto the ground of
// one that it meets crosswise, or past the field's edge; negative where it
// stops short.
//
//	=========  the other pass, mostly a headland one
//	  | x |
//	==|===|==  its near edge
//	  |   |    x: By is positive
type EndLap struct {
	Lap
	Own  plane.Distance // along the pass: 0 or its length
	X, Y float64        // east and north: unit normal of the near edge, pointing the way the pass crosses it
}

// crosswiseEnd is the least angle between a pass and what it ends on. Judgement; no
// test holds it closely.
const crosswiseEnd = plane.Angle(45 * math.Pi / 180)

// EndLaps returns the laps of the start and end of the pass of that index, as
// measured from the bar's centre; none where it ends on open ground.
func (n *Neighbourhood) EndLaps(pass int) (laps []EndLap) {
	w := &n.ways[pass]
	for _, end := range [2]struct {
		along   plane.Distance
		outward float64
	}{{0, -1}, {w.Pass.Length, 1}} {
		if l := n.endLap(pass, w.At(end.along), end.outward); l.Pass > 0 || l.Edge {
			l.Own = end.along
			laps = append(laps, l)
		}
	}
	return laps
}

// endLap finds what a bar that stands at an end of a pass has run onto;
// outward is 1 where open ground would be ahead of the bar and -1 where behind it.
func (n *Neighbourhood) endLap(pass int, at locate.WayStance, outward float64) EndLap {
	const metre = float64(plane.Metre)
	width := n.ways[pass].Width
	ox, oy := outward*at.Sin, outward*at.Cos
	var best, edge EndLap
	for i := range n.near.Around(at.X, at.Y) {
		k := n.knots[i]
		w := &n.ways[k.pass]
		if int(k.pass) == pass || !passesOver(w, int(k.knot), at.X, at.Y) {
			continue
		}
		from := plane.Distance(k.knot) * w.Step
		s := w.Locate(plane.Point{X: plane.Round(at.X), Y: plane.Round(at.Y)}, from, min(from+w.Step, w.Pass.Length))
		side := ox*s.Cos - oy*s.Sin // how far outward is to its right
		left, right, works := n.barEnds(w.Pass, int(s.Pose))
		if !works || math.Abs(side) < math.Sin(float64(crosswiseEnd)) {
			continue
		}
		l := EndLap{Lap: Lap{Pass: w.ID(), By: s.Across - left, Along: s.Along}, X: s.Cos, Y: -s.Sin}
		if side < 0 {
			l.By, l.X, l.Y = right-s.Across, -s.Cos, s.Sin
		}
		if l.By > -MissedWidth*width && l.By < w.Width && (best.Pass == 0 || l.By > best.By) {
			best = l
		}
	}
	for i := range n.edge.Around(at.X, at.Y) {
		k := &n.marks[i]
		ex, ey := at.X-k.x*metre, at.Y-k.y*metre
		by := plane.Distance(ex*k.nx + ey*k.ny)
		if k.nx*ox+k.ny*oy < math.Sin(float64(crosswiseEnd)) || math.Abs(ex*k.ny-ey*k.nx) > k.half*metre || by.Abs() >= MissedWidth*width {
			continue
		}
		if !edge.Edge || by > edge.By {
			edge = EndLap{Lap: Lap{Edge: true, By: by}, X: k.nx, Y: k.ny}
		}
	}
	if best.Pass == 0 {
		return edge
	}
	return best
}
