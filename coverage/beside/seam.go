package beside

import (
	"lapwing/coverage/locate"
	"lapwing/coverage/region"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Seam is one side of a pass: how the ground it worked meets that of its
// neighbours, see [Neighbourhood.Beside].
type Seam struct {
	Marks []SeamStretch // along the pass, without a break
	// Of the pass's length: Beside has a neighbour, AtEdge the field's edge
	// instead; Crossed has ground beside it that is no skip, worked by a pass that
	// runs another way, outside the field, or where the log is silent; along Alone the
	// ground is bare and no neighbour tells what is left of it. Open is the part of
	// Beside where more than the tolerance is left. How near the pass came to the
	// field's edge is told by package edge.
	Beside, AtEdge, Crossed, Alone, Open plane.Distance
	Mean                                 plane.Distance // of By along Beside; negative for a gap
	WidestGap                            plane.Distance // 0 where none is left
	WidestLap                            plane.Distance // 0 where nothing is lapped
	EdgeGap                              plane.Distance // left to the field's edge at most
	Gaps                                 []SeamGap
}

// A SeamStretch is a stretch of a seam.
type SeamStretch struct {
	From, To plane.Distance // along the pass
	Beside   bool           // there is a neighbour; else By means nothing
	By       plane.Distance // lapped, negative where ground is left
}

// A SeamGap is a stretch of a seam along which more than the tolerance is left
// between the pass and its neighbour.
type SeamGap struct {
	From, To plane.Distance // along the pass
	Widest   plane.Distance // left at most
	At       plane.Point    // on the seam, where it is widest
}

// gapsApart is how long the pass must be joined between two gaps for them to
// be two. Judgement: who stands at a gap sees another that is nearer. No test holds it
// closely.
const gapsApart = 5 * plane.Metre

// Seams follows both sides of the pass of that index. More ground left than the
// tolerance counts as open; skips are the regions that no pass covered.
func (n *Neighbourhood) Seams(pass int, tolerance plane.Length, skips []*region.Region) (left, right Seam) {
	w := &n.ways[pass]
	for _, b := range n.Beside(pass) {
		left.add(n, w, &b, b.Left, tolerance, -1, skips)
		right.add(n, w, &b, b.Right, tolerance, 1, skips)
	}
	for _, s := range []*Seam{&left, &right} {
		if s.Beside > 0 {
			s.Mean /= s.Beside
		}
	}
	return left, right
}

// add takes the next stretch of a pass into its seam on a side, -1 left or 1
// right. Where the ground up to a neighbour is no skip, a pass that runs
// another way worked it, and there is no seam.
func (s *Seam) add(n *Neighbourhood, w *locate.Way, b *Stretch, lap Lap, tolerance plane.Length, side float64, skips []*region.Region) {
	mark := SeamStretch{From: b.Along - b.Length/2, To: b.Along + b.Length/2, Beside: lap.Pass != 0, By: lap.By}
	s.Marks = append(s.Marks, mark)
	switch {
	case lap.Edge:
		s.AtEdge += b.Length
		s.EdgeGap = max(s.EdgeGap, -lap.By)
		return
	case mark.Beside && lap.By < -plane.Distance(tolerance) && !anyHolds(skips, n.seamAt(w, b.Along, lap.By, side)):
		s.Marks[len(s.Marks)-1].Beside = false
		s.Crossed += b.Length
		return
	case !mark.Beside && !anyHolds(skips, n.seamAt(w, b.Along, -2*plane.Distance(tolerance), side)):
		s.Crossed += b.Length
		return
	case !mark.Beside:
		s.Alone += b.Length
		return
	}
	s.Beside += b.Length
	s.Mean += lap.By * b.Length
	s.WidestGap, s.WidestLap = max(s.WidestGap, -lap.By), max(s.WidestLap, lap.By)
	if lap.By >= -plane.Distance(tolerance) {
		return
	}
	s.Open += b.Length
	count := len(s.Gaps)
	if count == 0 || mark.From-s.Gaps[count-1].To > plane.Distance(gapsApart) {
		s.Gaps = append(s.Gaps, SeamGap{From: mark.From})
		count++
	}
	g := &s.Gaps[count-1]
	g.To = mark.To
	if -lap.By > g.Widest {
		g.Widest, g.At = -lap.By, n.seamAt(w, b.Along, lap.By, side)
	}
}

// seamAt returns the middle of a gap beside a pass.
func (n *Neighbourhood) seamAt(w *locate.Way, along, by plane.Distance, side float64) plane.Point {
	at := w.At(along)
	left, right, _ := n.barEnds(w.Pass, int(at.Pose))
	across := float64(left)
	if side > 0 {
		across = float64(right)
	}
	across -= side * float64(by) / 2 // by is negative: out into the gap
	return plane.Point{
		X: plane.Round(at.X + across*at.Cos),
		Y: plane.Round(at.Y - across*at.Sin),
	}
}

func anyHolds(regions []*region.Region, p plane.Point) bool {
	for _, r := range regions {
		if r.Shape.Contains(p) {
			return true
		}
	}
	return false
}

// Bearing returns how far q is from p, and in which direction.
func Bearing(p, q plane.Point) (plane.Distance, geo.Bearing) {
	return p.Distance(q), geo.BearingTowards(plane.Direction(float64(q.X-p.X), float64(q.Y-p.Y)))
}
