package cause

import (
	"math"
	"slices"

	"lapwing/coverage/beside"
	"lapwing/coverage/locate"
	"lapwing/coverage/region"
	"lapwing/geo/plane"
)

// An OverlapCause is why a patch of ground was worked twice, in the trade's
// words.
type OverlapCause string

// The causes of an overlap.
const (
	// ReWorked: the same ground was driven again. Two passes, or two visits of
	// one, lap side by side over nearly half a width or more, for two widths or
	// more.
	//
	//	|  :====|==:
	//	|  :    |  :
	ReWorked OverlapCause = "re-worked"

	// RoundClosing: a round comes back onto its own beginning.
	//
	//	 _________
	//	|  _____  |
	//	| |     | |
	//	|_|_____|x|
	RoundClosing OverlapCause = "round closing"

	// Turn: one of the passes turns hard there.
	Turn OverlapCause = "turn"

	// OntoHeadland: a pass runs on, with the whole of its bar, over the ground of
	// a headland pass that it crosses.
	//
	//	----------
	//	  |xxxx|   headland
	//	--|====|--
	//	  |    |
	OntoHeadland OverlapCause = "onto headland"

	// PointRows: a pass ends on other ground at an angle, so that only a wedge
	// is worked twice; or two passes converge.
	//
	//	\xx|   |
	//	 \x|   |
	//	  \|   |
	PointRows OverlapCause = "point rows"

	// BetweenMachines: neighbouring passes of two machines lap, or passes of two
	// machines cross and both go on.
	BetweenMachines OverlapCause = "between machines"

	// LapBetweenPasses: none of the others; the neighbours were too near.
	LapBetweenPasses OverlapCause = "between passes"
)

// An OverlapRule says when an overlap has a cause, and what to tell of it.
type OverlapRule struct {
	Cause  OverlapCause
	Waste  string // how a person tells of product wasted so
	Remedy string // what ends it
	fits   func(*overlapEvidence) bool
}

// OverlapRules are the causes of an overlap in the order they are tried: the
// first that fits is the cause. The last always fits.
var OverlapRules = [...]OverlapRule{
	{ReWorked, "worked again", "lift or shut off on ground already done", (*overlapEvidence).reWorked},
	{RoundClosing, "round closing", "lift where the round began", (*overlapEvidence).closes},
	{Turn, "in turns", "lift before the turn", (*overlapEvidence).turns},
	{OntoHeadland, "onto headland", "lift and lower at the edge of the headland",
		func(e *overlapEvidence) bool { return e.crossed() == OntoHeadland }},
	{PointRows, "point rows", "shut sections as the rows run out",
		func(e *overlapEvidence) bool { return e.crossed() == PointRows }},
	{BetweenMachines, "between machines", "agree where one machine's ground ends and the next one's begins",
		func(e *overlapEvidence) bool { return len(e.overlap.Machines) > 1 }}, // those that cross among them, see crossCause
	{LapBetweenPasses, "between passes", "drive passes nearer to the full width apart",
		func(*overlapEvidence) bool { return true }},
}

// RuleOf returns the rule of a cause; nil where there is none.
func RuleOf(c OverlapCause) *OverlapRule {
	for i := range OverlapRules {
		if OverlapRules[i].Cause == c {
			return &OverlapRules[i]
		}
	}
	return nil
}

// What the causes of an overlap mean in figures: judgement. TestOverlapCauses fails
// where againLength is halved, TestCases (cmd/lapwing) where trend is doubled; no test
// holds the others closely.
const (
	converging   = plane.Angle(5 * math.Pi / 180)  // headings that differ by more converge: hand steering wanders by less
	crosswise    = plane.Angle(60 * math.Pi / 180) // headings that differ by more cross
	hardTurn     = plane.Angle(45 * math.Pi / 180) // the least turn within a working width of travel that is hard
	againLength  = 2.0                             // working widths that ground worked again is long at least
	closingReach = 0.5                             // working widths: a patch touches the end of a pass that is no farther off
	trend        = 2.0                             // working widths of travel that a direction is taken over
)

// An overlapEvidence is what the rules know of one overlap. What takes time to
// find is found when a rule first asks for it.
type overlapEvidence struct {
	*explainer
	overlap *Overlap
	region  *region.Region
	over    []visitOver // of all visits; none of a sliver

	outline *border
	cross   OverlapCause
	asked   bool // whether cross is known
}

// explainOverlap works out why a patch was worked twice, and where it is.
func (x *explainer) explainOverlap(p *Overlap, r *region.Region) {
	last := &x.Swaths[r.Swaths[len(r.Swaths)-1]]
	w := &x.Ways[last.Pass]
	find := w.Glance
	if r.Area >= Sliver {
		find = w.Locate
	}
	p.Place = placeOn(w, find(p.At, last.From, last.To))
	e := overlapEvidence{explainer: x, overlap: p, region: r}
	if r.Area >= Sliver {
		e.over = x.visitsOver(p, r)
	}
	for _, rule := range OverlapRules {
		if rule.fits(&e) {
			p.Cause = rule.Cause
			return
		}
	}
}

// visitsOver returns the visits over a patch.
func (x *explainer) visitsOver(p *Overlap, r *region.Region) []visitOver {
	over := make([]visitOver, len(r.Swaths))
	for i, s := range r.Swaths {
		w := &x.Ways[x.Swaths[s].Pass]
		at := w.Locate(p.At, x.Swaths[s].From, x.Swaths[s].To)
		over[i] = visitOver{swath: s, Way: w, ground: &x.PassAreas[w.Index], at: at, heading: w.Direction(at.Along, trend*w.Width)}
	}
	return over
}

