package near

import (
	"iter"
	"slices"

	"lapwing/geo/plane"
)

// Boxes finds which of some boxes meet another, where they follow one another
// as those around the edges of a ring do, or around the steps of a machine. It
// is a packed R-tree over the boxes as they stand; where they stood in no order
// of place it would be slow. It does not change once it is made: any number of
// goroutines may ask it. The zero Boxes holds none.
type Boxes struct {
	boxes []box
	tree
}

// NewBoxes makes an index of boxes.
func NewBoxes(boxes []plane.Box) Boxes {
	n := Boxes{boxes: make([]box, len(boxes))}
	for i := range boxes {
		n.boxes[i] = boxOn(&boxes[i])
	}
	leaves := make([]box, 0, len(boxes)/fanOut+1)
	for leaf := range slices.Chunk(n.boxes, fanOut) {
		leaves = append(leaves, around(leaf))
	}
	n.tree = newTree(leaves)
	return n
}

func boxOn(b *plane.Box) box {
	return box{float64(b.Min.X), float64(b.Min.Y), float64(b.Max.X), float64(b.Max.Y)}
}

// Meeting yields the boxes that share a point with b, by their number among
// those that NewBoxes was given, from the first on.
func (n *Boxes) Meeting(b plane.Box) iter.Seq[int] {
	return func(yield func(int) bool) {
		if top := len(n.levels) - 1; top >= 0 {
			on := boxOn(&b)
			n.forward(&on, top, n.levels[top], 0, yield)
		}
	}
}

// forward goes through some boxes of a level, the first of which is box first.
// It reports whether to go on.
func (n *Boxes) forward(on *box, level int, boxes []box, first int, yield func(int) bool) bool {
	for i := range boxes {
		switch {
		case !boxes[i].meets(on):
		case level > 0:
			below, from := n.below(level, first+i)
			if !n.forward(on, level-1, below, from, yield) {
				return false
			}
		default:
			from := (first + i) * fanOut
			for k := from; k < min(from+fanOut, len(n.boxes)); k++ {
				if n.boxes[k].meets(on) && !yield(k) {
					return false
				}
			}
		}
	}
	return true
}

// Backward is Meeting among the boxes from ≤ i < to, from the last back.
func (n *Boxes) Backward(b plane.Box, from, to int) iter.Seq[int] {
	return func(yield func(int) bool) {
		if top := len(n.levels) - 1; top >= 0 {
			on, span := boxOn(&b), fanOut
			for range top {
				span *= fanOut
			}
			n.back(&on, top, span, 0, len(n.levels[top]), from, to, yield)
		}
	}
}

// back goes through boxes of a level, first ≤ i < end, each of which is around
// span boxes. It reports whether to go on.
func (n *Boxes) back(on *box, level, span, first, end, from, to int, yield func(int) bool) bool {
	boxes := n.levels[level]
	for i := min(end, (to+span-1)/span) - 1; i >= max(first, from/span); i-- {
		switch {
		case !boxes[i].meets(on):
		case level > 0:
			if !n.back(on, level-1, span/fanOut, i*fanOut, min((i+1)*fanOut, len(n.levels[level-1])), from, to, yield) {
				return false
			}
		default:
			for k := min((i+1)*fanOut, len(n.boxes), to) - 1; k >= max(i*fanOut, from); k-- {
				if n.boxes[k].meets(on) && !yield(k) {
					return false
				}
			}
		}
	}
	return true
}
