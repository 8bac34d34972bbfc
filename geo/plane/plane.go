// Package plane is exact geometry on a grid of 0.1 mm.
//
// Every coordinate is a whole number of ticks east and north of a field's
// centre, and every point lies within [Reach] of it. On such a grid the two
// questions all else rests on, on which side of a line a point lies ([Side])
// and how large a ring is ([Ring.Area]), have exact answers in plain int64:
// nothing is rounded, so identities between areas hold with ==.
package plane

import "math"

// A Length is a whole number of ticks of 0.1 mm.
type Length int64

// The lengths most often written in code.
const (
	Tick       Length = 1
	Millimetre        = 10 * Tick
	Centimetre        = 10 * Millimetre
	Metre             = 1000 * Millimetre
	Kilometre         = 1000 * Metre
)

// Reach is how far from the centre a coordinate may lie, east or north.
// Differences then stay within 1e9 ticks and their products within 1e18,
// so that the sum of two products fits an int64.
const Reach = 50 * Kilometre

// Metres converts a float64 number of metres to the nearest tick, halves
// upward: floor(x + 1/2). Unlike rounding half away from zero, it commutes
// with a shift by whole ticks.
func Metres(m float64) Length { return Round(m * float64(Metre)) }

// Round rounds a number of ticks to a whole one, halves upward.
func Round(ticks float64) Length { return Length(math.Floor(ticks + 0.5)) }

// Metres returns l in metres.
func (l Length) Metres() float64 { return float64(l) / float64(Metre) }

// An Area is a whole number of half square ticks: twice the area of a ring
// with corners on the grid is always whole. 1 m² is 2e8 of them, and an
// int64 holds 46,000 km².
type Area int64

// SquareMetre is 1 m².
const SquareMetre Area = 2 * Area(Metre) * Area(Metre)

// SquareMetres returns a in square metres.
func (a Area) SquareMetres() float64 { return float64(a) / float64(SquareMetre) }

// A Point is a place on the grid: X ticks east, Y ticks north of the centre.
type Point struct{ X, Y Length }

// Sub returns the vector from q to p.
func (p Point) Sub(q Point) Point { return Point{p.X - q.X, p.Y - q.Y} }

// Add returns p moved by the vector q.
func (p Point) Add(q Point) Point { return Point{p.X + q.X, p.Y + q.Y} }

// Less orders points from west to east, then from south to north.
func (p Point) Less(q Point) bool { return p.X < q.X || p.X == q.X && p.Y < q.Y }

// Distance returns the distance from p to q, to float64 precision.
func (p Point) Distance(q Point) Distance {
	return Distance(Vector{float64(p.X - q.X), float64(p.Y - q.Y)}.Length())
}

// Cross returns twice the signed area of the triangle o, p, q.
func Cross(o, p, q Point) Area {
	return Area(int64(p.X-o.X)*int64(q.Y-o.Y) - int64(p.Y-o.Y)*int64(q.X-o.X))
}

// A Turn is the side of a line on which a point lies.
type Turn int

// The three turns.
const (
	Right    Turn = -1
	Straight Turn = 0
	Left     Turn = 1
)

// Side reports on which side of the line from a to b the point c lies.
//
//	      c  Left
//	     /
//	a---b----- Straight
//	     \
//	      c  Right
//
// It is exact: points lie within [Reach] of the centre, so differences stay
// within 1e9 ticks, products within 1e18, and their difference within 2e18,
// which an int64 holds.
//
// Laws: Side(a,b,c) == Side(b,c,a) and Side(b,a,c) == -Side(a,b,c).
func Side(a, b, c Point) Turn {
	switch s := Cross(a, b, c); {
	case s > 0:
		return Left
	case s < 0:
		return Right
	}
	return Straight
}

// A Ring is a closed line: the last point joins the first and is not repeated.
// Shells run anticlockwise, holes clockwise.
type Ring []Point

// Area returns the signed area of r: positive if it runs anticlockwise.
func (r Ring) Area() Area {
	var sum Area // wraps at worst on the way: the end fits, and so is right
	for i := 2; i < len(r); i++ {
		sum += Cross(r[0], r[i-1], r[i])
	}
	return sum
}

// Length returns the length of r, the closing edge included.
func (r Ring) Length() Distance {
	var sum Distance
	for i, p := range r {
		sum += p.Distance(r[(i+1)%len(r)])
	}
	return sum
}

// Reversed returns r run the other way.
func (r Ring) Reversed() Ring {
	out := make(Ring, len(r))
	for i, p := range r {
		out[len(r)-1-i] = p
	}
	return out
}

// A Polygon is a shell, anticlockwise, and the holes in it, clockwise.
type Polygon struct {
	Shell Ring
	Holes []Ring
}

// Rings returns the shell and then the holes.
func (p Polygon) Rings() []Ring { return append([]Ring{p.Shell}, p.Holes...) }

// Area returns the area of p, holes taken out.
func (p Polygon) Area() Area {
	a := p.Shell.Area()
	for _, h := range p.Holes {
		a += h.Area()
	}
	return a
}

// Perimeter returns the length of all rings of p.
func (p Polygon) Perimeter() Distance {
	var sum Distance
	for _, r := range p.Rings() {
		sum += r.Length()
	}
	return sum
}

// A Box is the smallest upright rectangle around some points.
// The zero Box is the point 0, 0; start from [Empty].
type Box struct{ Min, Max Point }

// Empty holds no point: adding one makes it that point.
func Empty() Box {
	const far = math.MaxInt64
	return Box{Point{far, far}, Point{-far, -far}}
}

// Add returns the smallest box around b and p.
func (b Box) Add(p Point) Box {
	return Box{
		Point{min(b.Min.X, p.X), min(b.Min.Y, p.Y)},
		Point{max(b.Max.X, p.X), max(b.Max.Y, p.Y)},
	}
}

// Grow returns the box with every side farther out by some length.
func (b Box) Grow(by Length) Box {
	return Box{Point{b.Min.X - by, b.Min.Y - by}, Point{b.Max.X + by, b.Max.Y + by}}
}

// Intersect returns what b and c share: an empty box where that is nothing.
func (b Box) Intersect(c Box) Box {
	if !b.Meets(c) {
		return Empty()
	}
	return Box{
		Point{max(b.Min.X, c.Min.X), max(b.Min.Y, c.Min.Y)},
		Point{min(b.Max.X, c.Max.X), min(b.Max.Y, c.Max.Y)},
	}
}

// Size returns how long and how high b is; 0 and 0 if it is empty.
func (b Box) Size() (x, y Length) {
	if b.Min.X > b.Max.X || b.Min.Y > b.Max.Y {
		return 0, 0
	}
	return b.Max.X - b.Min.X, b.Max.Y - b.Min.Y
}

// Bounds returns the smallest box around the points of r.
func (r Ring) Bounds() Box {
	b := Empty()
	for _, p := range r {
		b = b.Add(p)
	}
	return b
}

// Bounds returns the smallest box around the shells of polygons.
func Bounds(polygons []Polygon) Box {
	b := Empty()
	for _, p := range polygons {
		for _, at := range p.Shell {
			b = b.Add(at)
		}
	}
	return b
}

// Meets reports whether b and c share a point.
func (b Box) Meets(c Box) bool {
	return b.Min.X <= c.Max.X && c.Min.X <= b.Max.X && b.Min.Y <= c.Max.Y && c.Min.Y <= b.Max.Y
}
