package cause

import (
	"math"
	"slices"

	"lapwing/coverage/beside"
	"lapwing/coverage/region"
	"lapwing/coverage/work"
)

// What the causes of an overlap mean in figures.
const (
	converging   = 5 * math.Pi / 180  // and by more come together: more than hands wander
	crosswise    = 60 * math.Pi / 180 // and by more than this simply cross
	hardTurn     = 45 * math.Pi / 180 // within a working width of travel
	againLength  = 2.0                // working widths
	closingReach = 0.5                // working widths: a patch touches an end that is no farther
	trend        = 2.0                // working widths of travel that a direction is taken over
)

// overlapCause returns why a patch was worked twice.
func (m *explainer) overlapCause(p *Overlap, r *region.Region) Cause {
	last := BetweenPasses
	if len(p.Machines) > 1 {
		last = BetweenMachines
	}
	if r.Area < Sliver {
		return last
	}
	over := make([]visitOver, len(r.Swaths))
	for i, s := range r.Swaths {
		w := &m.Ways[m.Swaths[s].Pass]
		at := w.Locate(p.At, m.Swaths[s].From, m.Swaths[s].To)
		over[i] = visitOver{s, w, &m.PassGrounds[w.Index], at, w.Direction(at.Along, trend*w.Width)}
	}
	outline := r.Shape.Perimeter()
	length, width := stripOf(float64(r.Area)/2, outline)
	again := func(a, b *visitOver) bool {
		w := min(a.Width, b.Width)
		return crossing(a.heading, b.heading) < beside.SideBySide && !a.turns() && !b.turns() && width >= beside.AgainWidth*w && length >= againLength*w
	}
	if anyPair(over, again) {
		return ReWorked
	}
	// Only these need the outline looked at, which takes the time.
	round, cross := anyPair(over, sameRound), anyPair(over, meet)
	var b border
	if round || cross {
		b = m.borderOf(r)
		b.meet(m, r)
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
	swath int // index into Layout.Swaths
	*work.Way
	ground  *region.PassGround // of the pass
	at      work.Spot          // the patch's place along it
	heading float64            // of travel there
}

// turns reports whether the pass turns hard there.
func (v visitOver) turns() bool { return v.Turned(v.at.Along, v.Width) > hardTurn }

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
	p, q := early.Pass, late.Pass
	return (p == q || early.ground.Headland && late.ground.Headland && p.Machine == q.Machine) &&
		math.Cos(early.heading-late.heading) > math.Cos(beside.SideBySide)
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
		start = start || c.swath == early.swath && c.kind == startContact && c.spot.Along < closingReach*early.Width
		end = end || c.swath == late.swath && c.kind == endContact && late.Pass.Length-c.spot.Along < closingReach*late.Width
	}
	return start && (end || early.Pass == late.Pass && early.at.Along < againLength*early.Width)
}

// meet reports whether two visits do not run side by side.
func meet(a, b *visitOver) bool { return crossing(a.heading, b.heading) > converging }

// crossCause returns why passes that meet at an angle lap: it looks for the
// end of one first, and then for passes that cross and go on. It returns "" if
// neither is there.
func crossCause(over []visitOver, ends []ending, outline float64) Cause {
	for _, e := range ends {
		i := slices.IndexFunc(over, func(v visitOver) bool { return v.swath == e.swath })
		if i < 0 || e.length < endShare*outline && e.length < endWidth*over[i].Width {
			continue
		}
		x := &over[i]
		for j := range over {
			y := &over[j]
			angle := crossing(x.heading, y.heading)
			switch {
			case i == j || angle < converging:
			case e.wedge() && (y.ground.Headland || angle < crosswise):
				return PointRows
			case !e.wedge() && y.ground.Headland && angle > beside.SideBySide:
				return OntoHeadland
			}
		}
	}
	switch {
	case anyPair(over, func(a, b *visitOver) bool {
		return a.ground.Headland != b.ground.Headland && crossing(a.heading, b.heading) > beside.SideBySide
	}):
		return OntoHeadland
	case anyPair(over, func(a, b *visitOver) bool { return meet(a, b) && crossing(a.heading, b.heading) < crosswise }):
		return PointRows
	}
	return ""
}
