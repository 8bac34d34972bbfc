package cause

import (
	"lapwing/coverage/work"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// onBar is how far from the bar's centre a patch counts as on the pass, as a
// share of the working width: beyond the middle half of the bar it is on a
// side.
const onBar = 0.25

// placeOn says where a spot is, from the nearer end of the pass.
//
//	north end of pass 7
//	        |
//	  140 m |
//	        |  x  right side
//	        ^
//	south end
func placeOn(w *work.Way, s work.Spot) Place {
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

// endName returns the point of the compass that the first or last end of a
// pass lies at, seen from its other end; seen from the place half-way where
// the pass comes back to its beginning, as a round does.
func endName(w *work.Way, first bool) string {
	poses := w.Pass.Poses
	a, b := poses[0].Bar, poses[len(poses)-1].Bar
	if d := a.Distance(b); d < 2*w.Width && d < w.Pass.Length/2 {
		half := w.At(w.Pass.Length / 2)
		a, b = plane.Point{X: plane.Round(half.X), Y: plane.Round(half.Y)}, a
		first = false
	}
	if first {
		a, b = b, a
	}
	return geo.Compass(plane.Direction(float64(b.X-a.X), float64(b.Y-a.Y)))
}
