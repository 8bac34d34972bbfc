package coverage

import (
	"math"

	"lapwing/geo/parallel"
	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// A Beside is how a stretch of a pass lies against its neighbours: how far the
// ground it worked laps theirs, or falls short of it, on either side.
//
//	this pass    the neighbour on its right
//	|=======|--|=======|      a gap: By is negative
//	|=======|x|=======|       a lap: By is positive
type Beside struct {
	Along       float64 // ticks from the start of the pass to the stretch's middle
	Length      float64 // ticks; the stretches of a pass follow one another without a break
	Left, Right Lap
}

// A Lap is how far the end of a bar reaches over the near edge of a
// neighbour's ground; negative where ground is left between.
type Lap struct {
	Pass  int     // ID of the neighbour; 0 where there is none, and By means nothing unless Edge
	Edge  bool    // no pass is beside, but the field's edge: By is how far the bar reached past it
	By    float64 // ticks, across the neighbour's way
	Along float64 // ticks from the start of the neighbour
}

// besideStep is how far apart a pass is compared with its neighbours: a metre
// is shorter than anything a steering error does, and long against a pose.
const besideStep = 1 * plane.Metre

// Neighbours compares the pass of that ID with those beside it, stretch by
// stretch of a metre or so; nil for a pass of no length. A stretch is measured
// at its middle, from the ends of the part of the bar that works there.
//
// A neighbour is another pass, earlier or later, or an earlier or later round
// of the same one, that ran side by side with it, directions within 20
// degrees: the one that laps most, or else comes nearest. Ground worked
// again over nearly half a bar or more is no neighbour's lap, and 0.8 of a
// bar or more left between is a missed pass and no gap: neither is one. Where
// there is none, the field's edge stands in if it is as near and runs along.
func (m *Map) Neighbours(pass int) []Beside {
	n := m.neighbourhood()
	return n.beside(pass - 1)
}

// AllNeighbours returns Neighbours of every pass, in the order of Map.Passes.
func (m *Map) AllNeighbours() [][]Beside {
	n := m.neighbourhood()
	out := make([][]Beside, len(m.Passes))
	parallel.Each(len(out), func(i int) { out[i] = n.beside(i) })
	return out
}

// A neighbourhood finds the ways, and the field's edge, that run by a place.
type neighbourhood struct {
	m     *Map
	ways  []way
	knots []knotOf
	near  near.GridIndex // of knots
	marks []mark         // of the field's edge, in metres
	edge  near.GridIndex // of marks
}

// A knotOf is a knot of a way.
type knotOf struct{ pass, knot int32 }

// neighbourhood files the knots of all ways by cells so large that the ones
// that matter to a place are in its own cell or one around it.
func (m *Map) neighbourhood() *neighbourhood {
	n := &neighbourhood{m: m, ways: m.ways()}
	cell := 0.0
	for i := range n.ways {
		// Half a bar to the neighbour's centre, a gap between, and half a step.
		cell = max(cell, (0.5+missedWidth+0.5/knotsPerWidth)*n.ways[i].width)
	}
	for i := range n.ways {
		for k := range n.ways[i].knots {
			n.knots = append(n.knots, knotOf{int32(i), int32(k)})
		}
	}
	n.near = near.NewGridIndex(cell, len(n.knots), func(i int) (x, y float64) {
		k := n.knots[i]
		return n.ways[k.pass].knots[k.knot].x, n.ways[k.pass].knots[k.knot].y
	})
	if !m.Field.Worked {
		n.marks = m.marks()
		n.edge = near.NewGridIndex(cell, len(n.marks), func(i int) (x, y float64) {
			return n.marks[i].x * float64(plane.Metre), n.marks[i].y * float64(plane.Metre)
		})
	}
	return n
}

// beside compares the pass of that index with its neighbours.
func (n *neighbourhood) beside(pass int) []Beside {
	w := &n.ways[pass]
	count := int(math.Ceil(w.pass.Length / float64(besideStep)))
	if count == 0 {
		return nil
	}
	out := make([]Beside, count)
	length := w.pass.Length / float64(count)
	for i := range out {
		b := &out[i]
		b.Along, b.Length = (float64(i)+0.5)*length, length
		at := w.at(b.Along)
		if w.pass.Poses[at.pose].Silent {
			continue
		}
		left, right, works := n.m.barEnds(w.pass, int(at.pose))
		if works {
			b.Left = n.lap(pass, b.Along, at, left, -1)
			b.Right = n.lap(pass, b.Along, at, right, 1)
		}
	}
	return out
}

// barEnds returns where, across the bar, the part of it that works from a pose
// on begins and ends.
func (m *Map) barEnds(p *Pass, pose int) (left, right float64, works bool) {
	parts := stretches(&m.Machines[p.Machine].Implement, p.States(m.Machines), p.Poses[pose].State)
	if len(parts) == 0 {
		return 0, 0, false
	}
	return float64(parts[0].Left), float64(parts[len(parts)-1].Right), true
}

// lap finds the neighbour on one side (-1 left, 1 right) of a pass whose bar
// stands at a place along it and ends so far across.
func (n *neighbourhood) lap(pass int, along float64, at wayStance, across, side float64) Lap {
	x, y := at.x+across*at.cos, at.y-across*at.sin
	var best Lap
	again := false // some pass ran over the bar's end
	for i := range n.near.Around(x, y) {
		k := n.knots[i]
		w := &n.ways[k.pass]
		from := float64(k.knot) * w.step
		if int(k.pass) == pass && math.Abs(from-along) < 2*w.width || !w.passes(int(k.knot), x, y) {
			continue
		}
		by, ok := n.lapOver(w, from, at, x, y, side)
		narrower := min(w.width, n.ways[pass].width)
		switch {
		case !ok || by.By <= -missedWidth*narrower:
		case by.By >= againWidth*narrower:
			again = again || by.By < w.width // else it is on the other side altogether
		case best.Pass == 0 || by.By > best.By:
			best = by
		}
	}
	if best.Pass == 0 && !again {
		return n.lapOverEdge(at, x, y, side, n.ways[pass].width)
	}
	return best
}

// lapOverEdge returns how far the end of a bar, at x, y, reaches past a
// stretch of the field's edge that runs along the way driven, on that side.
func (n *neighbourhood) lapOverEdge(at wayStance, x, y, side, width float64) Lap {
	const metre = float64(plane.Metre)
	var best Lap
	for i := range n.edge.Around(x, y) {
		k := &n.marks[i]
		ex, ey := x-k.x*metre, y-k.y*metre
		by := ex*k.nx + ey*k.ny
		outward := side * (k.nx*at.cos - k.ny*at.sin) // of the edge, against the way the bar's end points
		if outward < math.Cos(sideBySide) || math.Abs(ex*k.ny-ey*k.nx) > k.half*metre ||
			by >= againWidth*width || by <= -missedWidth*width {
			continue
		}
		if !best.Edge || by > best.By {
			best = Lap{Edge: true, By: by}
		}
	}
	return best
}

// passes reports whether the bar's line goes over x, y between a knot and the
// next.
func (w *way) passes(k int, x, y float64) bool {
	if k+1 >= len(w.knots) {
		return false
	}
	a, b := &w.knots[k], &w.knots[k+1]
	return (x-a.x)*a.sin+(y-a.y)*a.cos >= 0 && (x-b.x)*b.sin+(y-b.y)*b.cos < 0
}

// lapOver returns how far a bar that stands at a place, and whose end on one
// side is at x, y, laps the near edge of w, whose bar goes over x, y on its
// way from one knot to the next. There is none where w runs another way, or
// did not work.
func (n *neighbourhood) lapOver(w *way, from float64, at wayStance, x, y, side float64) (Lap, bool) {
	s := w.locate(plane.Point{X: plane.Round(x), Y: plane.Round(y)}, from, min(from+w.step, w.pass.Length))
	along := at.sin*s.sin + at.cos*s.cos
	if math.Abs(along) < math.Cos(sideBySide) || math.Abs(s.ahead) > float64(plane.Centimetre) || w.pass.Poses[s.pose].Silent {
		return Lap{}, false
	}
	left, right, works := n.m.barEnds(w.pass, int(s.pose))
	lap := Lap{Pass: w.pass.ID, By: s.across - left, Along: s.along}
	if (side > 0) != (along > 0) { // seen from a bar that goes the other way, left is right
		lap.By = right - s.across
	}
	return lap, works
}
