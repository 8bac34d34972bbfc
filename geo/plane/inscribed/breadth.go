package inscribed

import (
	"cmp"
	"math"
	"slices"

	"lapwing/geo/plane/near"
)

// sides are the two sides of a polygon whose outline goes from one end to the
// other, and back, along its longest edge and never against it:
//
//	        _________
//	  _____/    |    `--.__    left
//	<           |          `>       -->
//	 `----------+----------´   right
type sides struct {
	ux, uy      float64 // the direction of the longest edge, of length 1
	right, left []corner
}

// A corner is so far along that direction, and so far to the left of it.
type corner struct {
	along, left float64
	on          *near.Edge // to the next corner of its side
}

// A breadth is a straight line across a polygon, square to its longest edge,
// from its foot on an edge of one side to a corner of the other.
type breadth struct {
	length float64
	x, y   float64 // the foot
	on     *near.Edge
}

// longest returns the longest line across a polygon without holes, whose
// shell is given; no circle inside is wider than that is long. It knows only
// polygons that have two sides.
func (s *sides) longest(shell []near.Edge) (c breadth, ok bool) {
	s.split(shell)
	if !rises(s.right) || !rises(s.left) {
		return c, false
	}
	s.cross(&c, s.right, s.left)
	s.cross(&c, s.left, s.right)
	return c, true
}

// split finds the corners of the two sides.
func (s *sides) split(shell []near.Edge) {
	var dx, dy, most float64
	for i := range shell {
		e := &shell[i]
		x, y := e.BX-e.AX, e.BY-e.AY
		if q := x*x + y*y; q > most {
			dx, dy, most = x, y, q
		}
	}
	l := math.Sqrt(most)
	s.ux, s.uy = dx/l, dy/l

	near, far := 0, 0 // the corners at the ends
	for i := range shell {
		along := s.corner(shell, i).along
		if along < s.corner(shell, near).along {
			near = i
		}
		if along > s.corner(shell, far).along {
			far = i
		}
	}
	n := len(shell)
	s.right, s.left = s.right[:0], s.left[:0]
	for i := near; ; i = (i + 1) % n {
		s.right = append(s.right, s.corner(shell, i))
		if i == far {
			break
		}
	}
	for i := near; ; {
		c, before := s.corner(shell, i), (i+n-1)%n
		c.on = &shell[before]
		s.left = append(s.left, c)
		if i == far {
			break
		}
		i = before
	}
}

// corner returns the corner where an edge of the shell begins.
func (s *sides) corner(shell []near.Edge, i int) corner {
	e := &shell[i]
	return corner{e.AX*s.ux + e.AY*s.uy, e.AY*s.ux - e.AX*s.uy, e}
}

// rises reports whether a side never turns back.
func rises(side []corner) bool {
	return slices.IsSortedFunc(side, func(a, b corner) int { return cmp.Compare(a.along, b.along) })
}

// cross makes c the longest line from a corner of one side to the other side,
// if it is longer.
func (s *sides) cross(c *breadth, corners, other []corner) {
	k := 0
	for _, p := range corners {
		for k+2 < len(other) && other[k+1].along < p.along {
			k++
		}
		for j := k; j+1 < len(other) && other[j].along <= p.along; j++ { // one, but where edges meet or are square to the direction
			a, b := &other[j], &other[j+1]
			left := a.left
			if d := b.along - a.along; d > 0 {
				left += (p.along - a.along) / d * (b.left - a.left)
			}
			if l := math.Abs(left - p.left); l > c.length {
				*c = breadth{l, p.along*s.ux - left*s.uy, p.along*s.uy + left*s.ux, a.on}
			}
		}
	}
}
