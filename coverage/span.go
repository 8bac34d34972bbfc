package coverage

import (
	"cmp"
	"math"
	"slices"

	"lapwing/geo/plane"
)

// A line runs straight from x, y for a length, in the direction dx, dy, of
// length 1.
type line struct{ x, y, dx, dy, length float64 }

func lineOf(a, b plane.Point) line {
	dx, dy, length := float64(b.X-a.X), float64(b.Y-a.Y), plane.Distance(a, b)
	return line{float64(a.X), float64(a.Y), dx / length, dy / length, length}
}

// at returns the place so far along.
func (l *line) at(along float64) (x, y float64) { return l.x + along*l.dx, l.y + along*l.dy }

// from returns how far along the line a place is, and how far to its left.
func (l *line) from(x, y float64) (along, left float64) {
	x, y = x-l.x, y-l.y
	return x*l.dx + y*l.dy, y*l.dx - x*l.dy
}

// A span is the part of a line from one place to another, so far along it. It
// is empty if from > to.
type span struct{ from, to float64 }

// where cuts the span to where a + b × the place is not negative.
func (s *span) where(a, b float64) {
	switch {
	case b > 0:
		s.from = max(s.from, -a/b)
	case b < 0:
		s.to = min(s.to, -a/b)
	case a < 0:
		s.from, s.to = 1, 0
	}
}

// spans returns the parts of a line no farther than most from any edge, in the
// order of the line. Less than a tick between two of them, or to the line's
// end, is nothing.
func (n *nearby) spans(l *line, most float64) []span {
	var found []span
	if top := len(n.levels) - 1; top >= 0 {
		n.gather(&found, l, most, top, n.levels[top], 0)
	} else {
		l.gather(&found, n.edges, most)
	}
	slices.SortFunc(found, func(a, b span) int { return cmp.Compare(a.from, b.from) })
	joined := found[:0]
	for _, s := range found {
		if k := len(joined); k > 0 && s.from < joined[k-1].to+1 {
			joined[k-1].to = max(joined[k-1].to, s.to)
		} else {
			joined = append(joined, s)
		}
	}
	if k := len(joined); k > 0 {
		if joined[0].from < 1 {
			joined[0].from = 0
		}
		if joined[k-1].to > l.length-1 {
			joined[k-1].to = l.length
		}
	}
	return joined
}

// gather appends the spans beside the edges in some boxes of a level, the first of which is box first.
func (n *nearby) gather(to *[]span, l *line, most float64, level int, boxes []extents, first int) {
	for i := range boxes {
		switch b := &boxes[i]; {
		case !l.passes(b, most):
		case level == 0:
			l.gather(to, n.run(first+i), most)
		default:
			below, from := n.below(level, first+i)
			n.gather(to, l, most, level-1, below, from)
		}
	}
}

// gather appends the spans of the line beside some edges.
func (l *line) gather(to *[]span, edges []edge, most float64) {
	for i := range edges {
		if s := l.beside(&edges[i], most); s.from <= s.to {
			*to = append(*to, s)
		}
	}
}

// passes reports whether the line may come within a distance of a box.
func (l *line) passes(b *extents, most float64) bool {
	along, left := l.from((b.x0+b.x1)/2, (b.y0+b.y1)/2)
	hx, hy := (b.x1-b.x0)/2, (b.y1-b.y0)/2
	ax, ay := math.Abs(l.dx), math.Abs(l.dy)
	far := hx*ax + hy*ay + most + 1
	return math.Abs(left) <= hx*ay+hy*ax+most+1 && along >= -far && along <= l.length+far
}

// beside returns the span of the line no farther than most from an edge. It is
// one, since what lies within a distance of an edge has no dents:
//
//	           .-------------.
//	          (  a---------b  )
//	l ---------'-------------'------->
//	          from           to
func (l *line) beside(e *edge, most float64) span {
	ax, ay := l.from(e.ax, e.ay)
	bx, by := l.from(e.bx, e.by)
	all := span{math.Inf(1), math.Inf(-1)}
	if min(ay, by) > most || max(ay, by) < -most || max(ax, bx) < -most || min(ax, bx) > l.length+most {
		return all
	}
	add := func(s span) {
		if s.from <= s.to {
			all = span{min(all.from, s.from), max(all.to, s.to)}
		}
	}
	for _, end := range [...][2]float64{{ax, ay}, {bx, by}} {
		h := math.Sqrt(most*most - end[1]*end[1]) // NaN where the line passes
		add(span{end[0] - h, end[0] + h})
	}
	if length := math.Hypot(bx-ax, by-ay); length > 0 {
		// A place of the line is so far along the edge, and so far to its left.
		ux, uy := (bx-ax)/length, (by-ay)/length
		along, left := -ax*ux-ay*uy, ax*uy-ay*ux
		s := span{0, l.length}
		s.where(along, ux)
		s.where(length-along, -ux)
		s.where(most+left, -uy)
		s.where(most-left, uy)
		add(s)
	}
	return span{max(0, all.from), min(l.length, all.to)}
}

// spansHold reports whether a place is in one of the spans; those before it go.
func spansHold(spans *[]span, along float64) bool {
	for len(*spans) > 0 && (*spans)[0].to < along {
		*spans = (*spans)[1:]
	}
	return len(*spans) > 0 && (*spans)[0].from <= along
}
