package mend

import (
	"math"
	"slices"

	"lapwing/coverage/beside"
	"lapwing/coverage/locate"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// line returns places on the line beside the strip's guide, along its whole
// length: no more than two metres apart, and closer at the ends, where the
// ground may end a little sooner.
func (s *strip) line(across plane.Distance) []plane.Point {
	length := float64(s.to - s.from)
	var ends []float64
	for d := float64(10 * plane.Centimetre); d < min(float64(2*plane.Metre), length/2); d *= 2 {
		ends = append(ends, d)
	}
	steps := max(1, math.Ceil(length/float64(2*plane.Metre)))
	ahead := append(make([]float64, 0, int(steps)+1+2*len(ends)), 0)
	ahead = append(ahead, ends...)
	for k := 1.0; k < steps; k++ {
		ahead = append(ahead, k/steps*length)
	}
	for _, d := range slices.Backward(ends) {
		ahead = append(ahead, length-d)
	}
	ahead = append(ahead, length)
	slices.Sort(ahead) // they nearly are
	out := make([]plane.Point, len(ahead))
	for i, d := range ahead {
		x, y, _, _ := s.guide.at(locate.Offset{Along: s.from + plane.Distance(d), Across: across})
		out[i] = plane.Point{X: plane.Round(x), Y: plane.Round(y)}
	}
	return withoutLoops(slices.Compact(out))
}

// withoutLoops cuts off the self-intersections of an offset curve: the small loops
// that a line beside a guide makes on the inner side of the guide's corners.
//
//	   |  ____        |
//	___|_|   |   ->   |
//	   |_____|     ___|
func withoutLoops(line []plane.Point) []plane.Point {
	// Places, 160 m at two metres apart: more than a loop beside a bar has. Judgement: with
	// half as many or twice as many no drive of samples, cases and the oats of 2017 changes.
	const window = 80
	// A loop turns by a half circle and more, so that between steps with less there is none.
	const half = math.Pi - 1e-6
	if turnsLittle(line, window) {
		return slices.Compact(line)
	}
	turned := turnedAt(line)
	out := make([]plane.Point, 0, len(line))
	for i := 0; i < len(line); i++ {
		out = append(out, line[i])
		for j := min(len(line)-2, i+window); j > i+1 && turned[j]-turned[i] > half; j-- {
			if at, cross := crossing(line[i], line[i+1], line[j], line[j+1]); cross {
				out = append(out, at)
				i = j
				break
			}
		}
	}
	return slices.Compact(out)
}

// turnsLittle reports that no so many steps of a line turn by nearly a half circle. It may
// be false where they do not: it reckons with tangents, which are larger than their angles
// and quicker (speed alone).
func turnsLittle(line []plane.Point, window int) bool {
	most := make([]float64, len(line)) // by each step
	for i := 1; i+1 < len(line); i++ {
		u, v := line[i].Sub(line[i-1]), line[i+1].Sub(line[i])
		along, across := u.X*v.X+u.Y*v.Y, u.X*v.Y-u.Y*v.X
		turn := math.Pi
		if along > 0 {
			turn = min(turn, math.Abs(float64(across))/float64(along))
		}
		most[i] = most[i-1] + turn
		if most[i]-most[max(0, i-window)] > 3 {
			return false
		}
	}
	return true
}

// turnedAt returns by how much, in radians, a line has turned by each of its steps, the
// sizes of all turns added up.
func turnedAt(line []plane.Point) []float64 {
	out := make([]float64, max(1, len(line)-1))
	for i := 1; i+1 < len(line); i++ {
		u, v := line[i].Sub(line[i-1]), line[i+1].Sub(line[i])
		along, across := u.X*v.X+u.Y*v.Y, u.X*v.Y-u.Y*v.X
		out[i] = out[i-1] + math.Abs(math.Atan2(float64(across), float64(along)))
	}
	return out
}

// crossing returns where the lines from a to b and from c to d cross, rounded,
// and whether they do.
func crossing(a, b, c, d plane.Point) (plane.Point, bool) {
	if plane.Side(a, b, c)*plane.Side(a, b, d) >= 0 || plane.Side(c, d, a)*plane.Side(c, d, b) >= 0 {
		return plane.Point{}, false
	}
	t := float64(plane.Cross(c, d, a)) / float64(plane.Cross(c, d, a)-plane.Cross(c, d, b))
	return plane.Point{X: a.X + plane.Round(t*float64(b.X-a.X)), Y: a.Y + plane.Round(t*float64(b.Y-a.Y))}, true
}

// leastOnGround is the share of a line that must be on the ground for that part to be
// driven without the rest: in a corner of the field the end of a skip is out of reach
// along any line. Judgement. TestSectionsToKeepOpen fails where it is doubled.
const leastOnGround = 0.75

// onGround returns the longest part of a line that stays on the ground, and
// the length lost; nil where that part is less than leastOnGround of it.
func (g *drivable) onGround(line []plane.Point) (on []plane.Point, lost plane.Distance) {
	all := lengthOf(line)
	seen := g.seesEach(line)
	for from := 0; from < len(line); {
		to := from + 1
		for to < len(line) && seen[to-1] {
			to++
		}
		if part := line[from:to]; lengthOf(part) > lengthOf(on) {
			on = part
		}
		from = to
	}
	length := lengthOf(on)
	if length == 0 || length < leastOnGround*all {
		return nil, 0
	}
	if simple := plane.Thinned(on, plane.Distance(2*plane.Centimetre)); g.seesAll(simple) {
		on = simple
	}
	return on, all - length
}

// seesEach says of each step of a line what sees does. Most lines are far from any edge for
// most of their way, so that so many steps are looked at together (speed alone).
func (g *drivable) seesEach(line []plane.Point) []bool {
	const together = 16
	out := make([]bool, max(0, len(line)-1))
	for from := 0; from < len(out); from += together {
		to := min(from+together, len(out))
		on, same := g.holdsAll(line[from : to+1])
		for i := from; i < to; i++ {
			out[i] = on
			if !same {
				out[i] = g.sees(line[i], line[i+1])
			}
		}
	}
	return out
}

func (g *drivable) seesAll(line []plane.Point) bool {
	for i := 1; i < len(line); i++ {
		if !g.sees(line[i-1], line[i]) {
			return false
		}
	}
	return true
}

// headingOf returns the direction from a to b.
func headingOf(a, b plane.Point) geo.Bearing {
	_, bearing := beside.Bearing(a, b)
	return bearing
}

// ahead returns the first corner of a line that lies so far along it, or its
// last.
func ahead(line []plane.Point, far plane.Distance) plane.Point {
	var gone plane.Distance
	for i := 1; i < len(line); i++ {
		if gone += line[i-1].Distance(line[i]); gone >= far {
			return line[i]
		}
	}
	return line[len(line)-1]
}
