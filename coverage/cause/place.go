package cause

import (
	"lapwing/coverage/locate"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// onBar is how far from the bar's centre a patch counts as on the pass, as a
// share of the working width: beyond the middle half of the bar it is on a
// side. Judgement. TestPlace fails where it is doubled.
const onBar = 0.25

// cameBack is how near the ends of a pass must lie, in working widths, for it to have
// come back to its beginning. Judgement. No test holds it closely.
const cameBack = 2.0

// placeOn says where a spot is, from the nearer end of the pass.
//
//	north end of pass 7
//	        |
//	  140 m |
//	        |  x  right side
//	        ^
//	south end
func placeOn(w *locate.Way, s locate.Spot) Place {
	p := Place{Pass: w.ID(), Along: s.Along}
	first := true // the end it began with is the nearer
	if rest := w.Pass.Length - s.Along; rest < s.Along {
		p.Along, first = rest, false
	}
	p.From = endName(w, first)
	switch {
	case s.Across < -onBar*w.Width:
		p.Side = "left"
	case s.Across > onBar*w.Width:
		p.Side = "right"
	}
	return p
}

// endName returns the point of the compass at which the first or last end of a
// pass lies, as seen from its other end. Where the pass comes back to its
// beginning, as a round does, it is as seen from half-way along.
func endName(w *locate.Way, first bool) string {
	poses := w.Pass.Poses
	a, b := poses[0].Bar, poses[len(poses)-1].Bar
	if d := a.Distance(b); d < cameBack*w.Width && d < w.Pass.Length/2 {
		half := w.At(w.Pass.Length / 2)
		a, b = plane.Point{X: plane.Round(half.X), Y: plane.Round(half.Y)}, a
		first = false
	}
	if first {
		a, b = b, a
	}
	return geo.Compass(plane.Direction(float64(b.X-a.X), float64(b.Y-a.Y)))
}
