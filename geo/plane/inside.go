package plane

import "slices"

// EvenOdd reports whether rings go round p an odd number of times in all, by
// the even-odd rule: whether a ray east from p crosses them so often (M.
// Shimrat, "Algorithm 112: Position of point relative to polygon", 1962). It is
// exact. A point on an edge counts as what lies just east of it, or just north
// of it where the edge runs level: of polygons that share their edges and leave
// nothing between them, exactly one holds each point.
func EvenOdd(rings []Ring, p Point) bool {
	inside := false
	for _, ring := range rings {
		if len(ring) == 0 {
			continue
		}
		a := ring[len(ring)-1]
		for _, b := range ring {
			if CrossesEast(a, b, p) {
				inside = !inside
			}
			a = b
		}
	}
	return inside
}

// CrossesEast reports whether a ray east from p crosses the edge between a and b, as
// [EvenOdd] counts it.
func CrossesEast(a, b, p Point) bool {
	if a.Y > b.Y {
		a, b = b, a
	}
	return a.Y <= p.Y && p.Y < b.Y && Side(a, b, p) == Left
}

// Contains reports whether q lies in p and in none of its holes; see [EvenOdd]
// for a point on an edge.
func (p Polygon) Contains(q Point) bool {
	return p.Shell.Bounds().Meets(Box{Min: q, Max: q}) && EvenOdd(p.Rings(), q)
}

// Winding returns how often rings wind round a place, anticlockwise positive, and
// whether it lies on one of them: then the number means nothing.
func Winding(rings []Ring, p Point) (winding int, on bool) {
	for _, ring := range rings {
		for i, a := range ring {
			b := ring[(i+1)%len(ring)]
			if max(a.Y, b.Y) < p.Y || min(a.Y, b.Y) > p.Y {
				continue
			}
			side := Side(a, b, p)
			switch {
			case side == Straight && OnSegment(a, b, p):
				return 0, true
			case a.Y <= p.Y && b.Y > p.Y && side == Left:
				winding++
			case a.Y > p.Y && b.Y <= p.Y && side == Right:
				winding--
			}
		}
	}
	return winding, false
}

// OnSegment reports whether p lies on the segment from a to b, ends included.
// It is exact.
func OnSegment(a, b, p Point) bool {
	return Side(a, b, p) == Straight &&
		min(a.X, b.X) <= p.X && p.X <= max(a.X, b.X) && min(a.Y, b.Y) <= p.Y && p.Y <= max(a.Y, b.Y)
}

// InteriorPoint returns a point in p: the middle of the widest stretch of a
// level line through the middle of its height, rounded to the tick. Where that
// stretch is narrower than a tick, rounding may put it outside.
//
//	  ______
//	 /      \____
//	/- x -| hole |-\
//	\_____________/
func (p Polygon) InteriorPoint() Point {
	b := p.Shell.Bounds()
	y := float64(b.Min.Y+b.Max.Y)/2 + 0.25 // between the rows of the grid, so through no corner
	var xs []float64
	for _, r := range p.Rings() {
		b := r[len(r)-1]
		for _, a := range r {
			if ay, by := float64(a.Y), float64(b.Y); (ay > y) != (by > y) {
				xs = append(xs, float64(a.X)+(y-ay)/(by-ay)*float64(b.X-a.X))
			}
			b = a
		}
	}
	slices.Sort(xs)
	at, widest := float64(p.Shell[0].X), -1.0
	for i := 0; i+1 < len(xs); i += 2 {
		if w := xs[i+1] - xs[i]; w > widest {
			at, widest = (xs[i]+xs[i+1])/2, w
		}
	}
	return Point{X: Round(at), Y: Round(y)}
}
