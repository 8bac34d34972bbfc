package coverage

import (
	"math"

	"lapwing/geo/parallel"
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
	Own  float64 // ticks along the pass: 0 or its length
	X, Y float64 // which way, east and north, the near edge is run over squarely; of length 1
}

// crosswiseEnd is the least angle between a pass and what it ends on.
const crosswiseEnd = 45 * math.Pi / 180

// EndLaps returns the laps of each pass's start and end, as measured from the
// bar's centre; none where a pass ends on open ground. They are in the order
// of Map.Passes.
func (m *Map) EndLaps() [][]EndLap {
	n := m.neighbourhood()
	out := make([][]EndLap, len(m.Passes))
	parallel.Each(len(out), func(i int) {
		w := &n.ways[i]
		for _, end := range [2]struct{ along, outward float64 }{{0, -1}, {w.pass.Length, 1}} {
			if l := n.endLap(i, w.at(end.along), end.outward); l.Pass > 0 || l.Edge {
				l.Own = end.along
				out[i] = append(out[i], l)
			}
		}
	})
	return out
}

// endLap finds what a bar that stands at an end of a pass has run onto;
// outward is 1 where that is ahead of it and -1 behind.
func (n *neighbourhood) endLap(pass int, at wayStance, outward float64) EndLap {
	const metre = float64(plane.Metre)
	width := n.ways[pass].width
	ox, oy := outward*at.sin, outward*at.cos
	var best, edge EndLap
	for i := range n.near.Around(at.x, at.y) {
		k := n.knots[i]
		w := &n.ways[k.pass]
		if int(k.pass) == pass || !w.passes(int(k.knot), at.x, at.y) {
			continue
		}
		from := float64(k.knot) * w.step
		s := w.locate(plane.Point{X: plane.Round(at.x), Y: plane.Round(at.y)}, from, min(from+w.step, w.pass.Length))
		side := ox*s.cos - oy*s.sin // how far outward is to its right
		left, right, works := n.m.barEnds(w.pass, int(s.pose))
		if !works || math.Abs(side) < math.Sin(crosswiseEnd) {
			continue
		}
		l := EndLap{Lap: Lap{Pass: w.pass.ID, By: s.across - left, Along: s.along}, X: s.cos, Y: -s.sin}
		if side < 0 {
			l.By, l.X, l.Y = right-s.across, -s.cos, s.sin
		}
		if l.By > -missedWidth*width && l.By < w.width && (best.Pass == 0 || l.By > best.By) {
			best = l
		}
	}
	for i := range n.edge.Around(at.x, at.y) {
		k := &n.marks[i]
		ex, ey := at.x-k.x*metre, at.y-k.y*metre
		by := ex*k.nx + ey*k.ny
		if k.nx*ox+k.ny*oy < math.Sin(crosswiseEnd) || math.Abs(ex*k.ny-ey*k.nx) > k.half*metre || math.Abs(by) >= missedWidth*width {
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
