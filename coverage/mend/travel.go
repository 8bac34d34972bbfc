package mend

import (
	"math"
	"slices"

	"lapwing/geo/plane"
)

// travel holds the shortest ways between some places.
//
// A shortest way round holes bends at their corners only: it is a shortest path in
// the visibility graph of the places and corners (T. Lozano-Pérez, M. Wesley, "An
// algorithm for planning collision-free paths among polyhedral obstacles",
// Communications of the ACM 22, 1979).
type travel struct {
	places []plane.Point // those asked about, then the corners
	asked  int
	reach  [][]plane.Distance // between places; infinite where one cannot be seen
}

func (g *drivable) travel(asked []plane.Point) *travel {
	t := g.seen(asked, g.corners)
	if !t.joined() {
		// Corners gone round with a wide berth may close a narrow gap.
		var all []plane.Point
		for _, r := range g.rings {
			all = append(all, r...)
		}
		if len(all) <= mostCorners {
			t = g.seen(asked, append(slices.Clone(g.corners), all...))
		}
	}
	return t
}

// mostCorners bounds the second graph, whose size grows with the square of its
// corners. Judgement; no test holds it closely.
const mostCorners = 1500

// seen makes the visibility graph of places and corners.
func (g *drivable) seen(asked, corners []plane.Point) *travel {
	t := &travel{places: append(slices.Clone(asked), corners...), asked: len(asked)}
	n := len(t.places)
	t.reach = make([][]plane.Distance, n)
	for i := range n {
		t.reach[i] = make([]plane.Distance, n)
	}
	for i := range n {
		for j := range i {
			d := plane.Distance(math.Inf(1))
			if t.places[i] == t.places[j] {
				d = 0
			} else if g.sees(t.places[i], t.places[j]) {
				d = t.places[i].Distance(t.places[j])
			}
			t.reach[i][j], t.reach[j][i] = d, d
		}
	}
	return t
}

// joined reports whether all places asked about can be reached from the first.
func (t *travel) joined() bool {
	if t.asked == 0 {
		return true
	}
	far, _ := t.from(0)
	for _, d := range far[:t.asked] {
		if math.IsInf(float64(d), 1) {
			return false
		}
	}
	return true
}

// from returns the distance from a place to all others, and the place before
// each on the way there; -1 where there is none (E. Dijkstra, "A note on two
// problems in connexion with graphs", 1959).
func (t *travel) from(start int) (far []plane.Distance, before []int) {
	n := len(t.places)
	far, before = make([]plane.Distance, n), make([]int, n)
	settled := make([]bool, n)
	for i := range n {
		far[i], before[i] = plane.Distance(math.Inf(1)), -1
	}
	far[start] = 0
	for {
		at := -1
		for i := range n {
			if !settled[i] && !math.IsInf(float64(far[i]), 1) && (at < 0 || far[i] < far[at]) {
				at = i
			}
		}
		if at < 0 {
			return far, before
		}
		settled[at] = true
		if at < t.asked && at != start { // a place to stop at is no corner to go round
			continue
		}
		for i, d := range t.reach[at] {
			if far[at]+d < far[i] {
				far[i], before[i] = far[at]+d, at
			}
		}
	}
}

// way returns the places from a start to another, both included; nil where no
// way leads there.
func (t *travel) way(start, to int, before []int) []plane.Point {
	var out []plane.Point
	for at := to; ; at = before[at] {
		out = append(out, t.places[at])
		if at == start {
			break
		}
		if before[at] < 0 {
			return nil
		}
	}
	slices.Reverse(out)
	return slices.Compact(out)
}

// lengthOf is the length of a line.
func lengthOf(line []plane.Point) plane.Distance {
	var sum plane.Distance
	for i := 1; i < len(line); i++ {
		sum += line[i-1].Distance(line[i])
	}
	return sum
}

// turned returns by how much a machine turns that goes a way from one direction
// to another: on leaving, at the bends, and to come in line.
func turned(from, to plane.Vector, way []plane.Point) plane.Angle {
	var sum plane.Angle
	x, y := from.X, from.Y
	turn := func(nx, ny float64) {
		if (x != 0 || y != 0) && (nx != 0 || ny != 0) {
			sum += plane.Angle(math.Abs(math.Atan2(x*ny-y*nx, x*nx+y*ny)))
		}
		if nx != 0 || ny != 0 {
			x, y = nx, ny
		}
	}
	for i := 1; i < len(way); i++ {
		turn(unit(way[i-1], way[i]))
	}
	turn(to.X, to.Y)
	return sum
}
