package cause

import (
	"math"

	"lapwing/coverage/beside"
	"lapwing/coverage/machine"
	"lapwing/coverage/region"
	"lapwing/coverage/work"
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
const Sliver = plane.SquareMetre / 4

// What the causes of a skip mean in figures. That a missed pass is at least
// 0.8 working widths wide is set; the others are judgement.
const (
	missedShare   = 0.5  // of the outline, ends left out, with worked ground across
	boundaryShare = 0.25 // of the outline
	delayMost     = 2.0  // working widths: a deeper patch, with passes either side, is a missed pass
	laneMost      = 1.3  // working widths: a wider patch is not before or beyond one pass only
	endShare      = 0.15 // of the outline that an end must make,
	endWidth      = 0.25 // or, of a patch no longer than one pass can leave at its end, of the working width
	wedgeLeast    = 0.35 // of its length × depth: a long wedge fills about half of it,
	wedgeMost     = 0.8  // a strip that an end happens to touch more or far less
	stripRatio    = 2.0  // length to width of a strip
	filled        = 0.7  // of its length × width: a strip fills it, a wedge half of it
)

// explainSkip works out why a patch was skipped, and where it is.
func (m *explainer) explainSkip(p *Skip, r *region.Region, beside []int) {
	widest := machine.Widest(m.Machines)
	passes := p.Passes
	switch {
	case p.Width > remainderWidth*float64(widest):
		p.Cause = Unworked
	case r.Area < Sliver:
		p.Cause = m.sliverCause(r)
	default:
		b := m.borderOf(r)
		if w, at := m.pluggedBy(p, r, &b, beside); w != nil {
			p.Cause, p.Place = Plugged, placeOn(w, at)
			return
		}
		p.Cause, passes = m.skipCause(p, r, &b, beside)
	}
	if w, at := work.Nearest(m.Ways, p.At, passes); w != nil {
		if r.Area >= Sliver {
			at = w.Locate(p.At, 0, w.Pass.Length)
		}
		p.Place = placeOn(w, at)
	}
}

// explainOverlap works out why a patch was worked twice, and where it is.
func (m *explainer) explainOverlap(p *Overlap, r *region.Region) {
	last := &m.Swaths[r.Swaths[len(r.Swaths)-1]]
	w := &m.Ways[last.Pass]
	find := w.Glance
	if r.Area >= Sliver {
		find = w.Locate
	}
	p.Place = placeOn(w, find(p.At, last.From, last.To))
	p.Cause = m.overlapCause(p, r)
}

// sliverCause returns why a sliver was skipped.
func (m *explainer) sliverCause(r *region.Region) Cause {
	if f := m.onField(r); f > 0 && 2*f > r.Shape.Perimeter() {
		return BoundaryEdge
	}
	return BetweenPasses
}

// skipCause returns why a patch was skipped where no section was plugged, and
// the IDs of the passes it is best told by: those that made it, where that is
// plain, else all beside it.
func (m *explainer) skipCause(p *Skip, r *region.Region, b *border, beside []int) (Cause, []int) {
	b.meet(m, r)
	ends := b.endings()
	switch {
	case m.missed(p, b, ends, beside):
		return MissedPass, p.Passes
	case b.atEdge(p):
		return BoundaryEdge, p.Passes
	}
	if c, passes := m.endCause(r, b, ends); c != "" {
		return c, passes
	}
	return BetweenPasses, p.Passes
}

// onField is how much of a region's outline is the field's edge.
func (m *explainer) onField(r *region.Region) float64 {
	sum := 0.0
	for j, ring := range r.Shape.Rings() {
		for k, p := range ring {
			if m.bounds(r.Across[j][k]) {
				sum += plane.Distance(p, ring[(k+1)%len(ring)])
			}
		}
	}
	return sum
}

// atEdge reports whether a good part of a patch's outline is the field's edge.
//
// Hairs that noise leaves along the edge hang on to patches, and have much
// outline and no ground. So half of what the outline is longer than that of a
// strip of the same area and width is taken for edge that does not count, and
// half for what lies across from it.
func (b *border) atEdge(p *Skip) bool {
	length := 0.0
	if p.Width > 0 {
		length = min(b.length, 2*(float64(p.Area)/2/p.Width+p.Width))
	}
	return b.field-(b.length-length)/2 >= boundaryShare*length
}

// pluggedBy returns the way of a pass beside the patch whose bar went over its
// middle with the sections there shut, and where it did; nil for none.
func (m *explainer) pluggedBy(p *Skip, r *region.Region, b *border, beside []int) (*work.Way, work.Spot) {
	for _, s := range beside {
		sw := &m.Swaths[s]
		w := &m.Ways[sw.Pass]
		at := w.Locate(p.At, sw.From, sw.To)
		if math.Abs(at.Ahead) > float64(plane.Centimetre) || math.Abs(at.Across) >= w.Width/2 ||
			m.works(w.Pass, int(at.Pose), at.Across) {
			continue
		}
		along, across := b.reach(at.Sin, at.Cos)
		full := float64(r.Area)/2 >= filled*along*across
		strip := along >= stripRatio*across && (full || along > delayMost*w.Width)
		if b.atEdge(p) && !full {
			continue // shut so as not to work beyond the edge
		}
		if strip || !m.shutToEnd(w.Pass, int(at.Pose), at.Across) {
			return w, at
		}
	}
	return nil, work.Spot{}
}

// works reports whether the bar works at a place across it from a pose on.
func (m *explainer) works(p *work.Pass, pose int, across float64) bool {
	for _, s := range m.Machines[p.Machine].Implement.Open(p.States, p.Poses[pose].State) {
		if float64(s.Left) <= across && across <= float64(s.Right) {
			return true
		}
	}
	return false
}

// shutToEnd reports whether a place across the bar that is shut at a pose has
// not worked before in the pass, or does not work again.
func (m *explainer) shutToEnd(p *work.Pass, pose int, across float64) bool {
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
func (m *explainer) missed(p *Skip, b *border, ends []ending, bordering []int) bool {
	narrowest := math.Inf(1)
	for _, s := range bordering {
		narrowest = min(narrowest, m.Ways[m.Swaths[s].Pass].Width)
	}
	if p.Width < beside.MissedWidth*narrowest || b.betweenSides(p.Width) < missedShare {
		return false
	}
	for _, e := range ends {
		w := &m.Ways[m.Swaths[e.swath].Pass]
		if e.length < 0.5*w.Width || e.wedge() {
			continue
		}
		if along, across := b.reach(e.spot.Sin, e.spot.Cos); along <= delayMost*w.Width && across <= laneMost*w.Width {
			return false
		}
	}
	return true
}

// fills reports whether a patch is the wedge before or beyond an ending, of a
// good part of the bar.
func (e *ending) fills(r *region.Region) bool {
	part := float64(r.Area) / 2 / (e.length * e.far)
	return e.wedge() && part >= wedgeLeast && part <= wedgeMost
}

// endCause returns what was the matter with the ends of passes along most of
// the bar's lines on the patch, and the passes it was the matter with; "" if
// the ends make little of its outline.
func (m *explainer) endCause(r *region.Region, b *border, ends []ending) (Cause, []int) {
	causes := [3]Cause{LoweredLate, LiftedEarly, AngledEnd} // in the order they are tried
	var sums [3]float64
	var passes [3][]int
	var sum, share float64
	for i := range ends {
		e := &ends[i]
		w := &m.Ways[m.Swaths[e.swath].Pass]
		k := 0
		switch {
		case e.wedge():
			k = 2
		case e.kind == endContact:
			k = 1
		}
		sums[k] += e.length
		passes[k] = append(passes[k], w.ID())
		sum += e.length
		if b.length <= 2*(delayMost+laneMost)*w.Width || e.fills(r) {
			share = max(share, e.length/w.Width)
		}
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
