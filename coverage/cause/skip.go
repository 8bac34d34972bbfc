package cause

import (
	"math"

	"lapwing/coverage/beside"
	"lapwing/coverage/locate"
	"lapwing/coverage/machine"
	"lapwing/coverage/region"
	"lapwing/coverage/work"
	"lapwing/geo/plane"
)

// A SkipCause is why a patch of ground was skipped, in the trade's words.
type SkipCause string

// The causes of a skip. Dots are the skip, = is the bar.
const (
	// Plugged: the bar went over the patch while the sections over it were shut
	// and others worked. Where they were shut to the end of the pass, only a
	// strip is plugged; any other shape is a pass that ends raggedly. Where the shut
	// sections went mostly over ground that another pass worked, they were shut for
	// that, and the strip left over is one between passes. Where a log has a width and
	// no sections, which part of the bar was shut is not known, and nothing is plugged.
	//
	//	|=|=|=|
	//	| |.| |
	//	| |.| |
	//	| |.| |
	Plugged SkipCause = "plugged"

	// MissedPass: the patch is nearly as wide as a bar, with worked ground on
	// either side along most of its length.
	//
	//	| |......| |
	//	| |......| |
	MissedPass SkipCause = "missed pass"

	// BoundaryEdge: a good part of the patch's outline is the field's edge.
	//
	//	##############  edge
	//	..............
	//	------pass----
	BoundaryEdge SkipCause = "boundary edge"

	// LoweredLate: the patch lies before the start of a pass, about as deep on
	// one side of the bar as on the other.
	//
	//	headland
	//	---------
	//	|.......|
	//	|=======|
	//	|   v   |
	LoweredLate SkipCause = "lowered late"

	// LiftedEarly is the same beyond the end of a pass.
	LiftedEarly SkipCause = "lifted early"

	// AngledEnd: the patch lies at the start or end of a pass and tapers to a
	// point on one side, since the bar met the other ground at an angle.
	//
	//	headland  _/
	//	       _/..|
	//	     /.....|
	//	    |======|
	AngledEnd SkipCause = "angled end"

	// BetweenPasses: none of the others; the neighbours were too far apart.
	BetweenPasses SkipCause = "between passes"

	// Unworked: the patch is so wide that it is no mistake but ground not worked
	// yet.
	Unworked SkipCause = "unworked"
)

// A SkipRule is one cause of skips, with what a skip must fit to have it.
type SkipRule struct {
	Cause SkipCause
	fits  func(*skipEvidence) bool
}

// SkipRules are the causes of a skip in the order they are tried: the first that
// fits is the cause. The last always fits.
var SkipRules = [...]SkipRule{
	{Unworked, (*skipEvidence).unworked},
	{Plugged, (*skipEvidence).plugged},
	{MissedPass, (*skipEvidence).missed},
	{BoundaryEdge, (*skipEvidence).alongBoundary},
	{LoweredLate, func(e *skipEvidence) bool { return e.ended() == LoweredLate }},
	{LiftedEarly, func(e *skipEvidence) bool { return e.ended() == LiftedEarly }},
	{AngledEnd, func(e *skipEvidence) bool { return e.ended() == AngledEnd }},
	{BetweenPasses, func(*skipEvidence) bool { return true }},
}

// What the causes of a skip mean in figures: judgement. TestSkipCauses fails where one
// of the first group is doubled or halved; no test holds the second group closely.
const (
	missedShare   = 0.5  // the least share of the outline, ends left out, with worked ground across
	boundaryShare = 0.25 // the least share of the outline on the field's edge
	delayMost     = 2.0  // working widths: a deeper patch, with passes on either side, is a missed pass
	laneMost      = 1.3  // working widths: a wider patch lies before or beyond more than one pass
	endShare      = 0.15 // the least share of the outline that the ends of passes make; see endWidth
	endPart       = 0.5  // working widths: a shorter ending does not speak against a missed pass
	wedgeMost     = 0.8  // the most of its length × depth that a wedge fills: about half, and a strip more

	endWidth   = 0.25 // of the working width: an ending so long will do instead of endShare, if its pass alone left the patch
	wedgeLeast = 0.35 // the least of its length × depth that a wedge fills: a long strip fills far less
	stripRatio = 2.0  // the least length of a strip, in its widths
	overShut   = 0.3  // the least share of the shut part of the bar that goes over the strip
	filled     = 0.7  // the least of its length × width that a strip fills: a wedge fills half
)

// remainderWidth is how wide a circle must fit into uncovered ground, in
// working widths of the widest machine, for that to be ground not worked yet and
// no mistake. README promises this figure; TestSkipCauses.
const remainderWidth = 1.5

