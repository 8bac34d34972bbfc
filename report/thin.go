package report

import (
	"math"

	"lapwing/geo/plane"
)

// thinned leaves out points of a line that lie within tolerance ticks of the
// line through the others (D. Douglas, T. Peucker, "Algorithms for the
// reduction of the number of points required to represent a digitized line or
// its caricature", 1973). Both ends stay.
func thinned(line []plane.Point, tolerance float64) []plane.Point {
	if len(line) < 3 {
		return line
	}
	keep := make([]bool, len(line))
	keep[0], keep[len(line)-1] = true, true
	type stretch struct{ from, to int }
	todo := []stretch{{0, len(line) - 1}}
	for len(todo) > 0 {
		s := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		far, at := tolerance, -1
		for i := s.from + 1; i < s.to; i++ {
			if d := offSegment(line[i], line[s.from], line[s.to]); d > far {
				far, at = d, i
			}
		}
		if at >= 0 {
			keep[at] = true
			todo = append(todo, stretch{s.from, at}, stretch{at, s.to})
		}
	}
	out := make([]plane.Point, 0, len(line))
	for i, p := range line {
		if keep[i] {
			out = append(out, p)
		}
	}
	return out
}

// offSegment is the distance from p to the segment from a to b, in ticks.
func offSegment(p, a, b plane.Point) float64 {
	dx, dy := float64(b.X-a.X), float64(b.Y-a.Y)
	px, py := float64(p.X-a.X), float64(p.Y-a.Y)
	length2 := dx*dx + dy*dy
	if length2 == 0 {
		return math.Hypot(px, py)
	}
	t := max(0, min(1, (px*dx+py*dy)/length2))
	return math.Hypot(px-t*dx, py-t*dy)
}
