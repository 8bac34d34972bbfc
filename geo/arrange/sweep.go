package arrange

import (
	"slices"

	"lapwing/geo/plane"
)

// A standing is an edge that the sweep line crosses now.
type standing struct {
	lo, hi point
	first  int32 // pieces[first:past] say what changes across it: its own, or as good, those of
	past   int32 // the edge that it goes on from, see [sweeper.goesOn]
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

// A sweeper moves a line over the nodes.
type sweeper struct {
	*edges
	line   *line
	web    *web
	covers *covers
	right  []int32 // the edges that begin at the node, from low to high
	round  []int32 // the borders' halves that leave the node, anticlockwise
}

// sweep moves a line over the nodes and finds what lies below and above each
// edge, the area of every combination, and how the borders join. It reports
// whether the budget of the combinations lasted.
func sweep(nd nodes, bent int, e *edges, c *covers) (*web, bool) {
	s := sweeper{edges: e, line: newLine(len(nd.at)), web: newWeb(nd, bent), covers: c}
	for from, to := range e.tidied(nd.at) {
		for v := from; v < to; v++ {
			if s.goesOn(int32(v)) {
				continue
			}
			if c.purse.empty {
				return nil, false
			}
			s.meet(int32(v))
		}
	}
	s.web.names = c.names
	return s.web, c.purse.close()
}

// meet ends the edges that end at node v, and begins those that begin there.
func (s *sweeper) meet(v int32) {
	l, w, c := s.line, s.web, s.covers
	p := w.at[v]
	from := l.find(p)
	below, at := int32(0), from
	prev, hasPrev := l.before(from)
	if hasPrev {
		below = l.at(prev).above
	}
	right, round := s.right[:0], s.round[:0]
	ending := 0
	for x := l.at(at); x != nil && x.end == v; x = l.at(at) {
		if x.chain >= 0 {
			round = append(round, 2*x.chain+1)
		}
		l.free = append(l.free, l.blocks[at.b][at.i])
		ending++
		at = l.after(at)
	}
	slices.Reverse(round)
	fromWest := len(round)
	cover := below
	for i, to := s.from[v], s.to[v]; i < to; {
		past := s.edge(i, to)
		above := c.across(cover, s.pieces[i:past])
		hi := s.pieces[i].hi
		x := standing{p, w.at[hi], i, past, hi, cover, above, -1}
		if c.names[above] != c.names[cover] {
			x.chain = w.begin(cover, above)
			c.purse.crossings(1)
			round = append(round, 2*x.chain)
		}
		c.measure(&x, w)
		right = append(right, l.stand(x))
		cover, i = above, past
	}
	if len(round) > 0 {
		under := int32(-1)
		if fromWest == 0 {
			under = l.borderBelow(prev, hasPrev)
		}
		w.join(p, round, under)
	}
	l.replace(from, ending, right)
	s.right, s.round = right, round
}

// goesOn does all there is to do at node v if one edge ends there and one
// begins across which the same layers change: as nearly everywhere, a ring
// merely bends, and what lies on either side stays the same.
func (s *sweeper) goesOn(v int32) bool {
	i, past, n := s.from[v], s.to[v], s.line.arrives[v]
	if n < 0 || i == past || s.pieces[i].hi != s.pieces[past-1].hi {
		return false
	}
	x := &s.line.edges[n]
	if !sameChanges(s.pieces[x.first:x.past], s.pieces[i:past]) {
		return false
	}
	if x.chain >= 0 {
		s.web.bend(x.chain, x.hi)
	}
	hi := s.pieces[i].hi
	x.lo, x.hi, x.end = x.hi, s.web.at[hi], hi
	s.line.expect(n, hi)
	s.covers.measure(x, s.web)
	return true
}

// sameChanges reports whether the same layers change across two edges.
func sameChanges(a, b []piece) bool {
	if len(a) != len(b) {
		return false
	}
	for k := range a {
		if a[k].wound != b[k].wound {
			return false
		}
	}
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

// borderBelow returns the first border from s downward, or -1.
func (l *line) borderBelow(s spot, ok bool) int32 {
	for ; ok; s, ok = l.before(s) {
		if x := l.at(s); x.chain >= 0 {
			return x.chain
		}
	}
	return -1
}