// A skipEvidence is what the rules know of one skip. What takes time to find is
// found when a rule first asks for it.
type skipEvidence struct {
	*explainer
	skip   *Skip
	region *region.Region
	beside []int // the swaths that border it

	outline *border  // its edges, and what they are on
	ends    []ending // ends of passes along it
	end     SkipCause
	asked   bool // whether end is known

	// What the rule that fits leaves: the passes the skip is best told by, and
	// where it is, if that is known better than by its middle.
	passes []int
	at     *Place
}

// explainSkip works out why a patch was skipped, and where it is.
func (x *explainer) explainSkip(p *Skip, r *region.Region, bordering []int) {
	e := skipEvidence{explainer: x, skip: p, region: r, beside: bordering, passes: p.Passes}
	for _, rule := range SkipRules {
		if rule.fits(&e) {
			p.Cause = rule.Cause
			break
		}
	}
	if e.at != nil {
		p.Place = *e.at
		return
	}
	if w, at := locate.Nearest(x.Ways, p.At, e.passes); w != nil {
		if r.Area >= Sliver {
			at = w.Locate(p.At, 0, w.Pass.Length)
		}
		p.Place = placeOn(w, at)
	}
}

// sliver reports whether the skip is too small to be looked at closely.
func (e *skipEvidence) sliver() bool { return e.region.Area < Sliver }

// border returns the skip's outline, with what its edges are on.
func (e *skipEvidence) border() *border {
	if e.outline == nil {
		b := e.borderOf(e.region)
		e.outline = &b
	}
	return e.outline
}

// meet makes known what the edges of the outline are on.
func (e *skipEvidence) meet() *border {
	b := e.border()
	if b.worked == nil {
		b.meet(e.explainer, e.region)
		e.ends = b.endings()
	}
	return b
}

// unworked reports whether the patch is so wide that it is no mistake.
func (e *skipEvidence) unworked() bool {
	return e.skip.Width > remainderWidth*plane.Distance(machine.Widest(e.Machines))
}

// alongBoundary reports whether a good part of the outline is the field's edge;
// of a sliver's, more than half.
func (e *skipEvidence) alongBoundary() bool {
	if e.sliver() {
		f := e.onField(e.region)
		return f > 0 && 2*f > e.region.Shape.Perimeter()
	}
	return e.border().atEdge(e.skip)
}

// ended returns which cause the ends of passes along the patch speak for; "" where
// they make little of its outline.
func (e *skipEvidence) ended() SkipCause {
	if e.sliver() {
		return ""
	}
	if !e.asked {
		b := e.meet()
		var passes []int
		if e.end, passes = e.endCause(e.region, b, e.ends); e.end != "" {
			e.passes = passes
		}
		e.asked = true
	}
	return e.end
}

// plugged reports whether the bar of a pass beside the patch went over its
// middle with the sections there shut.
func (e *skipEvidence) plugged() bool {
	if e.sliver() {
		return false
	}
	w, at := e.pluggedBy(e.skip, e.region, e.border(), e.beside)
	if w == nil {
		return false
	}
	place := placeOn(w, at)
	e.at = &place
	return true
}

// missed reports whether the patch is a missed pass, and not only the deep
// end of one that was driven.
func (e *skipEvidence) missed() bool {
	if e.sliver() {
		return false
	}
	b := e.meet()
	narrowest := plane.Distance(math.Inf(1))
	for _, s := range e.beside {
		narrowest = min(narrowest, e.Ways[e.Swaths[s].Pass].Width)
	}
	if e.skip.Width < beside.MissedWidth*narrowest || b.betweenSides(e.skip.Width) < missedShare {
		return false
	}
	for _, end := range e.ends {
		w := &e.Ways[e.Swaths[end.swath].Pass]
		if end.length < endPart*w.Width || end.wedge() {
			continue
		}
		if along, across := b.reach(end.spot.Sin, end.spot.Cos); along <= delayMost*w.Width && across <= laneMost*w.Width {
			return false
		}
	}
	return true
}

// onField is how much of a region's outline is the field's edge.
func (x *explainer) onField(r *region.Region) plane.Distance {
	var sum plane.Distance
	for j, ring := range r.Shape.Rings() {
		for k, p := range ring {
			if x.bounds(r.Across[j][k]) {
				sum += p.Distance(ring[(k+1)%len(ring)])
			}
		}
	}
	return sum
}

// atEdge reports whether a good part of a patch's outline is the field's edge.
//
// Noise leaves spurs along the edge, which have outline and no area. So what the
// outline is longer than that of a strip of the same area and width is not counted:
// half of it is taken to be on the field's edge, half on the spurs' inner side.
func (b *border) atEdge(p *Skip) bool {
	var length plane.Distance
	if p.Width > 0 {
		length = min(b.length, 2*(plane.Distance(float64(p.Area)/2/float64(p.Width))+p.Width)) // an Area is in half square ticks
	}
	return b.field-(b.length-length)/2 >= boundaryShare*length
}

