package near

import (
	"cmp"
	"math"
	"slices"

	"lapwing/geo/plane"
)

// A Line runs straight from X, Y for a Length, in the direction DX, DY, of
// length 1.
type Line struct {
	X, Y, DX, DY float64
	Length       plane.Distance
}

// LineOf returns the line from a to b, which must be two places.
func LineOf(a, b plane.Point) Line {
	dx, dy, length := float64(b.X-a.X), float64(b.Y-a.Y), a.Distance(b)
	return Line{float64(a.X), float64(a.Y), dx / float64(length), dy / float64(length), length}
}

// At returns the place at a distance along.
func (l *Line) At(along plane.Distance) (x, y float64) {
	return l.X + float64(along)*l.DX, l.Y + float64(along)*l.DY
}

// Local returns a place as seen from the line: how many ticks along it, and how
// many to its left.
func (l *Line) Local(x, y float64) (along, left float64) {
	x, y = x-l.X, y-l.Y
	return x*l.DX + y*l.DY, y*l.DX - x*l.DY
}

// An Interval holds the numbers from From to To; none if From > To.
type Interval struct{ From, To float64 }

// Clip cuts the interval to where a + b t is not negative.
func (i *Interval) Clip(a, b float64) {
	switch {
	case b > 0:
		i.From = max(i.From, -a/b)
	case b < 0:
		i.To = min(i.To, -a/b)
	case a < 0:
		i.From, i.To = 1, 0
	}
}

// Holds reports whether one of some intervals holds t. They must be in rising
// order and apart, as [Index.Intervals] returns them.
func Holds(intervals []Interval, t float64) bool {
	k, _ := slices.BinarySearchFunc(intervals, t, func(i Interval, t float64) int { return cmp.Compare(i.To, t) })
	return k < len(intervals) && intervals[k].From <= t
}

// Intervals returns the parts of a line, in ticks along it, that are no farther
// than most from any edge, in the order of the line. Where less than a tick is
// left between two of them, or to the line's end, they are closed up.
//
//	   ___________          _______      most
//	  /           \        /       \
//	 |   a-----b   |      |  c---d  |
//	-|-------------|------|---------|--  the line
//	 From         To     From      To
func (n *Index) Intervals(l *Line, most float64) []Interval {
	var found []Interval
	if top := len(n.levels) - 1; top >= 0 {
		n.gather(&found, l, most, top, n.levels[top], 0)
	} else {
		l.gather(&found, n.edges, most)
	}
	slices.SortFunc(found, func(a, b Interval) int { return cmp.Compare(a.From, b.From) })
	joined := found[:0]
	for _, i := range found {
		if k := len(joined); k > 0 && i.From < joined[k-1].To+1 {
			joined[k-1].To = max(joined[k-1].To, i.To)
		} else {
			joined = append(joined, i)
		}
	}
	if k := len(joined); k > 0 {
		if joined[0].From < 1 {
			joined[0].From = 0
		}
		if length := float64(l.Length); joined[k-1].To > length-1 {
			joined[k-1].To = length
		}
	}
	return joined
}

// gather appends the intervals beside the edges in some boxes of a level, the
// first of which is box first.
func (n *Index) gather(to *[]Interval, l *Line, most float64, level int, boxes []box, first int) {
	for i := range boxes {
		switch b := &boxes[i]; {
		case !l.passes(b, most):
		case level == 0:
			l.gather(to, n.leaf(first+i), most)
		default:
			below, from := n.below(level, first+i)
			n.gather(to, l, most, level-1, below, from)
		}
	}
}

// gather appends the intervals of the line beside some edges.
func (l *Line) gather(to *[]Interval, edges []Edge, most float64) {
	for i := range edges {
		if s := l.beside(&edges[i], most); s.From <= s.To {
			*to = append(*to, s)
		}
	}
}

// passes reports whether the line may come within a distance of a box.
func (l *Line) passes(b *box, most float64) bool {
	along, left := l.Local((b.x0+b.x1)/2, (b.y0+b.y1)/2)
	hx, hy := (b.x1-b.x0)/2, (b.y1-b.y0)/2
	ax, ay := math.Abs(l.DX), math.Abs(l.DY)
	far := hx*ax + hy*ay + most + 1
	return math.Abs(left) <= hx*ay+hy*ax+most+1 && along >= -far && along <= float64(l.Length)+far
}

// beside returns the interval of the line no farther than most from an edge. It
// is one, since what lies within a distance of an edge is convex:
//
//	           .-------------.
//	          (  a---------b  )
//	l ---------'-------------'------->
//	          From           To
func (l *Line) beside(e *Edge, most float64) Interval {
	ax, ay := l.Local(e.AX, e.AY)
	bx, by := l.Local(e.BX, e.BY)
	reach := float64(l.Length)
	all := Interval{math.Inf(1), math.Inf(-1)}
	if min(ay, by) > most || max(ay, by) < -most || max(ax, bx) < -most || min(ax, bx) > reach+most {
		return all
	}
	add := func(s Interval) {
		if s.From <= s.To {
			all = Interval{min(all.From, s.From), max(all.To, s.To)}
		}
	}
	for _, end := range [...][2]float64{{ax, ay}, {bx, by}} {
		h := math.Sqrt(most*most - end[1]*end[1]) // NaN where the line passes
		add(Interval{end[0] - h, end[0] + h})
	}
	if length := math.Hypot(bx-ax, by-ay); length > 0 {
		// A place of the line is so far along the edge, and so far to its left.
		ux, uy := (bx-ax)/length, (by-ay)/length
		along, left := -ax*ux-ay*uy, ax*uy-ay*ux
		s := Interval{0, reach}
		s.Clip(along, ux)
		s.Clip(length-along, -ux)
		s.Clip(most+left, -uy)
		s.Clip(most-left, uy)
		add(s)
	}
	return Interval{max(0, all.From), min(reach, all.To)}
}
