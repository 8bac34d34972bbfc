package boundary

import (
	"math/bits"

	"lapwing/geo"
)

// perDegree scales degrees to whole numbers for exact tests: 1e-9 degree is
// at most 0.11 mm. Longitudes reach 540 degrees, 5.4e11, so differences stay
// within 2^41 and their products within 2^82: too much for an int64, little
// for a wide.
const perDegree = 1_000_000_000

// A spot is a place in whole 1e-9 degrees.
type spot struct{ x, y int64 }

// A corner is a place of a ring, as written and as a spot.
type corner struct {
	spot
	at   geo.LonLat
	line int32
}

// A wide is a signed number of 128 bits.
type wide struct {
	hi int64
	lo uint64
}

// product returns a times b.
func product(a, b int64) wide {
	hi, lo := bits.Mul64(uint64(a), uint64(b)) // as unsigned; take the signs back out
	h := int64(hi)
	if a < 0 {
		h -= b
	}
	if b < 0 {
		h -= a
	}
	return wide{h, lo}
}

func (a wide) plus(b wide) wide {
	lo, carry := bits.Add64(a.lo, b.lo, 0)
	return wide{a.hi + b.hi + int64(carry), lo}
}

func (a wide) minus(b wide) wide {
	lo, borrow := bits.Sub64(a.lo, b.lo, 0)
	return wide{a.hi - b.hi - int64(borrow), lo}
}

func (a wide) sign() int {
	switch {
	case a.hi < 0:
		return -1
	case a.hi == 0 && a.lo == 0:
		return 0
	}
	return 1
}

// cross is twice the signed area of the triangle a, b, c.
func cross(a, b, c spot) wide {
	return product(b.x-a.x, c.y-a.y).minus(product(b.y-a.y, c.x-a.x))
}

// side is 1 where c lies left of the line from a to b, -1 right, 0 on it.
func side(a, b, c spot) int { return cross(a, b, c).sign() }

// folds reports whether the way a, b, c turns back at b by more than a right angle.
func folds(a, b, c spot) bool {
	return product(b.x-a.x, c.x-b.x).plus(product(b.y-a.y, c.y-b.y)).sign() < 0
}

// winding is 1 for an anticlockwise ring, -1 for a clockwise one, 0 for none.
func winding(c []corner) int {
	var sum wide
	for i := 2; i < len(c); i++ {
		sum = sum.plus(cross(c[0].spot, c[i-1].spot, c[i].spot))
	}
	return sum.sign()
}

// A box is an upright rectangle.
type box struct{ min, max spot }

func boxOf(c []corner) box {
	b := box{c[0].spot, c[0].spot}
	for _, p := range c[1:] {
		b.min = spot{min(b.min.x, p.x), min(b.min.y, p.y)}
		b.max = spot{max(b.max.x, p.x), max(b.max.y, p.y)}
	}
	return b
}

func (b box) meets(c box) bool {
	return b.min.x <= c.max.x && c.min.x <= b.max.x && b.min.y <= c.max.y && c.min.y <= b.max.y
}

func (b box) holds(p spot) bool {
	return b.min.x <= p.x && p.x <= b.max.x && b.min.y <= p.y && p.y <= b.max.y
}

// between reports whether p, on the line through a and b, lies strictly
// between them.
func between(a, b, p spot) bool {
	return p != a && p != b && (box{
		spot{min(a.x, b.x), min(a.y, b.y)}, spot{max(a.x, b.x), max(a.y, b.y)},
	}).holds(p)
}

// locate is 1 where p lies inside the ring, -1 outside, 0 on its edge.
// p is in halves of a spot's unit, so that middles of edges can be asked for.
func locate(c []corner, p spot) int {
	inside := -1
	a := c[len(c)-1].doubled()
	for i := range c {
		b := c[i].doubled()
		if min(a.y, b.y) <= p.y && p.y <= max(a.y, b.y) {
			s := side(a, b, p)
			if s == 0 && min(a.x, b.x) <= p.x && p.x <= max(a.x, b.x) {
				return 0
			}
			if (a.y > p.y) != (b.y > p.y) && (s > 0) == (b.y > a.y) {
				inside = -inside
			}
		}
		a = b
	}
	return inside
}

func (s spot) doubled() spot { return spot{2 * s.x, 2 * s.y} }
