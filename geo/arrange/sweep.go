package arrange

import (
	"slices"

	"lapwing/geo/plane"
)

// A standing is an edge that the sweep line crosses now.
type standing struct {
	lo, hi point
	edge   int32
	end    int32 // the node at hi
	below  int32 // the combination of layers below
	above  int32 // and above
	chain  int32 // the border it is part of; -1 for none
}

// A line holds the numbers of the standing edges from south to north, in
// blocks. Where a ring merely bends, one edge hands its number on to the next:
// the line stays as it is, and need not be searched.
type line struct {
	edges   []standing // by number
	free    []int32    // numbers of none
	blocks  [][]int32
	arrives []int32 // for each node, the standing edge that ends there, or noOne or several
}

const (
	noOne   = -1
	several = -2
)

// blockSize bounds how far entries are moved to make room. Larger blocks move
// more, smaller ones make the list of blocks long; 32 to 128 are alike.
const blockSize = 64

func newLine(nodes int) *line {
	l := &line{arrives: make([]int32, nodes)}
	for v := range l.arrives {
		l.arrives[v] = noOne
	}
	return l
}

// stand makes x a standing edge, and returns its number.
func (l *line) stand(x standing) int32 {
	n := int32(len(l.edges))
	if last := len(l.free) - 1; last >= 0 {
		n, l.free = l.free[last], l.free[:last]
		l.edges[n] = x
	} else {
		l.edges = append(l.edges, x)
	}
	l.expect(n, x.end)
	return n
}

// expect notes that standing edge n ends at a node.
func (l *line) expect(n, node int32) {
	if l.arrives[node] == noOne {
		l.arrives[node] = n
	} else {
		l.arrives[node] = several
	}
}

// above reports whether p is above the standing edge n.
func (l *line) above(p point, n int32) bool {
	e := &l.edges[n]
	return cross(e.lo, e.hi, p) > 0
}

// A spot is a place in a line: before entry i of block b.
type spot struct{ b, i int }

// find returns the spot of the first entry that p is not above.
func (l *line) find(p point) spot {
	lo, hi := 0, len(l.blocks)
	for lo < hi { // the first block whose last entry p is not above
		mid := int(uint(lo+hi) >> 1)
		if b := l.blocks[mid]; l.above(p, b[len(b)-1]) {
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
		if l.above(p, b[mid]) {
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
	return &l.edges[l.blocks[s.b][s.i]]
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
func (l *line) replace(s spot, n int, with []int32) {
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
		l.blocks = append(l.blocks, make([]int32, 0, blockSize))
	}
	if s.b == len(l.blocks) { // at the very end: add to the last block
		s.b--
		s.i = len(l.blocks[s.b])
	}
	b := slices.Insert(l.blocks[s.b], s.i, with...)
	l.blocks[s.b] = b
	if len(b) > blockSize {
		var parts [][]int32
		for rest := b; len(rest) > 0; {
			k := min(len(rest), blockSize/2)
			parts = append(parts, append(make([]int32, 0, blockSize+8), rest[:k]...))
			rest = rest[k:]
		}
		l.blocks = slices.Replace(l.blocks, s.b, s.b+1, parts...)
	}
}

// sweep moves a line over the nodes and finds what lies below and above each
// edge, the area of every combination, and how the borders join. It reports
// whether the budget of the combinations lasted.
func sweep(nd nodes, bent int, e edges, c *covers) (*web, bool) {
	var (
		w     = newWeb(nd, bent)
		l     = newLine(len(nd.at))
		right []int32 // the edges that begin at the node, from low to high
		round []int32 // the borders' halves that leave the node, anticlockwise
	)
	for v, p := range nd.at {
		if l.goesOn(int32(v), &e, w, c) {
			continue
		}
		if c.purse.empty {
			return nil, false
		}
		s := l.find(p)
		below, first := int32(0), s
		prev, hasPrev := l.before(s)
		if hasPrev {
			below = l.at(prev).above
		}
		right, round = right[:0], round[:0]
		ending := 0
		for x := l.at(s); x != nil && x.end == int32(v); x = l.at(s) {
			if x.chain >= 0 {
				round = append(round, 2*x.chain+1)
			}
			l.free = append(l.free, l.blocks[s.b][s.i])
			ending++
			s = l.after(s)
		}
		slices.Reverse(round)
		fromWest := len(round)
		cover := below
		for i := e.from[v]; i < e.from[v+1]; i++ {
			above := c.across(cover, e.changes[e.first[i]:e.first[i+1]])
			x := standing{p, nd.at[e.hi[i]], i, e.hi[i], cover, above, -1}
			if c.names[above] != c.names[cover] {
				x.chain = w.begin(cover, above)
				c.purse.crossings(1)
				round = append(round, 2*x.chain)
			}
			c.measure(&x, w)
			right = append(right, l.stand(x))
			cover = above
		}
		if len(round) > 0 {
			under := int32(-1)
			if fromWest == 0 {
				under = l.borderBelow(prev, hasPrev)
			}
			w.join(p, round, under)
		}
		l.replace(first, ending, right)
	}
	w.names = c.names
	return w, c.purse.close()
}

// goesOn does all there is to do at node v if one edge ends there and one
// begins across which the same layers change: as nearly everywhere, a ring
// merely bends, and what lies on either side stays the same.
func (l *line) goesOn(v int32, e *edges, w *web, c *covers) bool {
	i, n := e.from[v], l.arrives[v]
	if n < 0 || e.from[v+1] != i+1 {
		return false
	}
	x := &l.edges[n]
	if !e.sameChange(x.edge, i) {
		return false
	}
	if x.chain >= 0 {
		w.bend(x.chain, x.hi)
	}
	x.lo, x.hi, x.end, x.edge = x.hi, w.at[e.hi[i]], e.hi[i], i
	l.expect(n, x.end)
	c.measure(x, w)
	return true
}

// measure adds what an edge contributes to the areas on either side of it.
func (c *covers) measure(x *standing, w *web) {
	area := plane.Area(int64(x.lo.x)*int64(x.hi.y) - int64(x.lo.y)*int64(x.hi.x))
	c.area[x.above] += area
	c.area[x.below] -= area
	if x.chain >= 0 {
		w.chains[x.chain].area += area
	}
}

// sameChange reports whether the same layers change across edges i and j.
func (e *edges) sameChange(i, j int32) bool {
	a, b := e.changes[e.first[i]:e.first[i+1]], e.changes[e.first[j]:e.first[j+1]]
	return len(a) == 1 && len(b) == 1 && a[0] == b[0] || slices.Equal(a, b)
}

// borderBelow returns the first border from s downward, or -1.
func (l *line) borderBelow(s spot, ok bool) int32 {
	for ; ok; s, ok = l.before(s) {
		if x := l.at(s); x.chain >= 0 {
			return x.chain
		}
	}
	return -1
}
