package coverage

import (
	"math"
	"slices"

	"lapwing/geo/plane"
)

// A Cause is why a patch of ground was skipped or worked twice, in the
// trade's words. "" means not looked into.
type Cause string

// Causes of a skip, in the order they are tried: the first that fits is it.
// Dots are the skip, = is the bar.
const (
	// Plugged: the bar went over it while the sections over it were shut and
	// others worked. Where sections were shut to the end of the pass it is
	// that only if the skip is a strip; otherwise the pass ends raggedly.
	//
	//	|=|=|=|
	//	| |.| |
	//	| |.| |
	//	| |.| |
	Plugged Cause = "plugged"

	// MissedPass: as wide as a bar, nearly, with worked ground either side of
	// it along most of its length.
	//
	//	| |......| |
	//	| |......| |
	MissedPass Cause = "missed pass"

	// BoundaryEdge: a good part of its outline is the field's edge.
	//
	//	##############  edge
	//	..............
	//	------pass----
	BoundaryEdge Cause = "boundary edge"

	// LoweredLate: it lies before the start of a pass, as deep on one side of
	// the bar as on the other, more or less.
	//
	//	headland
	//	---------
	//	|.......|
	//	|=======|
	//	|   v   |
	LoweredLate Cause = "lowered late"

	// LiftedEarly is the same beyond the end of a pass.
	LiftedEarly Cause = "lifted early"

	// AngledEnd: it lies at the start or end of a pass, and runs to nothing
	// on one side, since the bar met the other ground at an angle.
	//
	//	headland  _/
	//	       _/..|
	//	     /.....|
	//	    |======|
	AngledEnd Cause = "angled end"

	// BetweenPasses is all else, of an overlap too: neighbours too far apart,
	// or too near.
	BetweenPasses Cause = "between passes"

	// Unworked: so wide that it is no mistake but ground not worked yet.
	Unworked Cause = "unworked"
)

// Causes of an overlap, in the order they are tried.
const (
	// ReWorked: the same ground driven again: passes, or two visits of one,
	// that run side by side over at least half a width, for two widths or more.
	//
	//	|  :====|==:
	//	|  :    |  :
	ReWorked Cause = "re-worked"

	// RoundClosing: a round comes back onto its own beginning.
	//
	//	 _________
	//	|  _____  |
	//	| |     | |
	//	|_|_____|x|
	RoundClosing Cause = "round closing"

	// Turn: one of the passes turns hard there.
	Turn Cause = "turn"

	// OntoHeadland: a pass runs on over the ground of a headland pass that it
	// crosses, with the whole of its bar.
	//
	//	----------
	//	  |xxxx|   headland
	//	--|====|--
	//	  |    |
	OntoHeadland Cause = "onto headland"

	// PointRows: a pass ends on other ground at an angle, so that only a wedge
	// lies double; or passes come together.
	//
	//	\xx|   |
	//	 \x|   |
	//	  \|   |
	PointRows Cause = "point rows"

	// BetweenMachines: neighbours of two machines that lap.
	BetweenMachines Cause = "between machines"
)

// sliver is the area below which a patch is not looked at closely: it is
// smaller than any list of patches shows by default, and receiver noise alone
// makes thousands. Slivers get the cause that nearly all of them have: they
// lie between passes, or along the field's edge. Larger, and a plugged opener
// that soon cleared would go unnoticed; smaller, and time goes into noise.
const sliver = plane.SquareMetre / 4

// What the causes of a skip mean in figures. That a missed pass is at least
// 0.8 working widths wide is set; the others are judgement.
const (
	missedWidth   = 0.8  // working widths
	missedShare   = 0.5  // of the outline, ends left out, with worked ground across
	boundaryShare = 0.25 // of the outline
	delayMost     = 2.0  // working widths: a deeper patch, with passes either side, is a missed pass
	laneMost      = 1.3  // working widths: a wider patch is not before or beyond one pass only
	endShare      = 0.15 // of the outline that an end must make,
	endWidth      = 0.25 // or of the working width
	stripRatio    = 2.0  // length to width of a strip
	filled        = 0.7  // of its length × width: a strip fills it, a wedge half of it
)