// pluggedBy returns the way of a pass beside the patch whose bar went over its
// middle with the sections there shut, and where it did; nil for none.
func (x *explainer) pluggedBy(p *Skip, r *region.Region, b *border, beside []int) (*locate.Way, locate.Spot) {
	for _, s := range beside {
		sw := &x.Swaths[s]
		w := &x.Ways[sw.Pass]
		at := w.Locate(p.At, sw.From, sw.To)
		if at.Ahead.Abs() > plane.Distance(plane.Centimetre) || at.Across.Abs() >= w.Width/2 {
			continue
		}
		shut := x.shut(w.Pass, int(at.Pose), at.Across)
		along, across := b.reach(at.Sin, at.Cos)
		if shut == 0 || float64(r.Area)/2 < float64(overShut*shut*along) { // an Area is in half square ticks
			continue
		}
		full := float64(r.Area)/2 >= float64(filled*along*across) // an Area is in half square ticks
		strip := along >= stripRatio*across && (full || along > delayMost*w.Width)
		if b.atEdge(p) && !full {
			continue // shut so as not to work beyond the edge
		}
		if strip || !x.shutToEnd(w.Pass, int(at.Pose), at.Across) {
			return w, at
		}
	}
	return nil, locate.Spot{}
}

// shut returns how wide the part of the bar is that is shut around a place across it from
// a pose on: 0 where it works there, or where that is not known.
func (x *explainer) shut(p *work.Pass, pose int, across plane.Distance) plane.Distance {
	im := &x.Machines[p.Machine].Implement
	state := im.Open(p.States, p.Poses[pose].State)
	if len(im.Sections) == 1 && len(state) == 1 && state[0].Left == -state[0].Right {
		return 0 // a width that was laid in the middle (package worklog)
	}
	left, right := plane.Distance(im.Sections[0].Left), plane.Distance(im.Sections[len(im.Sections)-1].Right)
	for _, open := range state {
		switch l, r := plane.Distance(open.Left), plane.Distance(open.Right); {
		case r < across:
			left = r
		case l > across:
			right = min(right, l)
		default:
			return 0
		}
	}
	return right - left
}

// works reports whether the bar works at a place across it from a pose on.
func (x *explainer) works(p *work.Pass, pose int, across plane.Distance) bool {
	for _, s := range x.Machines[p.Machine].Implement.Open(p.States, p.Poses[pose].State) {
		if plane.Distance(s.Left) <= across && across <= plane.Distance(s.Right) {
			return true
		}
	}
	return false
}

// shutToEnd reports whether a place across the bar that is shut at a pose was shut
// from the start of the pass, or stays shut to its end.
func (x *explainer) shutToEnd(p *work.Pass, pose int, across plane.Distance) bool {
	before, after := pose, pose
	for before >= 0 && !x.works(p, before, across) {
		before--
	}
	for after < len(p.Poses)-1 && !x.works(p, after, across) { // the last pose's state means nothing
		after++
	}
	return before < 0 || after == len(p.Poses)-1
}

// fills reports whether a patch is just the wedge before or beyond an ending, and
// not a long strip that happens to touch one.
func (e *ending) fills(r *region.Region) bool {
	part := float64(r.Area) / 2 / float64(e.length*e.far) // an Area is in half square ticks
	return e.wedge() && part >= wedgeLeast && part <= wedgeMost
}

// endCause returns the cause that most of the bar's lines along the patch speak
// for, by length, and the passes that they belong to; "" if the lines make little
// of its outline.
func (x *explainer) endCause(r *region.Region, b *border, ends []ending) (SkipCause, []int) {
	const late, early, angled = 0, 1, 2 // of several that are as long the first is the cause
	causes := [...]SkipCause{late: LoweredLate, early: LiftedEarly, angled: AngledEnd}
	var sums [len(causes)]plane.Distance
	var passes [len(causes)][]int
	var sum plane.Distance
	var share float64
	for i := range ends {
		e := &ends[i]
		w := &x.Ways[x.Swaths[e.swath].Pass]
		k := late
		switch {
		case e.wedge():
			k = angled
		case e.kind == endContact:
			k = early
		}
		sums[k] += e.length
		passes[k] = append(passes[k], w.ID())
		sum += e.length
		if b.length <= 2*(delayMost+laneMost)*w.Width || e.fills(r) {
			share = max(share, float64(e.length/w.Width))
		}
	}
	if sum < endShare*b.length && share < endWidth {
		return "", nil
	}
	k := late
	for i := range sums {
		if sums[i] > sums[k] {
			k = i
		}
	}
	return causes[k], passes[k]
}
