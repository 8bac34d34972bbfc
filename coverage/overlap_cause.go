package coverage

import (
	"math"
	"slices"
)

// What the causes of an overlap mean in figures.
const (
	sideBySide   = 20 * math.Pi / 180 // directions that differ by less run side by side
	converging   = 5 * math.Pi / 180  // and by more come together: more than hands wander
	crosswise    = 60 * math.Pi / 180 // and by more than this simply cross
	hardTurn     = 45 * math.Pi / 180 // within a working width of travel
	againWidth   = 0.45               // working widths; half, less what two good drivers are off
	againLength  = 2.0                // working widths
	closingReach = 0.5                // working widths: a patch touches an end that is no farther
	trend        = 2.0                // working widths of travel that a direction is taken over
)

// overlapCause returns why a patch was worked twice.
func (m *Map) overlapCause(ways []way, p *OverlapPatch, r *Region) Cause {
	last := BetweenPasses
	if len(p.Machines) > 1 {
		last = BetweenMachines
	}
	if r.Area < sliver {
		return last
	}
	over := make([]visitOver, len(r.Swaths))
	for i, s := range r.Swaths {
		w := &ways[m.Swaths[s].Pass]
		at := w.locate(p.At, m.Swaths[s].From, m.Swaths[s].To)
		over[i] = visitOver{s, w, at, w.direction(at.along, trend*w.width)}
	}
	outline := r.Shape.Perimeter()
	length, width := stripOf(float64(r.Area)/2, outline)
	again := func(a, b *visitOver) bool {
		w := min(a.width, b.width)
		return crossing(a.heading, b.heading) < sideBySide && !a.turns() && !b.turns() && width >= againWidth*w && length >= againLength*w
	}
	if anyPair(over, again) {
		return ReWorked
	}
	// Only these need the outline looked at, which takes the time.
	round, cross := anyPair(over, sameRound), anyPair(over, meet)
	var b border
	if round || cross {
		b = m.borderOf(r)
		b.meet(m, ways, r)
	}
	switch {
	case round && anyPair(over, b.closes):
		return RoundClosing
	case slices.ContainsFunc(over, visitOver.turns):
		return Turn
	case cross:
		if c := crossCause(over, b.endings(), outline); c != "" {
			return c
		}
	}
	return last
}

// A visitOver is one of the visits over a patch.
type visitOver struct {
	swath int // index into Map.Swaths
	*way
	at      spot    // the patch's place along it
	heading float64 // of travel there
}

// turns reports whether the pass turns hard there.
func (v visitOver) turns() bool { return v.turned(v.at.along, v.width) > hardTurn }

// anyPair reports whether two of the visits fit, the earlier given first.
func anyPair(over []visitOver, fits func(early, late *visitOver) bool) bool {
	for i := range over {
		for j := range i {
			if fits(&over[j], &over[i]) {
				return true
			}
		}
	}
	return false
}

// stripOf returns the length and width of a strip of an area and outline,
// however it bends.
func stripOf(area, outline float64) (length, width float64) {
	half := outline / 2
	root := half*half - 4*area
	if root <= 0 {
		return math.Sqrt(area), math.Sqrt(area)
	}
	root = math.Sqrt(root)
	return (half + root) / 2, (half - root) / 2
}

// sameRound reports whether two visits may be of one round: of one pass, or of
// headland passes of one machine that make a round between them, that go the
// same way.
func sameRound(early, late *visitOver) bool {
	p, q := early.pass, late.pass
	return (p == q || p.Headland && q.Headland && p.Machine == q.Machine) &&
		math.Cos(early.heading-late.heading) > math.Cos(sideBySide)
}

// closes reports whether the later of two visits of one round comes back onto
// where the earlier began: the patch is on that beginning, and on the end of
// the round. A pass that goes on inward from there does not end: it is enough
// that the patch is no longer than a lap.
func (b *border) closes(early, late *visitOver) bool {
	if !sameRound(early, late) {
		return false
	}
	start, end := false, false
	for _, c := range b.ends {
		start = start || c.swath == early.swath && c.kind == startContact && c.spot.along < closingReach*early.width
		end = end || c.swath == late.swath && c.kind == endContact && late.pass.Length-c.spot.along < closingReach*late.width
	}
	return start && (end || early.pass == late.pass && early.at.along < againLength*early.width)
}

// meet reports whether two visits do not run side by side.
func meet(a, b *visitOver) bool { return crossing(a.heading, b.heading) > converging }

// crossCause returns why passes that meet at an angle lap: it looks for the
// end of one first, and then for passes that cross and go on. It returns "" if
// neither is there.
func crossCause(over []visitOver, ends []ending, outline float64) Cause {
	for _, e := range ends {
		i := slices.IndexFunc(over, func(v visitOver) bool { return v.swath == e.swath })
		if i < 0 || e.length < endShare*outline && e.length < endWidth*over[i].width {
			continue
		}
		x := &over[i]
		for j := range over {
			y := &over[j]
			angle := crossing(x.heading, y.heading)
			switch {
			case i == j || angle < converging:
			case e.wedge() && (y.pass.Headland || angle < crosswise):
				return PointRows
			case !e.wedge() && y.pass.Headland && angle > sideBySide:
				return OntoHeadland
			}
		}
	}
	switch {
	case anyPair(over, func(a, b *visitOver) bool {
		return a.pass.Headland != b.pass.Headland && crossing(a.heading, b.heading) > sideBySide
	}):
		return OntoHeadland
	case anyPair(over, func(a, b *visitOver) bool { return meet(a, b) && crossing(a.heading, b.heading) < crosswise }):
		return PointRows
	}
	return ""
}
