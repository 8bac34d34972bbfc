package covertest

import (
	"math"

	"lapwing/geo/plane"
)

// A Shape is a convex polygon, anticlockwise.
type Shape []XY

// Rectangle returns the rectangle from west to east and from south to north.
func Rectangle(west, south, east, north float64) Shape {
	return Shape{{west, south}, {east, south}, {east, north}, {west, north}}
}

// Ring returns s on the grid.
func (s Shape) Ring() plane.Ring {
	out := make(plane.Ring, len(s))
	for i, p := range s {
		out[i] = onGrid(p)
	}
	return out
}

func onGrid(p XY) plane.Point { return plane.Point{X: plane.Metres(p.X), Y: plane.Metres(p.Y)} }

// Area returns the area of s.
func (s Shape) Area() float64 {
	var sum float64
	for i := range s {
		a, b := s[i], s[(i+1)%len(s)]
		sum += a.X*b.Y - a.Y*b.X
	}
	return sum / 2
}

// Inset returns s with every edge moved inward by d, or outward where d is
// negative; corners stay sharp. It must be small enough to leave every edge.
func (s Shape) Inset(d float64) Shape {
	out := make(Shape, len(s))
	for i := range s {
		before, at, after := s[(i+len(s)-1)%len(s)], s[i], s[(i+1)%len(s)]
		h := direction(before, at)
		turn := turnLeft(h, direction(at, after))
		// The corner moves along the first edge by what the second asks for.
		out[i] = at.plus(-d, right(h)).plus(-d*math.Tan(turn/2), ahead(h))
	}
	return out
}

// direction is the heading from a to b.
func direction(a, b XY) float64 { return math.Atan2(b.X-a.X, b.Y-a.Y) }

// turnLeft is the turn to the left from one heading to another, in (-pi, pi].
func turnLeft(from, to float64) float64 { return -math.Remainder(to-from, 2*math.Pi) }

// A chord is the part of a line inside a shape.
type chord struct{ from, to float64 }

// chord returns where the line of a heading at a place across it lies inside
// s: positions along the heading. ok is false if it misses s.
func (s Shape) chord(heading, across float64) (c chord, ok bool) {
	c = chord{math.Inf(1), math.Inf(-1)}
	f, r := ahead(heading), right(heading)
	for i := range s {
		a, b := s[i], s[(i+1)%len(s)]
		ua, ub := a.dot(r), b.dot(r)
		if (ua < across && ub < across) || (ua > across && ub > across) {
			continue
		}
		at := []float64{a.dot(f), b.dot(f)}
		if ua != ub {
			at = []float64{at[0] + (across-ua)/(ub-ua)*(at[1]-at[0])}
		}
		for _, v := range at {
			c.from, c.to = min(c.from, v), max(c.to, v)
		}
	}
	return c, c.from <= c.to
}

// reach returns how far s reaches across a heading, left to right.
func (s Shape) reach(heading float64) (left, far float64) {
	left, far = math.Inf(1), math.Inf(-1)
	for _, p := range s {
		u := p.dot(right(heading))
		left, far = min(left, u), max(far, u)
	}
	return left, far
}

// chords returns the chords of s at the places between left and right where
// they may be longest or shortest: the two ends and the corners between.
func (s Shape) chords(heading, left, far float64) []chord {
	lo, hi := s.reach(heading)
	const hair = 1e-9 // inside the last corner, not on its outer side
	at := []float64{max(left, lo+hair), min(far, hi-hair)}
	if at[0] > at[1] {
		return nil
	}
	for _, p := range s {
		if u := p.dot(right(heading)); u > at[0] && u < at[1] {
			at = append(at, u)
		}
	}
	var out []chord
	for _, u := range at {
		if c, ok := s.chord(heading, u); ok {
			out = append(out, c)
		}
	}
	return out
}