// What the causes of an overlap mean in figures.
const (
	parallel     = 20 * math.Pi / 180 // directions that differ by less run side by side
	converging   = 5 * math.Pi / 180  // and by more come together: more than hands wander
	crosswise    = 60 * math.Pi / 180 // and by more than this simply cross
	hardTurn     = 45 * math.Pi / 180 // within a working width of travel
	againWidth   = 0.45               // working widths; half, less what two good drivers are off
	againLength  = 2.0                // working widths
	closingReach = 0.5                // working widths: a patch touches an end that is no farther
	trend        = 2.0                // working widths of travel that a direction is taken over
)

// causes works out why each patch is there, and where it is.
func (m *Map) causes() {
	ways := m.ways()
	each(len(m.Skips), func(i int) {
		p := &m.Skips[i]
		r := &m.Regions[p.Region]
		passes := p.Passes
		if p.Cause == "" {
			p.Cause, passes = m.skipCause(ways, p, r)
		}
		p.Place = placeOf(ways, p.At, passes)
	})
	each(len(m.Overlaps), func(i int) {
		p := &m.Overlaps[i]
		r := &m.Regions[p.Region]
		last := &m.Swaths[r.Swaths[len(r.Swaths)-1]]
		w := &ways[last.Pass]
		p.Place = w.place(w.locate(p.At, last.From, last.To))
		p.Cause = m.overlapCause(ways, p, r)
	})
}

// skipCause returns why a patch was skipped, and the IDs of the passes it is
// best told by: those that made it, where that is plain, else all beside it.
func (m *Map) skipCause(ways []way, p *SkipPatch, r *Region) (Cause, []int) {
	if r.Area < sliver {
		if f := m.onField(r); f > 0 && 2*f > perimeter(r.Shape) {
			return BoundaryEdge, p.Passes
		}
		return BetweenPasses, p.Passes
	}
	beside := m.beside(r)
	b := m.borderOf(ways, r)
	if w := m.pluggedBy(ways, p, r, &b, beside); w != nil {
		return Plugged, []int{w.pass.ID}
	}
	ends := b.endings()
	switch {
	case m.missed(ways, p, &b, ends, beside):
		return MissedPass, p.Passes
	case b.field >= boundaryShare*b.length:
		return BoundaryEdge, p.Passes
	}
	if c, passes := m.endCause(ways, &b, ends); c != "" {
		return c, passes
	}
	return BetweenPasses, p.Passes
}

// onField is how much of a region's outline is the field's edge.
func (m *Map) onField(r *Region) float64 {
	sum := 0.0
	for j, ring := range r.Shape.Rings() {
		for k, p := range ring {
			if l := r.across[j][k]; l == 0 || m.class(l).Kind == OverReach {
				sum += plane.Distance(p, ring[(k+1)%len(ring)])
			}
		}
	}
	return sum
}

// pluggedBy returns the way of a pass beside the patch whose bar went over its
// middle with the sections there shut, or nil.
func (m *Map) pluggedBy(ways []way, p *SkipPatch, r *Region, b *border, beside []int) *way {
	for _, s := range beside {
		sw := &m.Swaths[s]
		w := &ways[sw.Pass]
		at := w.locate(p.At, sw.From, sw.To)
		if math.Abs(at.ahead) > float64(plane.Centimetre) || math.Abs(at.across) >= w.width/2 ||
			m.works(w.pass, int(at.pose), at.across) {
			continue
		}
		along, across := b.reach(at.sin, at.cos)
		full := float64(r.Area)/2 >= filled*along*across
		strip := along >= stripRatio*across && (full || along > delayMost*w.width)
		if b.field >= boundaryShare*b.length && !full {
			continue // shut so as not to work beyond the edge
		}
		if strip || !m.shutToEnd(w.pass, int(at.pose), at.across) {
			return w
		}
	}
	return nil
}

