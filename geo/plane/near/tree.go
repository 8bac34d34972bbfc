package near

import (
	"math"
	"slices"
)

// A tree is a packed R-tree (N. Roussopoulos, D. Leifker, "Direct spatial
// search on pictorial databases using packed R-trees", 1985) over things that
// stand in such an order that those that lie together mostly stand together:
// every eight have a box around them, every eight boxes a larger one, and so on:
//
//	[.................] [...              levels[1]
//	[......]  [.......] [...              levels[0]
//	- | | - | | - - | | | -               the things
type tree struct {
	levels [][]box // from the leaves upward
}

// fanOut is how many things, or boxes, have a box together. In BenchmarkIndex
// 16 cost edges/Nearest a third more and save steps a sixth; 4 save a tenth of
// the one and cost the other a third more.
const fanOut = 8

// newTree makes a tree of its leaves, the boxes around each eight things.
func newTree(leaves []box) tree {
	levels := [][]box{leaves}
	for level := leaves; len(level) > fanOut; {
		next := make([]box, 0, len(level)/fanOut+1)
		for boxes := range slices.Chunk(level, fanOut) {
			next = append(next, around(boxes))
		}
		level = next
		levels = append(levels, level)
	}
	return tree{levels}
}

// below returns the boxes in box i of a level, and which the first of them is.
func (t *tree) below(level, i int) ([]box, int) {
	boxes := t.levels[level-1]
	return boxes[i*fanOut : min((i+1)*fanOut, len(boxes))], i * fanOut
}

// A box is an upright rectangle, in ticks.
type box struct{ x0, y0, x1, y1 float64 }

// nowhere is the box around nothing.
var nowhere = box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}

// around returns the smallest box around some others.
func around(boxes []box) box {
	b := boxes[0]
	for _, c := range boxes[1:] {
		b = box{min(b.x0, c.x0), min(b.y0, c.y0), max(b.x1, c.x1), max(b.y1, c.y1)}
	}
	return b
}

// away returns the square of the distance from x, y to the box.
func (b *box) away(x, y float64) float64 {
	dx, dy := max(b.x0-x, x-b.x1, 0), max(b.y0-y, y-b.y1, 0)
	return dx*dx + dy*dy
}

// meets reports whether b and c share a point.
func (b *box) meets(c *box) bool {
	return b.x0 <= c.x1 && c.x0 <= b.x1 && b.y0 <= c.y1 && c.y0 <= b.y1
}

// A ranking holds boxes of one level that have a box together, the nearest
// first.
type ranking struct {
	list [fanOut]struct {
		away float64
		at   int
	}
	count int
}

func (r *ranking) add(away float64, at int) {
	k := r.count
	for ; k > 0 && r.list[k-1].away > away; k-- {
		r.list[k] = r.list[k-1]
	}
	r.list[k].away, r.list[k].at = away, at
	r.count++
}
