package plane

import (
	"math"
	"slices"
)

// Breadth returns the least distance between two parallel lines that r lies
// between, and the direction of those lines, clockwise from north. One of them lies
// along an edge of r's convex hull (M. Houle, G. Toussaint, "Computing the width of a
// set", IEEE Transactions on Pattern Analysis and Machine Intelligence 10, 1988). A ring
// whose corners lie in one line has none, along that line.
func (r Ring) Breadth() (Distance, Angle) {
	hull := r.hull()
	switch len(hull) {
	case 0, 1:
		return 0, 0
	case 2:
		return 0, Direction(float64(hull[1].X-hull[0].X), float64(hull[1].Y-hull[0].Y))
	}
	least, along := math.Inf(1), Angle(0)
	for i, a := range hull {
		b := hull[(i+1)%len(hull)]
		x, y, l := float64(b.X-a.X), float64(b.Y-a.Y), float64(a.Distance(b))
		if across := hull.across(-y/l, x/l); across < least {
			least, along = across, Direction(x, y)
		}
	}
	return Distance(least), along
}

// hull returns the corners of the smallest convex polygon around r, anticlockwise: the
// lower chain and the upper one, from west to east and back (A. Andrew, "Another
// efficient algorithm for convex hulls in two dimensions", 1979).
//
// Of corners in one line they are its two ends.
func (r Ring) hull() Ring {
	points := slices.Clone(r)
	slices.SortFunc(points, func(a, b Point) int {
		switch {
		case a.Less(b):
			return -1
		case b.Less(a):
			return 1
		}
		return 0
	})
	points = slices.Compact(points)
	if len(points) < 3 {
		return points
	}
	chain := func(points Ring) (out Ring) {
		for _, p := range points {
			for len(out) > 1 && Side(out[len(out)-2], out[len(out)-1], p) != Left {
				out = out[:len(out)-1]
			}
			out = append(out, p)
		}
		return out[:len(out)-1] // its last point begins the other chain
	}
	lower := chain(points)
	slices.Reverse(points)
	return append(lower, chain(points)...)
}
