package edge

import (
	"cmp"
	"math"
	"slices"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/region"
	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// markSpacing is how far apart the marks are, at most, at which the stand-off is
// measured along the boundary. Where the boundary begins or ceases to be reached,
// and where the covered ground nearest to it changes, there is a mark anyway;
// between marks the stand-off is taken to run straight. Closer marks cost time and
// move its mean by less than a centimetre. Judgement; no test holds it closely.
const markSpacing = 75 * plane.Centimetre

// mostMarks is how many marks a boundary has at most, and cornerMarks how many more
// for each of its corners. So marks lie farther apart than markSpacing only along a
// boundary longer than 37.5 km and 3 m more a corner, which is no field's. Judgement;
// no test holds either closely.
const (
	mostMarks   = 50_000
	cornerMarks = 4
)

// Measure follows the boundary and measures how far from it the covered
// ground begins.
func Measure(l *region.Layout, opt *field.Options) Edge {
	e := Edge{Tolerance: tolerance(opt, l.Machines)}
	spacing := max(plane.Distance(markSpacing), l.Field.Perimeter()/plane.Distance(mostMarks+cornerMarks*l.Field.Corners()))
	w := boundaryScan{spacing: spacing, limit: plane.Distance(l.Headland.Width), allowance: plane.Distance(opt.EdgeAllowance), within: plane.Distance(e.Tolerance + opt.EdgeAllowance)}
	w.covered, w.silent = groundEdges(l)
	for _, ring := range rims(l) {
		w.profile = RingProfile{Hole: ringOf(ring).Area() < 0}
		w.end = near.Nearest{D2: float64(w.limit * w.limit)}
		for i := range ring {
			w.profile.Length += w.follow(&ring[i])
		}
		e.Profile = append(e.Profile, w.profile)
	}
	e.sum()
	return e
}

// usualTolerance is the tolerance where no machine says its row spacing: 6 in, half of
// a spacing of a foot. Judgement. TestCases (cmd/lapwing) fails where it is doubled.
const usualTolerance = 1524 * plane.Tick

// tolerance is the stand-off up to which the boundary counts as reached.
func tolerance(o *field.Options, machines []machine.Machine) plane.Length {
	if o.EdgeTolerance > 0 {
		return o.EdgeTolerance
	}
	var row plane.Length
	for i := range machines {
		row = max(row, machines[i].Implement.RowSpacing)
	}
	if row > 0 {
		return row / 2
	}
	return usualTolerance
}

// A boundaryScan goes along a ring of the boundary, edge by edge.
type boundaryScan struct {
	covered, silent  near.Index
	spacing          plane.Distance // of the marks along the boundary, at most
	limit, allowance plane.Distance
	within           plane.Distance // of covered ground it is reached
	most             plane.Distance // the largest distance so far
	profile          RingProfile
	end              near.Nearest // of where the edge before ended
}

// A standOff is measured at a place of an edge of the boundary, so far along
// it: to the covered ground nearest to it; nil is none within the limit.
type standOff struct {
	along plane.Distance
	near  near.Nearest
}

// follow measures along one edge of the boundary, which has the same ground
// beside it from end to end, and returns its length. Besides the ends of the spans
// that are reached, it marks the bisectors between two nearest edges of ground:
// there the distance, the lower envelope of those to all edges, has its peaks.
//
//	reached         open          reached
//	|---------|---.-----.-----|--------|    | the ends of the spans reached
//	=======__                 __========    . where other ground is nearest
//	         \______   _____/
//	                \_/                     covered ground
func (w *boundaryScan) follow(r *rim) plane.Distance {
	l := near.LineOf(r.from, r.to)
	if r.touches() {
		w.mark(&l, standOff{}, Sample{})
		w.end = near.Nearest{}
		return l.Length
	}
	from := standOff{near: w.end}
	if w.end.Edge == nil {
		from = w.look(&l, 0, from)
	}
	reached := w.reached(&l, from)
	silent := []near.Interval{{To: float64(l.Length)}}
	if r.inner.Kind != region.Unlogged {
		silent = w.silent.Intervals(&l, float64(w.within))
	}
	cuts := cutsOf(l.Length, w.spacing, reached, silent)
	for _, along := range cuts[1:] {
		to := w.look(&l, along, from)
		var as Sample
		switch middle := float64((from.along + along) / 2); {
		case near.Holds(reached, middle):
		case near.Holds(silent, middle):
			as.Unlogged = true
		default:
			as.Open = true
		}
		w.mark(&l, from, as)
		if as.Open || as.Unlogged || w.most < w.within { // else no larger stand-off can be there
			w.turns(&l, from, to, as)
		}
		from = to
	}
	w.end = from.near
	return l.Length
}

// reached returns the spans of a line that are reached, from the stand-off
// where it begins.
func (w *boundaryScan) reached(l *near.Line, from standOff) []near.Interval {
	switch d := distanceTo(&from.near); {
	case d+l.Length <= w.within:
		return []near.Interval{{To: float64(l.Length)}}
	case d-l.Length > w.within:
		return nil
	}
	return w.covered.Intervals(l, float64(w.within))
}

// look finds the covered ground nearest to a place. Distance is 1-Lipschitz: it
// grows by no more than the way from the place before, so what is nearest here lies
// no farther off than that.
func (w *boundaryScan) look(l *near.Line, along plane.Distance, before standOff) standOff {
	x, y := l.At(along)
	most := min(w.limit, distanceTo(&before.near)+along-before.along+2)
	found := near.Nearest{D2: float64(most * most)}
	if before.near.Edge != nil {
		if px, py, d2 := before.near.Edge.Nearest(x, y); d2 < found.D2 {
			found = near.Nearest{Edge: before.near.Edge, X: px, Y: py, D2: d2}
		}
	}
	if nearer := w.covered.Nearest(x, y, found.D2); nearer.Edge != nil {
		found = nearer
	}
	if found.Edge == nil {
		found.D2 = float64(w.limit * w.limit)
	}
	return standOff{along, found}
}

// distanceTo returns how far the nearest place is.
func distanceTo(n *near.Nearest) plane.Distance { return plane.Distance(math.Sqrt(n.D2)) }

// turns marks the places between two others where the nearest edge of covered
// ground changes: on the bisector of two edges, found by halving. The stand-off is
// largest there, or at the two: the distance from one edge is convex along a line,
// so that it is nowhere larger between two places than at the farther of them.
func (w *boundaryScan) turns(l *near.Line, a, b standOff, as Sample) {
	if a.near.Edge == b.near.Edge || a.near.Edge == nil || b.near.Edge == nil || b.along-a.along < 2 {
		return
	}
	m := standOff{along: a.along}
	for low, high := a.along, b.along; high-low > 0.5; {
		m.along = (low + high) / 2
		x, y := l.At(m.along)
		_, _, toA := a.near.Edge.Nearest(x, y)
		_, _, toB := b.near.Edge.Nearest(x, y)
		if toA < toB {
			low = m.along
		} else {
			high = m.along
		}
		m.near.D2 = min(toA, toB)
	}
	x, y := l.At(m.along)
	m.near = w.covered.Nearest(x, y, m.near.D2*(1-1e-9)) // nil if none is nearer than those two
	w.turns(l, a, m, as)
	w.mark(l, m, as)
	w.turns(l, m, b, as)
}

// mark puts a mark at a place.
func (w *boundaryScan) mark(l *near.Line, p standOff, as Sample) {
	x, y := l.At(p.along)
	as.At = plane.Point{X: plane.Round(x), Y: plane.Round(y)}
	as.Along = w.profile.Length + p.along
	distance := min(w.limit, distanceTo(&p.near))
	as.StandOff = max(0, distance-w.allowance)
	w.most = max(w.most, distance)
	w.profile.Marks = append(w.profile.Marks, as)
}

// cutsOf returns where a line is cut: at its ends, at the ends of the spans,
// and so far apart at most.
func cutsOf(length, spacing plane.Distance, spans ...[]near.Interval) []plane.Distance {
	n := max(1, int(math.Ceil(float64(length/spacing))))
	cuts := make([]plane.Distance, 0, n+1)
	for k := range n {
		cuts = append(cuts, length*plane.Distance(k)/plane.Distance(n))
	}
	for _, list := range spans {
		for _, s := range list {
			cuts = append(cuts, plane.Distance(s.From), plane.Distance(s.To))
		}
	}
	slices.Sort(cuts)
	cuts = slices.CompactFunc(cuts, func(a, b plane.Distance) bool { return (b - a).Abs() < 1 })
	if last := &cuts[len(cuts)-1]; len(cuts) > 1 && length-*last < 1 {
		*last = length
		return cuts
	}
	return append(cuts, length)
}

// sum works out the lengths and the openings from the profile.
func (e *Edge) sum() {
	area := 0.0 // between the boundary and the covered ground, square ticks
	for i := range e.Profile {
		r := &e.Profile[i]
		e.Length += r.Length
		var open []Opening
		for k := range r.Marks {
			a := r.Marks[k]
			b, end := r.Marks[0], r.Length
			if k+1 < len(r.Marks) {
				b, end = r.Marks[k+1], r.Marks[k+1].Along
			}
			l := end - a.Along
			area += float64(l) * float64(a.StandOff+b.StandOff) / 2
			e.Max = max(e.Max, a.StandOff)
			if a.Unlogged {
				e.Unlogged += l
			}
			if !a.Open {
				continue
			}
			o := Opening{Ring: i, From: a.Along, To: end, Length: l, Max: max(a.StandOff, b.StandOff), Start: a.At, End: b.At}
			e.Open += o.Length
			if n := len(open); n > 0 && o.From-open[n-1].To < 1 {
				open[n-1].To, open[n-1].End = o.To, o.End
				open[n-1].Length += o.Length
				open[n-1].Max = max(open[n-1].Max, o.Max)
			} else {
				open = append(open, o)
			}
		}
		if n := len(open); n > 1 && open[0].From < 1 && r.Length-open[n-1].To < 1 { // through the ring's start
			open[n-1].To, open[n-1].End = open[0].To, open[0].End
			open[n-1].Length += open[0].Length
			open[n-1].Max = max(open[n-1].Max, open[0].Max)
			open = open[1:]
		}
		for k := range open {
			open[k].At = r.at(open[k].From + open[k].Length/2)
		}
		e.Openings = append(e.Openings, open...)
	}
	if e.Length > 0 {
		e.Mean = plane.Distance(area / float64(e.Length))
	}
	e.Reached = e.Length - e.Open - e.Unlogged
	slices.SortStableFunc(e.Openings, func(a, b Opening) int { return cmp.Compare(b.Length, a.Length) })
}

// at returns the mark nearest before a distance along the ring.
func (r *RingProfile) at(along plane.Distance) plane.Point {
	along = plane.Distance(math.Mod(float64(along), float64(r.Length)))
	k, _ := slices.BinarySearchFunc(r.Marks, along, func(m Sample, a plane.Distance) int { return cmp.Compare(m.Along, a) })
	return r.Marks[max(0, min(k, len(r.Marks)-1))].At
}