// works reports whether the bar works at a place across it from a pose on.
func (m *Map) works(p *Pass, pose int, across float64) bool {
	machine := &m.Machines[p.Machine]
	for _, s := range stretches(&machine.Implement, machine.Tracks[p.Track].States, p.Poses[pose].State) {
		if float64(s.Left) <= across && across <= float64(s.Right) {
			return true
		}
	}
	return false
}

// shutToEnd reports whether a place across the bar that is shut at a pose has
// not worked before in the pass, or does not work again.
func (m *Map) shutToEnd(p *Pass, pose int, across float64) bool {
	before, after := pose, pose
	for before >= 0 && !m.works(p, before, across) {
		before--
	}
	for after < len(p.Poses)-1 && !m.works(p, after, across) { // the last pose's state means nothing
		after++
	}
	return before < 0 || after == len(p.Poses)-1
}

// missed reports whether the patch is a missed pass, and not only the deep
// end of one that was driven.
func (m *Map) missed(ways []way, p *SkipPatch, b *border, ends []ending, beside []int) bool {
	narrowest := math.Inf(1)
	for _, s := range beside {
		narrowest = min(narrowest, ways[m.Swaths[s].Pass].width)
	}
	if p.Width < missedWidth*narrowest || b.betweenSides(p.Width) < missedShare {
		return false
	}
	for _, e := range ends {
		w := &ways[m.Swaths[e.swath].Pass]
		if e.length < 0.5*w.width || e.wedge() {
			continue
		}
		if along, across := b.reach(e.spot.sin, e.spot.cos); along <= delayMost*w.width && across <= laneMost*w.width {
			return false
		}
	}
	return true
}

// endCause returns what was the matter with the ends of passes along most of
// the bar's lines on the patch, and the passes it was the matter with; "" if
// the ends make little of its outline.
func (m *Map) endCause(ways []way, b *border, ends []ending) (Cause, []int) {
	causes := [3]Cause{LoweredLate, LiftedEarly, AngledEnd} // in the order they are tried
	var sums [3]float64
	var passes [3][]int
	var sum, share float64
	for i := range ends {
		e := &ends[i]
		w := &ways[m.Swaths[e.swath].Pass]
		k := 0
		switch {
		case e.wedge():
			k = 2
		case e.kind == endContact:
			k = 1
		}
		sums[k] += e.length
		passes[k] = append(passes[k], w.pass.ID)
		sum += e.length
		share = max(share, e.length/w.width)
	}
	if sum < endShare*b.length && share < endWidth {
		return "", nil
	}
	k := 0
	for i := range sums {
		if sums[i] > sums[k] {
			k = i
		}
	}
	return causes[k], passes[k]
}

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
	outline := perimeter(r.Shape)
	length, width := stripOf(float64(r.Area)/2, outline)
	again := func(a, b *visitOver) bool {
		w := min(a.width, b.width)
		return crossing(a.heading, b.heading) < parallel && !a.turns() && !b.turns() && width >= againWidth*w && length >= againLength*w
	}
	if anyPair(over, again) {
		return ReWorked
	}
	// Only these need the outline looked at, which takes the time.
	round, cross := anyPair(over, sameRound), anyPair(over, meet)
	var b border
	if round || cross {
		b = m.borderOf(ways, r)
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
		math.Cos(early.heading-late.heading) > math.Cos(parallel)
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
			case !e.wedge() && y.pass.Headland && angle > parallel:
				return OntoHeadland
			}
		}
	}
	switch {
	case anyPair(over, func(a, b *visitOver) bool {
		return a.pass.Headland != b.pass.Headland && crossing(a.heading, b.heading) > parallel
	}):
		return OntoHeadland
	case anyPair(over, func(a, b *visitOver) bool { return meet(a, b) && crossing(a.heading, b.heading) < crosswise }):
		return PointRows
	}
	return ""
}
