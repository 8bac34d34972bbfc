package geojson

import (
	"math/bits"
	"slices"
)

// edgeRuns holds edges with the boxes of runs of them: levels[k][i] is the box
// of shortRun << k edges from i times as many. Shorter runs are told apart edge
// by edge: it takes less than to make boxes for them.
type edgeRuns struct {
	edges  []nanoEdge
	levels [][]nanoBox
}

const shortRun = 4

// A nanoBox is the smallest upright rectangle around some places.
type nanoBox struct{ west, south, east, north int64 }

func newEdgeRuns(edges []nanoEdge) edgeRuns {
	short := (len(edges) + shortRun - 1) / shortRun
	room := make([]nanoBox, 0, 2*short+bits.Len(uint(short))) // for all levels: each has half as many, rounded up
	for run := range slices.Chunk(edges, shortRun) {
		b := run[0].box()
		for _, e := range run[1:] {
			b = b.around(e.box())
		}
		room = append(room, b)
	}
	level := room
	levels := [][]nanoBox{level}
	for len(level) > 1 {
		first := len(room)
		for i := 0; i < len(level); i += 2 {
			b := level[i]
			if i+1 < len(level) {
				b = b.around(level[i+1])
			}
			room = append(room, b)
		}
		level = room[first:]
		levels = append(levels, level)
	}
	return edgeRuns{edges, levels}
}

func (e nanoEdge) box() nanoBox {
	return nanoBox{min(e.a.lon, e.b.lon), min(e.a.lat, e.b.lat), max(e.a.lon, e.b.lon), max(e.a.lat, e.b.lat)}
}

func (b nanoBox) around(c nanoBox) nanoBox {
	return nanoBox{min(b.west, c.west), min(b.south, c.south), max(b.east, c.east), max(b.north, c.north)}
}

// meets reports whether b and c come within one unit.
func (b *nanoBox) meets(c *nanoBox) bool {
	return b.west-1 <= c.east && c.west-1 <= b.east && b.south-1 <= c.north && c.south-1 <= b.north
}

// pairs yields the numbers i < j of all edges whose boxes come within one unit.
func (t edgeRuns) pairs(yield func(i, j int32)) {
	if top := len(t.levels) - 1; len(t.levels[top]) > 0 {
		t.within(top, 0, yield)
	}
}

// within yields the pairs inside run i of a level.
func (t edgeRuns) within(level int, i int32, yield func(i, j int32)) {
	if level == 0 {
		for a, end := t.short(i); a < end; a++ {
			t.across(a, a+1, end, yield)
		}
		return
	}
	a, b := 2*i, 2*i+1
	t.within(level-1, a, yield)
	if int(b) < len(t.levels[level-1]) {
		t.within(level-1, b, yield)
		t.between(level-1, a, b, yield)
	}
}

// between yields the pairs of one edge of run i and one of run j.
func (t edgeRuns) between(level int, i, j int32, yield func(i, j int32)) {
	boxes := t.levels[level]
	if !boxes[i].meets(&boxes[j]) {
		return
	}
	if level == 0 {
		from, to := t.short(j)
		for a, end := t.short(i); a < end; a++ {
			t.across(a, from, to, yield)
		}
		return
	}
	below := int32(len(t.levels[level-1]))
	for a := 2 * i; a < min(2*i+2, below); a++ {
		for b := 2 * j; b < min(2*j+2, below); b++ {
			t.between(level-1, a, b, yield)
		}
	}
}

// short returns the edges from ≤ e < to of a run of the lowest level.
func (t edgeRuns) short(i int32) (from, to int32) {
	return i * shortRun, min((i+1)*shortRun, int32(len(t.edges)))
}

// across yields the pairs of edge a and those from ≤ b < to.
func (t edgeRuns) across(a, from, to int32, yield func(i, j int32)) {
	box := t.edges[a].box()
	for b := from; b < to; b++ {
		if other := t.edges[b].box(); box.meets(&other) {
			yield(a, b)
		}
	}
}
