package beside

import (
	"math"

	"lapwing/coverage/field"
	"lapwing/coverage/locate"
	"lapwing/coverage/machine"
	"lapwing/coverage/work"
	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// A Stretch is how a stretch of a pass lies against its neighbours: how far the
// ground it worked laps theirs, or falls short of it, on either side.
//
//	this pass    the neighbour on its right
//	|=======|--|=======|      a gap: By is negative
//	|=======|x|=======|       a lap: By is positive
type Stretch struct {
	Along       plane.Distance // from the start of the pass to the stretch's middle
	Length      plane.Distance // the stretches of a pass follow one another without a break
	Left, Right Lap
}

// A Lap is how far the end of a bar reaches over the near edge of a
// neighbour's ground; negative where ground is left between.
type Lap struct {
	Pass  int            // ID of the neighbour; 0 where there is none, and By means nothing unless Edge
	Edge  bool           // no pass is beside, but the field's edge: By is how far the bar reached past it
	By    plane.Distance // across the neighbour's way
	Along plane.Distance // from the start of the neighbour
}

// besideStep is how far apart a pass is compared with its neighbours. Judgement: a
// metre is shorter than the waves of a steering error, which are tens of metres
// long, and longer than the way from one fix at 10 Hz to the next.
// TestNeighboursRoundAndRound fails where it is doubled.
const besideStep = 1 * plane.Metre

// How passes lie beside each other, in figures: judgement. TestSkipCauses fails where
// MissedWidth is doubled, TestOverlapCauses where AgainWidth is; no test holds
// SideBySide closely.
const (
	MissedWidth = 0.8                             // working widths left between: a missed pass, and no gap
	AgainWidth  = 0.45                            // working widths lapped: worked again, and no lap: half, less 0.05 for steering
	SideBySide  = plane.Angle(20 * math.Pi / 180) // directions that differ by less run side by side
)

// A Neighbourhood finds the passes, and the field's edge, that run by a place.
type Neighbourhood struct {
	machines []machine.Machine
	ways     []locate.Way
	knots    []knotOf
	near     near.GridIndex   // of knots
	late     near.GrowingGrid // of the knots of passes that came later, see [Neighbourhood.Add]
	marks    []sample         // of the field's edge, in metres
	edge     near.GridIndex   // of marks
}

// A knotOf is a knot of a way.
type knotOf struct{ pass, knot int32 }

// New files the knots of the ways of passes by cells so large that the ones that
// matter to a place are in its own cell or one around it.
func New(field *field.Field, machines []machine.Machine, ways []locate.Way) *Neighbourhood {
	n := &Neighbourhood{machines: machines, ways: ways}
	cell := plane.Distance(plane.Metre)
	for i := range machines {
		cell = max(cell, reachOf(plane.Distance(machines[i].Implement.Width), 0))
	}
	for i := range n.ways {
		cell = max(cell, reachOf(n.ways[i].Width, n.ways[i].Step))
	}
	n.late = near.NewGrowingGrid(float64(cell))
	for i := range n.ways {
		for k := range n.ways[i].Knots {
			n.knots = append(n.knots, knotOf{int32(i), int32(k)})
		}
	}
	n.near = near.NewGridIndex(float64(cell), len(n.knots), func(i int) (x, y float64) {
		k := n.knots[i]
		return n.ways[k.pass].Knots[k.knot].X, n.ways[k.pass].Knots[k.knot].Y
	})
	if !field.Worked {
		n.marks = marks(field)
		n.edge = near.NewGridIndex(float64(cell), len(n.marks), func(i int) (x, y float64) {
			return n.marks[i].x * float64(plane.Metre), n.marks[i].y * float64(plane.Metre)
		})
	}
	return n
}

// Beside compares the pass of that index with those beside it, stretch by
// stretch of a metre or so; nil for a pass of no length. A stretch is measured
// at its middle, from the ends of the part of the bar that works there.
//
// A neighbour is another pass, earlier or later, or an earlier or later round
// of the same one, that ran side by side with it, directions within 20
// degrees: the one that laps most, or else comes nearest. Ground worked
// again over nearly half a bar or more is no neighbour's lap, and 0.8 of a
// bar or more left between is a missed pass and no gap: neither is one. Where
// there is none, the field's edge stands in if it is as near and runs along.
func (n *Neighbourhood) Beside(pass int) []Stretch { return n.beside(pass, besideStep) }

// beside is [Neighbourhood.Beside] with stretches of a step or so.
func (n *Neighbourhood) beside(pass int, step plane.Length) []Stretch {
	w := &n.ways[pass]
	count := int(math.Ceil(float64(w.Pass.Length / plane.Distance(step))))
	if count == 0 {
		return nil
	}
	out := make([]Stretch, count)
	length := w.Pass.Length / plane.Distance(count)
	for i := range out {
		b := &out[i]
		b.Along, b.Length = (plane.Distance(i)+0.5)*length, length
		at := w.At(b.Along)
		if w.Pass.Poses[at.Pose].Silent {
			continue
		}
		left, right, works := n.barEnds(w.Pass, int(at.Pose))
		if works {
			here := bar{WayStance: at, width: w.Width, own: [2]onWay{{pass, b.Along}, {-1, 0}}}
			b.Left = n.lap(&here, left, -1)
			b.Right = n.lap(&here, right, 1)
		}
	}
	return out
}

// barEnds returns where, across the bar, the part of it that works from a pose
// on begins and ends.
func (n *Neighbourhood) barEnds(p *work.Pass, pose int) (left, right plane.Distance, works bool) {
	parts := n.machines[p.Machine].Implement.Open(p.States, p.Poses[pose].State)
	if len(parts) == 0 {
		return 0, 0, false
	}
	return plane.Distance(parts[0].Left), plane.Distance(parts[len(parts)-1].Right), true
}

// A bar is one that is compared with what runs beside it.
type bar struct {
	locate.WayStance
	width plane.Distance // working width
	own   [2]onWay       // where it is on its own way, of which there may be two parts
}

// An onWay is a place so far along a way; -1 is none.
type onWay struct {
	pass  int
	along plane.Distance
}

// isOwn reports whether a place of a pass is where the bar was a moment ago: nearer
// than two widths along its own way.
func (b *bar) isOwn(pass int, from plane.Distance) bool {
	for i := range b.own {
		if o := &b.own[i]; o.pass == pass && (from-o.along).Abs() < 2*b.width {
			return true
		}
	}
	return false
}

// lap finds the neighbour on one side (-1 left, 1 right) of a bar that ends so far
// across.
func (n *Neighbourhood) lap(b *bar, across plane.Distance, side float64) Lap {
	x, y := b.X+float64(across)*b.Cos, b.Y-float64(across)*b.Sin
	var best Lap
	again := false // some pass ran over the bar's end
	look := func(i int) {
		k := n.knots[i]
		w := &n.ways[k.pass]
		from := plane.Distance(k.knot) * w.Step
		if b.isOwn(int(k.pass), from) || !passesOver(w, int(k.knot), x, y) {
			return
		}
		by, ok := n.lapOver(w, from, b.WayStance, x, y, side)
		narrower := min(w.Width, b.width)
		switch {
		case !ok || by.By <= -MissedWidth*narrower:
		case by.By >= AgainWidth*narrower:
			again = again || by.By < w.Width // else it is on the other side altogether
		case best.Pass == 0 || by.By > best.By:
			best = by
		}
	}
	for i := range n.near.Around(x, y) {
		look(i)
	}
	for i := range n.late.Around(x, y) {
		look(i)
	}
	if best.Pass == 0 && !again {
		return n.lapOverEdge(b.WayStance, x, y, side, b.width)
	}
	return best
}

// lapOverEdge returns how far the end of a bar, at x, y, reaches past a
// stretch of the field's edge that runs along the way driven, on that side.
func (n *Neighbourhood) lapOverEdge(at locate.WayStance, x, y, side float64, width plane.Distance) Lap {
	const metre = float64(plane.Metre)
	var best Lap
	for i := range n.edge.Around(x, y) {
		k := &n.marks[i]
		ex, ey := x-k.x*metre, y-k.y*metre
		by := plane.Distance(ex*k.nx + ey*k.ny)
		outward := side * (k.nx*at.Cos - k.ny*at.Sin) // of the edge, against the way the bar's end points
		if outward < math.Cos(float64(SideBySide)) || math.Abs(ex*k.ny-ey*k.nx) > k.half*metre ||
			by >= AgainWidth*width || by <= -MissedWidth*width {
			continue
		}
		if !best.Edge || by > best.By {
			best = Lap{Edge: true, By: by}
		}
	}
	return best
}

// passesOver reports whether the bar's line goes over x, y between a knot and the
// next.
func passesOver(w *locate.Way, k int, x, y float64) bool {
	if k+1 >= len(w.Knots) {
		return false
	}
	a, b := &w.Knots[k], &w.Knots[k+1]
	return (x-a.X)*a.Sin+(y-a.Y)*a.Cos >= 0 && (x-b.X)*b.Sin+(y-b.Y)*b.Cos < 0
}

// lapOver returns how far a bar that stands at a place, and whose end on one
// side is at x, y, laps the near edge of w, whose bar goes over x, y on its
// way from one knot to the next. There is none where w runs another way, or
// did not work.
func (n *Neighbourhood) lapOver(w *locate.Way, from plane.Distance, at locate.WayStance, x, y, side float64) (Lap, bool) {
	s := w.Locate(plane.Point{X: plane.Round(x), Y: plane.Round(y)}, from, min(from+w.Step, w.Pass.Length))
	along := at.Sin*s.Sin + at.Cos*s.Cos
	if math.Abs(along) < math.Cos(float64(SideBySide)) || s.Ahead.Abs() > plane.Distance(plane.Centimetre) || w.Pass.Poses[s.Pose].Silent {
		return Lap{}, false
	}
	left, right, works := n.barEnds(w.Pass, int(s.Pose))
	lap := Lap{Pass: w.ID(), By: s.Across - left, Along: s.Along}
	if (side > 0) != (along > 0) { // seen from a bar that goes the other way, left is right
		lap.By = right - s.Across
	}
	return lap, works
}
