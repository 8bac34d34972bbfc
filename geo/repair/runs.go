package repair

import (
	"math"
	"math/bits"
	"slices"

	"lapwing/geo/plane"
)

// An edge is a straight edge from a to b.
type edge struct{ a, b plane.Point }

// edgesOf lists the edges of rings, one ring after the other.
func edgesOf(rings []plane.Ring) []edge {
	n := 0
	for _, r := range rings {
		n += len(r)
	}
	edges := make([]edge, 0, n)
	for _, r := range rings {
		for i, a := range r {
			b := r[0]
			if i+1 < len(r) {
				b = r[i+1]
			}
			edges = append(edges, edge{a, b})
		}
	}
	return edges
}

// edgeRuns holds edges with the boxes of runs of them: levels[k][i] is the box
// of shortRun << k edges from i times as many. Shorter runs are told apart edge
// by edge: it takes less than to make boxes for them.
//
// Edges that follow one another in a ring lie near each other, so the boxes of
// runs are small, and most pairs of runs are told apart at once. What is left
// is little more than each edge and the next one.
type edgeRuns struct {
	edges  []edge
	levels [][]plane.Box
	apart  plane.Length // edges farther from each other are not paired
	left   int          // how many boxes may still be compared
}

const (
	shortRun  = 4
	unlimited = math.MaxInt
)

func newEdgeRuns(edges []edge, apart plane.Length, steps int) *edgeRuns {
	short := (len(edges) + shortRun - 1) / shortRun
	room := make([]plane.Box, 0, 2*short+bits.Len(uint(short))) // for all levels: each has half as many, rounded up
	for run := range slices.Chunk(edges, shortRun) {
		b := run[0].box()
		for _, e := range run[1:] {
			b = around(b, e.box())
		}
		room = append(room, b)
	}
	level := room
	levels := [][]plane.Box{level}
	for len(level) > 1 {
		first := len(room)
		for i := 0; i < len(level); i += 2 {
			b := level[i]
			if i+1 < len(level) {
				b = around(b, level[i+1])
			}
			room = append(room, b)
		}
		level = room[first:]
		levels = append(levels, level)
	}
	return &edgeRuns{edges, levels, apart, steps}
}

func (e edge) box() plane.Box {
	return plane.Box{
		Min: plane.Point{X: min(e.a.X, e.b.X), Y: min(e.a.Y, e.b.Y)},
		Max: plane.Point{X: max(e.a.X, e.b.X), Y: max(e.a.Y, e.b.Y)},
	}
}

func around(b, c plane.Box) plane.Box {
	return plane.Box{
		Min: plane.Point{X: min(b.Min.X, c.Min.X), Y: min(b.Min.Y, c.Min.Y)},
		Max: plane.Point{X: max(b.Max.X, c.Max.X), Y: max(b.Max.Y, c.Max.Y)},
	}
}

// meets reports whether b and c come near enough for a pair.
func (t *edgeRuns) meets(b, c *plane.Box) bool {
	return b.Min.X-t.apart <= c.Max.X && c.Min.X-t.apart <= b.Max.X && b.Min.Y-t.apart <= c.Max.Y && c.Min.Y-t.apart <= b.Max.Y
}

// pairs yields the numbers i < j of all edges whose boxes come near enough,
// until it is told to stop or has no steps left.
func (t *edgeRuns) pairs(yield func(i, j int32) bool) {
	if len(t.edges) > 0 {
		t.within(len(t.levels)-1, 0, yield)
	}
}

// within yields the pairs inside run i of a level, and whether to go on, as do
// those below.
func (t *edgeRuns) within(level int, i int32, yield func(i, j int32) bool) bool {
	if level == 0 {
		for a, end := t.short(i); a < end; a++ {
			if !t.across(a, a+1, end, yield) {
				return false
			}
		}
		return true
	}
	a, b := 2*i, 2*i+1
	if !t.within(level-1, a, yield) {
		return false
	}
	return int(b) >= len(t.levels[level-1]) || t.within(level-1, b, yield) && t.between(level-1, a, b, yield)
}

// between yields the pairs of one edge of run i and one of run j.
func (t *edgeRuns) between(level int, i, j int32, yield func(i, j int32) bool) bool {
	boxes := t.levels[level]
	if t.left--; t.left < 0 {
		return false
	}
	if !t.meets(&boxes[i], &boxes[j]) {
		return true
	}
	if level == 0 {
		from, to := t.short(j)
		for a, end := t.short(i); a < end; a++ {
			if !t.across(a, from, to, yield) {
				return false
			}
		}
		return true
	}
	below := int32(len(t.levels[level-1]))
	for a := 2 * i; a < min(2*i+2, below); a++ {
		for b := 2 * j; b < min(2*j+2, below); b++ {
			if !t.between(level-1, a, b, yield) {
				return false
			}
		}
	}
	return true
}

// short returns the edges from ≤ e < to of a run of the lowest level.
func (t *edgeRuns) short(i int32) (from, to int32) {
	return i * shortRun, min((i+1)*shortRun, int32(len(t.edges)))
}

// across yields the pairs of edge a and those from ≤ b < to.
func (t *edgeRuns) across(a, from, to int32, yield func(i, j int32) bool) bool {
	if t.left -= int(to - from); t.left < 0 {
		return false
	}
	box := t.edges[a].box()
	for b := from; b < to; b++ {
		if other := t.edges[b].box(); t.meets(&box, &other) && !yield(a, b) {
			return false
		}
	}
	return true
}
