package beside

import (
	"lapwing/coverage/locate"
	"lapwing/coverage/machine"
	"lapwing/coverage/work"
	"lapwing/geo/plane"
)

// reachOf is how far from the end of a bar the knots may lie of a pass that runs beside
// it: half a bar to the neighbour's centre, a gap between, and half a step.
func reachOf(width, step plane.Distance) plane.Distance {
	return (0.5+MissedWidth)*width + 0.5*step
}

// Join makes the machines those that there are by now: the ones before first, in the same
// order.
func (n *Neighbourhood) Join(machines []machine.Machine) { n.machines = machines }

// Add takes a pass in that is being driven, and returns its index. The pass grows:
// after poses were added to it [Neighbourhood.Extend] is to be called. While passes are
// added, only the goroutine that adds them may ask.
func (n *Neighbourhood) Add(p *work.Pass) int {
	n.ways = append(n.ways, locate.GrowingWay(len(n.ways), p, n.machines[p.Machine].Implement.Width))
	return len(n.ways) - 1
}

// Extend takes in how far the pass of an index has come.
func (n *Neighbourhood) Extend(pass int) {
	w := &n.ways[pass]
	for k := w.Grow(); k < len(w.Knots); k++ {
		n.late.Add(w.Knots[k].X, w.Knots[k].Y, int32(len(n.knots)))
		n.knots = append(n.knots, knotOf{int32(pass), int32(k)})
	}
}

// Of returns the pass of an index.
func (n *Neighbourhood) Of(pass int) *work.Pass { return n.ways[pass].Pass }

// A Driving is a bar that is being driven: where it is, and what it left behind.
type Driving struct {
	Machine int
	Bar     locate.WayStance
	// Left and Right are the ends of the part of the bar that works.
	Left, Right plane.Distance
	// Pass is its own pass as far as it was added, and Begun the one it was before,
	// as far as that was known from the beginning; -1 for none. Along are how far
	// along them the bar is, which may be beyond their end.
	Pass, Begun             int
	AlongPass, AlongOfBegun plane.Distance
}

// Now compares a bar that is being driven with what runs beside it by now, as
// [Neighbourhood.Beside] does once the pass is known.
func (n *Neighbourhood) Now(d *Driving) (left, right Lap) {
	b := bar{WayStance: d.Bar, width: plane.Distance(n.machines[d.Machine].Implement.Width),
		own: [2]onWay{{d.Pass, d.AlongPass}, {d.Begun, d.AlongOfBegun}}}
	return n.lap(&b, d.Left, -1), n.lap(&b, d.Right, 1)
}
