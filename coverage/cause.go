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
		beside := m.beside(r)
		p.Place = m.place(ways, p.At, beside)
		if p.Cause == "" {
			p.Cause = m.skipCause(ways, p, r, beside)
		}
	})
	each(len(m.Overlaps), func(i int) {
		p := &m.Overlaps[i]
		r := &m.Regions[p.Region]
		p.Place = m.place(ways, p.At, r.Swaths[len(r.Swaths)-1:])
		p.Cause = m.overlapCause(ways, p, r)
	})
}

func (m *Map) skipCause(ways []way, p *SkipPatch, r *Region, beside []int) Cause {
	if r.Area < sliver {
		if 2*m.onField(r) > perimeter(r.Shape) {
			return BoundaryEdge
		}
		return BetweenPasses
	}
	b := m.borderOf(ways, r)
	ends := m.endings(ways, &b)
	switch {
	case m.plugged(ways, p, r, &b, beside):
		return Plugged
	case m.missed(ways, p, &b, ends, beside):
		return MissedPass
	case b.field >= boundaryShare*b.length:
		return BoundaryEdge
	}
	if c := m.endCause(ways, &b, ends); c != "" {
		return c
	}
	return BetweenPasses
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

// plugged reports whether the bar of a pass beside the patch went over its
// middle with the sections there shut.
func (m *Map) plugged(ways []way, p *SkipPatch, r *Region, b *border, beside []int) bool {
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
			return true
		}
	}
	return false
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
		at := w.at(m.Swaths[e.swath].From)
		if e.kind == endContact {
			at = w.at(m.Swaths[e.swath].To)
		}
		if along, across := b.reach(at.sin, at.cos); along <= delayMost*w.width && across <= laneMost*w.width {
			return false
		}
	}
	return true
}

// endCause returns what was the matter with the ends of passes along most of
// the bar's lines on the patch; "" if the ends make little of its outline.
func (m *Map) endCause(ways []way, b *border, ends []ending) Cause {
	var late, early, angled, sum, width float64
	for _, e := range ends {
		width = max(width, e.length/ways[m.Swaths[e.swath].Pass].width)
		sum += e.length
		switch {
		case e.wedge():
			angled += e.length
		case e.kind == startContact:
			late += e.length
		default:
			early += e.length
		}
	}
	switch {
	case sum < endShare*b.length && width < endWidth:
		return ""
	case late >= early && late >= angled:
		return LoweredLate
	case early >= angled:
		return LiftedEarly
	}
	return AngledEnd
}

func (m *Map) overlapCause(ways []way, p *OverlapPatch, r *Region) Cause {
	last := BetweenPasses
	if len(p.Machines) > 1 {
		last = BetweenMachines
	}
	if r.Area < sliver {
		return last
	}
	b := m.borderOf(ways, r)
	over := make([]visitOver, len(r.Swaths))
	for i, s := range r.Swaths {
		w := &ways[m.Swaths[s].Pass]
		at := w.locate(p.At, m.Swaths[s].From, m.Swaths[s].To)
		over[i] = visitOver{s, &m.Swaths[s], w, at, w.direction(at.along, trend*w.width)}
	}
	pairs := func(fits func(a, b *visitOver) bool) bool {
		for i := range over {
			for j := range i {
				if fits(&over[j], &over[i]) {
					return true
				}
			}
		}
		return false
	}
	length, width := strip2(float64(r.Area)/2, b.length)
	switch {
	case pairs(func(a, b *visitOver) bool {
		w := min(a.width, b.width)
		return crossing(a.heading, b.heading) < parallel && width >= againWidth*w && length >= againLength*w
	}):
		return ReWorked
	case pairs(func(x, y *visitOver) bool { return m.closes(&b, x, y) }):
		return RoundClosing
	case slices.ContainsFunc(over, func(v visitOver) bool { return v.turned(v.at.along, v.width) > hardTurn }):
		return Turn
	}
	if c := m.crossCause(over, m.endings(ways, &b), b.length, pairs); c != "" {
		return c
	}
	return last
}

// A visitOver is one of the visits over a patch.
type visitOver struct {
	index int
	swath *Swath
	*way
	at      spot    // the patch's place along it
	heading float64 // of travel there
}

// strip2 returns the length and width of a strip of an area and outline,
// however it bends.
func strip2(area, outline float64) (length, width float64) {
	half := outline / 2
	root := half*half - 4*area
	if root <= 0 {
		return math.Sqrt(area), math.Sqrt(area)
	}
	root = math.Sqrt(root)
	return (half + root) / 2, (half - root) / 2
}

// closes reports whether the later of two visits comes back onto where the
// earlier began, going the same way: in one pass, or in headland passes of one
// machine that make a round between them.
func (m *Map) closes(b *border, early, late *visitOver) bool {
	p, q := early.pass, late.pass
	if p.Machine != q.Machine || early.at.cos*late.at.cos+early.at.sin*late.at.sin < math.Cos(math.Pi/6) {
		return false
	}
	if p != q && !(p.Headland && q.Headland) {
		return false
	}
	start, end := false, false
	for _, c := range b.contacts {
		start = start || c.swath == early.index && c.kind == startContact && c.spot.along < closingReach*early.width
		end = end || c.swath == late.index && c.kind == endContact && q.Length-c.spot.along < closingReach*late.width
	}
	return start && (end || p == q && early.at.along < againLength*early.width)
}

// crossCause looks at passes that cross over the patch.
func (m *Map) crossCause(over []visitOver, ends []ending, outline float64, pairs func(func(a, b *visitOver) bool) bool) Cause {
	for _, e := range ends {
		i := slices.IndexFunc(over, func(v visitOver) bool { return v.index == e.swath })
		if i < 0 {
			continue
		}
		x := &over[i]
		if e.length < endShare*outline && e.length < endWidth*x.width {
			continue
		}
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
	case pairs(func(a, b *visitOver) bool {
		return a.pass.Headland != b.pass.Headland && crossing(a.heading, b.heading) > parallel
	}):
		return OntoHeadland
	case pairs(func(a, b *visitOver) bool {
		angle := crossing(a.heading, b.heading)
		return angle > converging && angle < crosswise
	}):
		return PointRows
	}
	return ""
}