// border returns the outline of the patch with what its edges are on; to find that
// takes the time.
func (e *overlapEvidence) border() *border {
	if e.outline == nil {
		b := e.borderOf(e.region)
		b.meet(e.explainer, e.region)
		e.outline = &b
	}
	return e.outline
}

// reWorked reports whether two visits ran side by side over most of a bar.
func (e *overlapEvidence) reWorked() bool {
	if len(e.over) == 0 {
		return false
	}
	length, width := stripOf(e.region.Area, e.region.Shape.Perimeter())
	return anyPair(e.over, func(a, b *visitOver) bool {
		w := min(a.Width, b.Width)
		return width >= beside.AgainWidth*w && length >= againLength*w && a.heading.Between(b.heading) < beside.SideBySide && !a.turns() && !b.turns()
	})
}

// closes reports whether a round comes back onto its beginning.
func (e *overlapEvidence) closes() bool {
	if !anyPair(e.over, sameRound) {
		return false
	}
	e.border().touch(e.over)
	return anyPair(e.over, closesRound)
}

// turns reports whether one of the passes turns hard there.
func (e *overlapEvidence) turns() bool {
	for i := range e.over {
		if e.over[i].turns() {
			return true
		}
	}
	return false
}

// crossed returns why passes that meet at an angle lap; "" where none do.
func (e *overlapEvidence) crossed() OverlapCause {
	if !e.asked {
		if e.asked = true; anyPair(e.over, meet) {
			e.cross = crossCause(e.over, e.border().endings(), e.region.Shape.Perimeter())
		}
	}
	return e.cross
}

// A visitOver is one of the visits over a patch.
type visitOver struct {
	swath int // index into Layout.Swaths
	*locate.Way
	ground  *region.PassAreas // of the pass
	at      locate.Spot       // the patch's place along it
	heading plane.Angle       // of travel there

	starts, ends bool // whether the patch is on the beginning of the pass, and on its end: see touch
	asked, hard  bool // whether turns was asked, and its answer
}

// turns reports whether the pass turns hard there. The answer takes time and is
// asked for with each pair of visits, so it is kept.
func (v *visitOver) turns() bool {
	if !v.asked {
		v.asked, v.hard = true, v.Turned(v.at.Along, v.Width) > hardTurn
	}
	return v.hard
}

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

// stripOf returns the length L and width W of the strip, however it bends, that
// has an area and an outline: L W = area, and L + W = outline / 2. No strip has an
// outline shorter than a square's; then both are a square's side.
func stripOf(area plane.Area, outline plane.Distance) (length, width plane.Distance) {
	square := float64(area) / 2 // an Area is in half square ticks
	half := float64(outline / 2)
	root := half*half - 4*square
	if root <= 0 {
		side := plane.Distance(math.Sqrt(square))
		return side, side
	}
	root = math.Sqrt(root)
	return plane.Distance((half + root) / 2), plane.Distance((half - root) / 2)
}

// sameRound reports whether two visits may be of one round: of one pass, or of
// headland passes of one machine that make a round between them, that go the
// same way.
func sameRound(early, late *visitOver) bool {
	p, q := early.Pass, late.Pass
	return (p == q || early.ground.Headland && late.ground.Headland && p.Machine == q.Machine) &&
		math.Cos(float64(early.heading-late.heading)) > math.Cos(float64(beside.SideBySide))
}

// touch notes which of the visits over the patch, whose swaths rise, have their
// pass's beginning or its end on it.
func (b *border) touch(over []visitOver) {
	for _, c := range b.ends {
		i, is := slices.BinarySearchFunc(over, c.swath, func(v visitOver, swath int) int { return v.swath - swath })
		if !is {
			continue
		}
		switch v := &over[i]; c.kind {
		case startContact:
			v.starts = v.starts || c.spot.Along < closingReach*v.Width
		case endContact:
			v.ends = v.ends || v.Pass.Length-c.spot.Along < closingReach*v.Width
		}
	}
}

// closesRound reports whether the later of two visits of one round comes back onto
// where the earlier began: the patch is on that beginning, and on the end of
// the round. A pass that goes on inward from there does not end: it is enough
// that the patch is no longer than a lap.
func closesRound(early, late *visitOver) bool {
	return early.starts && (late.ends || early.Pass == late.Pass && early.at.Along < againLength*early.Width) && sameRound(early, late)
}

// meet reports whether two visits do not run side by side.
func meet(a, b *visitOver) bool { return a.heading.Between(b.heading) > converging }

// crossCause returns why passes that meet at an angle lap: it looks for the
// end of one first, and then for passes that cross and go on: those of two machines
// are no point rows, since neither ran out of rows. It returns "" if neither is there.
func crossCause(over []visitOver, ends []ending, outline plane.Distance) OverlapCause {
	for _, e := range ends {
		i := slices.IndexFunc(over, func(v visitOver) bool { return v.swath == e.swath })
		if i < 0 || e.length < endShare*outline && e.length < endWidth*over[i].Width {
			continue
		}
		x := &over[i]
		for j := range over {
			y := &over[j]
			angle := x.heading.Between(y.heading)
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
		return a.ground.Headland != b.ground.Headland && a.heading.Between(b.heading) > beside.SideBySide
	}):
		return OntoHeadland
	case anyPair(over, func(a, b *visitOver) bool { return meet(a, b) && a.Pass.Machine != b.Pass.Machine }):
		return BetweenMachines
	case anyPair(over, func(a, b *visitOver) bool { return meet(a, b) && a.heading.Between(b.heading) < crosswise }):
		return PointRows
	}
	return ""
}
