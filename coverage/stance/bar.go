package stance

import (
	"lapwing/coverage/machine"
	"lapwing/geo/plane"
)

// A Bar is the line of the openers at one time: where its centre was, and the
// sine and cosine of its heading.
type Bar struct {
	At       plane.Point
	Sin, Cos float64
}

// BarAt returns the bar whose centre is at a place, with a heading.
func BarAt(at plane.Point, heading plane.Angle) Bar {
	sin, cos := heading.Sincos()
	return Bar{at, sin, cos}
}

// Bar returns the bar of the stance, its centre on the grid.
func (s *Stance) Bar() Bar {
	return BarAt(plane.Point{X: plane.Metres(s.X), Y: plane.Metres(s.Y)}, s.Heading)
}

// End returns the place on the bar at an offset to the right of its centre.
func (b Bar) End(offset plane.Length) plane.Point {
	o := float64(offset)
	return plane.Point{
		X: b.At.X + plane.Round(o*b.Cos),
		Y: b.At.Y - plane.Round(o*b.Sin),
	}
}

// Strip adds the ground that a stretch of the bar swept to rings.
//
// Between two stances a stretch sweeps a quad. Quads that follow one another
// and run anticlockwise are one ring, along the right edge and back along the
// left:
//
//	l0---l1---l2---l3
//	|    |    |    |   -->
//	r0---r1---r2---r3
//
// Its winding number at any place is the number of quads over it. A quad that does
// not run anticlockwise, since an end of the stretch stands still or goes backward,
// would subtract from that number: it becomes rings of its own (see [Positive]).
func Strip(rings []plane.Ring, bars []Bar, s machine.Section) []plane.Ring {
	left, right := make([]plane.Point, len(bars)), make([]plane.Point, len(bars))
	for i, b := range bars {
		left[i], right[i] = b.End(s.Left), b.End(s.Right)
	}
	from := 0
	flush := func(to int) {
		if to > from {
			r := make(plane.Ring, 0, 2*(to-from+1))
			for _, p := range right[from : to+1] {
				r = AppendNew(r, p)
			}
			for i := to; i >= from; i-- {
				r = AppendNew(r, left[i])
			}
			if len(r) > 2 {
				rings = append(rings, r)
			}
		}
	}
	for i := 1; i < len(bars); i++ {
		q := [4]plane.Point{right[i-1], right[i], left[i], left[i-1]}
		if TurnsLeft(q) {
			continue
		}
		flush(i - 1)
		rings = append(rings, Positive(q)...)
		from = i
	}
	flush(len(bars) - 1)
	return rings
}

// AppendNew adds p to r unless it is where r ends.
func AppendNew(r plane.Ring, p plane.Point) plane.Ring {
	if n := len(r); n > 0 && r[n-1] == p {
		return r
	}
	return append(r, p)
}

// TurnsLeft reports whether the quad turns left at every corner: it is convex
// and runs anticlockwise.
func TurnsLeft(q [4]plane.Point) bool {
	for i := range q {
		if plane.Side(q[i], q[(i+1)%4], q[(i+2)%4]) != plane.Left {
			return false
		}
	}
	return true
}

// Positive returns anticlockwise rings over the ground of the quad from r0 to
// r1 to l1 to l0 that a stretch of the bar sweeps from r0 l0 to r1 l1.
//
//	l1        l0      the bar turns about a point of its own:
//	  `.    .'        two triangles that meet where its two
//	    `.x'          stances cross
//	    .' `.
//	  r0     r1
func Positive(q [4]plane.Point) []plane.Ring {
	r0, r1, l1, l0 := q[0], q[1], q[2], q[3]
	var out []plane.Ring
	add := func(a, b, c plane.Point) {
		switch plane.Side(a, b, c) {
		case plane.Left:
			out = append(out, plane.Ring{a, b, c})
		case plane.Right:
			out = append(out, plane.Ring{a, c, b})
		}
	}
	opposite := func(a, b, c, d plane.Point) bool { return plane.Side(a, b, c)*plane.Side(a, b, d) < 0 }
	if opposite(r0, l0, r1, l1) && opposite(r1, l1, r0, l0) {
		x := meeting(r0, l0, r1, l1)
		add(r0, r1, x)
		add(l0, l1, x)
		return out
	}
	if opposite(r0, r1, l0, l1) && opposite(l0, l1, r0, r1) { // its ends' ways cross
		x := meeting(r0, r1, l0, l1)
		add(r0, l0, x)
		add(r1, l1, x)
		return out
	}
	// A quad that does not cross itself is two triangles either side of a
	// diagonal that lies in it: one that has the other corners on either side,
	// or any if it has no area there.
	if opposite(r1, l0, r0, l1) {
		add(r0, r1, l0)
		add(r1, l1, l0)
	} else {
		add(r0, r1, l1)
		add(r0, l1, l0)
	}
	return out
}

// meeting returns the tick nearest to where ab and cd cross.
func meeting(a, b, c, d plane.Point) plane.Point {
	t := float64(plane.Cross(c, d, a))
	t /= t - float64(plane.Cross(c, d, b))
	return plane.Point{
		X: a.X + plane.Round(t*float64(b.X-a.X)),
		Y: a.Y + plane.Round(t*float64(b.Y-a.Y)),
	}
}
