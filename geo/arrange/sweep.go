package arrange

import (
	"slices"

	"lapwing/geo/plane"
)

// A web is the borders between labels, ready to be followed round each face.
// The halves of edge e are 2e, from lo to hi with the ground above it on its
// left, and 2e+1 back with the ground below on its left.
type web struct {
	edges
	label []Label // of the ground left of each half; meaningful on borders
	next  []int32 // the half that goes on round the same ground; -1 off the borders
	under []int32 // of a node no border comes to from the west: the border next below, or -1
}

// standing is an edge that the sweep line crosses now.
type standing struct {
	lo, hi point
	end    int32 // the node at hi
	edge   int32
	above  int32 // the combination of layers above
	border bool
}

// blockSize bounds how far entries are moved to make room. Larger blocks move
// more, smaller ones make the list of blocks long; 32 to 128 are alike.
const blockSize = 64

// A line holds the standing edges from south to north, in blocks.
type line struct{ blocks [][]standing }

// A spot is a place in a line: before entry i of block b.
type spot struct{ b, i int }

// find returns the spot of the first entry that p is not above.
func (l *line) find(p point) spot {
	lo, hi := 0, len(l.blocks)
	for lo < hi { // the first block whose last entry p is not above
		mid := int(uint(lo+hi) >> 1)
		b := l.blocks[mid]
		if e := &b[len(b)-1]; cross(e.lo, e.hi, p) > 0 {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	if lo == len(l.blocks) {
		return spot{lo, 0}
	}
	b := l.blocks[lo]
	i, j := 0, len(b)-1
	for i < j {
		mid := int(uint(i+j) >> 1)
		if e := &b[mid]; cross(e.lo, e.hi, p) > 0 {
			i = mid + 1
		} else {
			j = mid
		}
	}
	return spot{lo, i}
}

// at returns the entry at s, or nil at the end.
func (l *line) at(s spot) *standing {
	if s.b >= len(l.blocks) {
		return nil
	}
	return &l.blocks[s.b][s.i]
}

// after and before step along the line; before reports false at the start.
func (l *line) after(s spot) spot {
	if s.i++; s.i == len(l.blocks[s.b]) {
		return spot{s.b + 1, 0}
	}
	return s
}

func (l *line) before(s spot) (spot, bool) {
	if s.i > 0 {
		return spot{s.b, s.i - 1}, true
	}
	if s.b == 0 {
		return s, false
	}
	return spot{s.b - 1, len(l.blocks[s.b-1]) - 1}, true
}

// replace puts the entries in the place of the n entries from s on.
func (l *line) replace(s spot, n int, with []standing) {
	for n > 0 && len(with) > 0 {
		l.blocks[s.b][s.i] = with[0]
		with, n = with[1:], n-1
		if n > 0 || len(with) > 0 {
			if s.i++; s.i == len(l.blocks[s.b]) && n > 0 {
				s = spot{s.b + 1, 0}
			}
		}
	}
	for n > 0 {
		b := l.blocks[s.b]
		k := min(n, len(b)-s.i)
		l.blocks[s.b] = slices.Delete(b, s.i, s.i+k)
		n -= k
		if len(l.blocks[s.b]) == 0 {
			l.blocks = slices.Delete(l.blocks, s.b, s.b+1)
			s.i = 0
		} else if s.i == len(l.blocks[s.b]) {
			s = spot{s.b + 1, 0}
		}
	}
	if len(with) == 0 {
		return
	}
	if len(l.blocks) == 0 {
		l.blocks = append(l.blocks, make([]standing, 0, blockSize))
	}
	if s.b == len(l.blocks) { // at the very end: add to the last block
		s.b--
		s.i = len(l.blocks[s.b])
	}
	b := slices.Insert(l.blocks[s.b], s.i, with...)
	l.blocks[s.b] = b
	if len(b) > blockSize {
		var parts [][]standing
		for rest := b; len(rest) > 0; {
			k := min(len(rest), blockSize/2)
			parts = append(parts, append(make([]standing, 0, blockSize+8), rest[:k]...))
			rest = rest[k:]
		}
		l.blocks = slices.Replace(l.blocks, s.b, s.b+1, parts...)
	}
}

// sweep moves a line over the nodes and finds what lies below and above each
// edge, the area of every combination, and how the borders join.
func sweep(at []point, e edges, c *covers) *web {
	w := &web{
		edges: e,
		label: make([]Label, 2*len(e.lo)),
		next:  make([]int32, 2*len(e.lo)),
		under: make([]int32, len(at)),
	}
	for i := range w.next {
		w.next[i] = -1
	}
	var (
		l     line
		right []standing // the edges that begin at the node, from low to high
		round []int32    // the borders' halves that leave the node, anticlockwise
	)
	for v := range at {
		w.under[v] = -1
		p := at[v]
		s := l.find(p)
		below, first := int32(0), s
		prev, hasPrev := l.before(s)
		if hasPrev {
			below = l.at(prev).above
		}
		ending := 0
		for x := l.at(s); x != nil && x.end == int32(v); x = l.at(s) {
			ending++
			s = l.after(s)
		}

		right, round = right[:0], round[:0]
		cover := below
		for i := e.from[v]; i < e.from[v+1]; i++ {
			above := c.across(cover, e.changes[e.first[i]:e.first[i+1]])
			q := at[e.hi[i]]
			area := plane.Area(int64(p.x)*int64(q.y) - int64(p.y)*int64(q.x))
			c.area[above] += area
			c.area[cover] -= area
			w.label[2*i], w.label[2*i+1] = c.names[above], c.names[cover]
			border := c.names[above] != c.names[cover]
			if border {
				round = append(round, 2*i)
			}
			right = append(right, standing{p, q, e.hi[i], i, above, border})
			cover = above
		}
		begin := len(round)
		s = first
		for range ending {
			if x := l.at(s); x.border {
				round = append(round, 2*x.edge+1)
			}
			s = l.after(s)
		}
		slices.Reverse(round[begin:])
		if begin == len(round) && begin > 0 {
			w.under[v] = l.borderBelow(prev, hasPrev)
		}
		for i, h := range round { // arriving against h, go on along the one clockwise of it
			w.next[h^1] = round[(i+len(round)-1)%len(round)]
		}
		l.replace(first, ending, right)
	}
	return w
}

// borderBelow returns the first border from s downward, or -1.
func (l *line) borderBelow(s spot, ok bool) int32 {
	for ; ok; s, ok = l.before(s) {
		if x := l.at(s); x.border {
			return x.edge
		}
	}
	return -1
}
