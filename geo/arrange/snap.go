package arrange

import (
	"cmp"
	"math"
	"math/bits"
	"slices"

	"lapwing/geo/parallel"
)

// A bend says that a segment passes through the hot cell at a point that is
// not one of its ends.
type bend struct {
	seg int32
	at  point
}

// fewSegs is how many segments a box may hold to be searched pair by pair.
// Fewer, and long segments are handed down too often; more, and the pairs
// grow with the square. 8 to 24 make no difference to speak of.
const fewSegs = 12

// smallBox is the side in ticks below which boxes are not split further: all
// that is left in one then runs through the same few cells.
const smallBox = 8

// A box is the half-open rectangle of grid points [x0,x1) × [y0,y1).
type box struct{ x0, y0, x1, y1 int32 }

func (b box) holds(p point) bool { return b.x0 <= p.x && p.x < b.x1 && b.y0 <= p.y && p.y < b.y1 }

// snap finds the hot cells and the segments that must bend through them, and
// reports whether the budget lasted.
//
// It lays squares over the plane, a few segments to each, and within each
// square compares every pair and every hot cell. A square owns the hot cells
// whose centre is in it, so that every cell is found once; a segment that
// passes within a tick of a square is in its list, so that none that passes
// through one of its cells is missing. A square with many segments is halved
// again and again first.
func snap(segs []seg, b *Budget) ([]bend, bool) {
	if len(segs) == 0 {
		return nil, true
	}
	sq := newSquares(segs)
	// Squares share nothing, so that each processor takes the next row in line.
	workers := parallel.EachWith(int(sq.rows), func(row int, s *snapper) {
		s.segs, s.purse.budget = segs, b
		for column := range sq.columns {
			list, b := sq.at(column, int32(row))
			s.split(list, b)
		}
	})
	bends, lasts := workers[0].bends, workers[0].purse.close()
	for i := range workers[1:] {
		w := &workers[1+i]
		bends, lasts = append(bends, w.bends...), w.purse.close() && lasts
	}
	return bends, lasts
}

// squares lists the segments that pass through, or within a tick of, each
// square of a chequered plane.
type squares struct {
	x0, y0, side  int32
	columns, rows int32
	lists         []int32
	first         []int32 // square i lists lists[first[i]:first[i+1]]
}

// perSquare is how many squares there are for one segment. Fewer make longer
// lists to compare, more make every segment be in more of them.
const perSquare = 0.5

// mostListed is how many squares a segment may be in on average.
const mostListed = 8

func newSquares(segs []seg) *squares {
	lo, hi := segs[0].a, segs[0].a
	for i := range segs { // whose rings come back: all corners are where one begins
		p := segs[i].a
		lo, hi = point{min(lo.x, p.x), min(lo.y, p.y)}, point{max(hi.x, p.x), max(hi.y, p.y)}
	}
	w, h := float64(hi.x-lo.x)+1, float64(hi.y-lo.y)+1
	side := math.Sqrt(w * h / (1 + perSquare*float64(len(segs))))
	side = max(side, (w+h)/(4+float64(len(segs))), smallBox) // a thin strip has no more columns than segments
	q := &squares{x0: lo.x, y0: lo.y}
	parts := partsOf(len(segs), nil)
	found := make([]crossed, parts.len())
	for {
		q.side = int32(math.Ceil(min(side, 1<<30)))
		q.columns, q.rows = (hi.x-lo.x)/q.side+1, (hi.y-lo.y)/q.side+1
		parts.each(func(k, from, to int) { found[k].find(q, segs[from:to], mostListed*len(segs)) })
		listed := 0
		for k := range found {
			listed += len(found[k].squares)
		}
		// Where long segments run through many squares, larger ones do better.
		if listed <= mostListed*len(segs) || q.columns*q.rows == 1 {
			break
		}
		side *= 2
	}
	t := parts.tally(int(q.columns) * int(q.rows))
	parts.each(func(k, _, _ int) {
		counts := t.of(k)
		for _, square := range found[k].squares {
			counts[square]++
		}
	})
	q.lists = make([]int32, t.place())
	q.first = append(slices.Clone(t.of(0)), int32(len(q.lists)))
	parts.each(func(k, from, _ int) { found[k].list(q.lists, int32(from), t.of(k)) })
	return q
}

// crossed are the squares that each of some segments is in, one segment after the
// other: those of segment i end at squares[ends[i]].
type crossed struct{ squares, ends []int32 }

// find finds the squares of segments, and stops where they are more than enough.
func (c *crossed) find(q *squares, segs []seg, enough int) {
	if c.ends == nil {
		c.squares, c.ends = make([]int32, 0, 2*len(segs)), make([]int32, len(segs))
	}
	squares := c.squares[:0]
	for i := range segs {
		if len(squares) > enough {
			break
		}
		squares = q.through(squares, &segs[i])
		c.ends[i] = int32(len(squares))
	}
	c.squares = squares
}

// list puts the segments, which are numbered from first, in the lists of their squares.
func (c *crossed) list(lists []int32, first int32, places []int32) {
	from := int32(0)
	for i, end := range c.ends {
		for _, square := range c.squares[from:end] {
			at := &places[square]
			lists[*at] = first + int32(i)
			*at++
		}
		from = end
	}
}

// at returns the list of a square, and the square.
func (q *squares) at(column, row int32) ([]int32, box) {
	i := row*q.columns + column
	x, y := q.x0+column*q.side, q.y0+row*q.side
	return q.lists[q.first[i]:q.first[i+1]:q.first[i+1]], box{x, y, x + q.side, y + q.side}
}

// through adds every square that the segment comes within a tick of to in,
// column by column. The heights at which it enters and leaves a column are exact to
// far below the tick that is added to them on top.
func (q *squares) through(in []int32, g *seg) []int32 {
	a, b := g.a, g.b
	if b.x < a.x {
		a, b = b, a
	}
	slope := 0.0
	if b.x > a.x {
		slope = float64(b.y-a.y) / float64(b.x-a.x)
	}
	height := func(x int32) int32 { return a.y + int32(math.Floor(slope*float64(x-a.x))) }
	last := min((b.x+1-q.x0)/q.side, q.columns-1)
	for column := max(a.x-1-q.x0, 0) / q.side; column <= last; column++ {
		left := q.x0 + column*q.side
		y0, y1 := a.y, b.y
		if b.x > a.x {
			y0, y1 = height(max(a.x, left-1)), height(min(b.x, left+q.side+1))
		}
		if y1 < y0 {
			y0, y1 = y1, y0
		}
		top := min((y1+2-q.y0)/q.side, q.rows-1)
		for row := max(y0-2-q.y0, 0) / q.side; row <= top; row++ {
			in = append(in, row*q.columns+column)
		}
	}
	return in
}

// A snapper works through one part of the plane.
type snapper struct {
	segs  []seg
	bends []bend
	stack []int32 // the lists of the boxes on the way down
	hot   []point
	table []int32 // room for once
	purse purse
}

// split searches the box b, through which the listed segments pass.
//
// A box with many segments is halved first, for as long as that leaves fewer
// pairs to compare. Segments that run side by side through box after box, too
// near for halving to part them, are compared at once: in smaller boxes it would
// be all of them again, over and over.
//
//	+-------+-------+
//	|       |  __-==|
//	|       |==     |   lengthwise both halves hold all
//	|  __-==|       |   there are
//	|==     |       |
//	+-------+-------+
func (s *snapper) split(list []int32, b box) {
	if len(list) < 2 || s.purse.empty {
		return
	}
	if len(list) <= fewSegs {
		s.search(list, b)
		return
	}
	if b.small() {
		s.crowd(list, b)
		return
	}
	mark := len(s.stack)
	low, high, l, h := s.halve(list, b)
	now, next := pairs(len(list)), pairs(len(l))+pairs(len(h))
	ahead := 0
	if next > now+now/2 {
		if ahead = s.pairsIn(l, low, looksAhead); ahead <= 2*now {
			ahead += s.pairsIn(h, high, looksAhead)
		}
	}
	if ahead > 2*now {
		s.crowd(list, b)
	} else {
		s.split(l, low)
		s.split(h, high)
	}
	s.stack = s.stack[:mark]
}

// looksAhead is how many more times both halves of a box are halved to see
// whether fewer pairs are left. Lines that run every way through a box make a
// quarter more pairs however often it is halved. Those that run side by side
// make four times as many after three times, so that any number from one and a
// half to three tells them apart.
const looksAhead = 2

// pairs is how many pairs there are of n.
func pairs(n int) int { return n * (n - 1) / 2 }

// small reports whether a box is no longer split.
func (b box) small() bool { return b.x1-b.x0 <= smallBox && b.y1-b.y0 <= smallBox }

// pairsIn returns how many pairs would have to be compared in a box once it is
// halved so many times.
func (s *snapper) pairsIn(list []int32, b box, times int) int {
	if times == 0 || len(list) <= fewSegs || b.small() {
		return pairs(len(list))
	}
	mark := len(s.stack)
	low, high, l, h := s.halve(list, b)
	n := s.pairsIn(l, low, times-1) + s.pairsIn(h, high, times-1)
	s.stack = s.stack[:mark]
	return n
}

// crowd searches a box whose segments halving does not part. Of the segments
// between the same two points it looks at one, and bends the others as that one:
// thousands of drives in the very same tracks then cost what one does.
func (s *snapper) crowd(list []int32, b box) {
	sorted := s.sortedByEnds(list)
	distinct := slices.CompactFunc(slices.Clone(sorted), s.same)
	mark := len(s.bends)
	if len(distinct) > len(list)/2 {
		s.search(distinct, b)
	} else {
		s.split(distinct, b)
	}
	if len(distinct) == len(list) {
		return
	}
	others := map[int32][]int32{}
	for n := 0; n < len(sorted); {
		first := n
		for n++; n < len(sorted) && s.same(sorted[first], sorted[n]); n++ {
		}
		others[sorted[first]] = sorted[first+1 : n]
	}
	for _, bd := range s.bends[mark:] {
		more := others[bd.seg]
		if !s.purse.crossings(len(more)) {
			return
		}
		for _, i := range more {
			s.bends = append(s.bends, bend{i, bd.at})
		}
	}
}

// halve cuts b in two, across the way most segments run, and lists the
// segments of each half. The lists stay on the stack until the caller is done.
func (s *snapper) halve(list []int32, b box) (low, high box, l, h []int32) {
	mx := b.x0 + (b.x1-b.x0)/2
	my := b.y0 + (b.y1-b.y0)/2
	var acrossX, acrossY int // segments that both halves would have to list
	for _, i := range list {
		sg := &s.segs[i]
		if (sg.a.x < mx) != (sg.b.x < mx) {
			acrossX++
		}
		if (sg.a.y < my) != (sg.b.y < my) {
			acrossY++
		}
	}
	cutX := acrossX < acrossY || acrossX == acrossY && b.x1-b.x0 >= b.y1-b.y0
	if b.x1-b.x0 <= smallBox {
		cutX = false
	} else if b.y1-b.y0 <= smallBox {
		cutX = true
	}
	low, high = b, b
	if cutX {
		low.x1, high.x0 = mx, mx
	} else {
		low.y1, high.y0 = my, my
	}
	mark := len(s.stack)
	for _, i := range list {
		if s.near(i, low) {
			s.stack = append(s.stack, i)
		}
	}
	mid := len(s.stack)
	for _, i := range list {
		if s.near(i, high) {
			s.stack = append(s.stack, i)
		}
	}
	return low, high, s.stack[mark:mid:mid], s.stack[mid:len(s.stack):len(s.stack)]
}

// near reports whether segment i may pass through a cell whose centre is in
// b: the segment meets b widened by a tick. It may say yes too often.
func (s *snapper) near(i int32, b box) bool {
	g := &s.segs[i]
	x0, y0, x1, y1 := b.x0-1, b.y0-1, b.x1, b.y1
	if max(g.a.x, g.b.x) < x0 || min(g.a.x, g.b.x) > x1 || max(g.a.y, g.b.y) < y0 || min(g.a.y, g.b.y) > y1 {
		return false
	}
	// The rectangle is off the line if its corners nearest to the line on
	// either side are on the same side of it.
	dx, dy := int64(g.b.x-g.a.x), int64(g.b.y-g.a.y)
	nx, ny, fx, fy := x0, y1, x1, y0 // most left of the line, and most right, for a line to the north-east
	if dy < 0 {
		nx, fx = fx, nx
	}
	if dx < 0 {
		ny, fy = fy, ny
	}
	left := dx*int64(ny-g.a.y) - dy*int64(nx-g.a.x)
	right := dx*int64(fy-g.a.y) - dy*int64(fx-g.a.x)
	return left >= 0 && right <= 0
}

// search compares all listed segments, pair by pair, and all hot cells of b.
func (s *snapper) search(list []int32, b box) {
	crowded := len(list) > fewSegs
	if crowded && !s.purse.pairs(pairs(len(list))) {
		return
	}
	hot := s.hot[:0]
	for _, i := range list {
		g := &s.segs[i]
		if b.holds(g.a) {
			hot = append(hot, g.a)
		}
		if b.holds(g.b) {
			hot = append(hot, g.b)
		}
	}
	full := fewHot
	for n, i := range list {
		g := &s.segs[i]
		x0, x1 := min(g.a.x, g.b.x), max(g.a.x, g.b.x)
		y0, y1 := min(g.a.y, g.b.y), max(g.a.y, g.b.y)
		for _, j := range list[n+1:] {
			k := &s.segs[j]
			if g.b == k.a || g.a == k.b { // the next edge of a ring, most often: meets it there and nowhere else
				continue
			}
			if max(k.a.x, k.b.x) < x0 || min(k.a.x, k.b.x) > x1 || max(k.a.y, k.b.y) < y0 || min(k.a.y, k.b.y) > y1 {
				continue
			}
			if p, ok := crossing(g, k); ok && b.holds(p) {
				hot = append(hot, p)
			}
		}
		if len(hot) > full { // thousands of segments through one place cross at few cells
			hot = s.once(hot)
			full = max(fewHot, 2*len(hot))
			if !s.purse.holds(len(hot)) {
				return
			}
		}
	}
	hot = s.once(hot)
	s.hot = hot
	for _, i := range list {
		g := &s.segs[i]
		before := len(s.bends)
		for _, p := range hot {
			if p != g.a && p != g.b && passes(g, p) {
				s.bends = append(s.bends, bend{i, p})
			}
		}
		s.purse.crossings(len(s.bends) - before)
		if crowded && !s.purse.pairs(len(hot)/4) { // which takes a quarter of the time
			return
		}
	}
}

// fewHot is how many hot cells are listed before those that repeat are left out.
const fewHot = 4096

// sortedByEnds lists the segments so that those between the same two points
// lie together.
func (s *snapper) sortedByEnds(list []int32) []int32 {
	out := slices.Clone(list)
	slices.SortFunc(out, func(i, j int32) int {
		a, b := s.ends(i)
		c, d := s.ends(j)
		return cmp.Or(comparePoints(a, c), comparePoints(b, d))
	})
	return out
}

// same reports whether segments i and j lie between the same two points.
func (s *snapper) same(i, j int32) bool {
	a, b := s.ends(i)
	c, d := s.ends(j)
	return a == c && b == d
}

// ends returns the ends of segment i in order, whichever way it runs.
func (s *snapper) ends(i int32) (point, point) {
	g := &s.segs[i]
	if comparePoints(g.b, g.a) < 0 {
		return g.b, g.a
	}
	return g.a, g.b
}

// comparePoints orders points from west to east, then from south to north.
func comparePoints(p, q point) int { return cmp.Or(cmp.Compare(p.x, q.x), cmp.Compare(p.y, q.y)) }

// once leaves out those of some points that repeat.
func (s *snapper) once(points []point) []point {
	if len(points) < 2 {
		return points
	}
	out := points[:0]
	if len(points) <= 24 { // by far the most common
	next:
		for _, p := range points {
			for _, q := range out {
				if p == q {
					continue next
				}
			}
			out = append(out, p)
		}
		return out
	}
	// A table of where in out a point is, from 1; 0 is free.
	size := 1 << bits.Len(uint(2*len(points)))
	if len(s.table) < size {
		s.table = make([]int32, size)
	}
	table := s.table[:size]
	clear(table)
	for _, p := range points {
		h := uint64(uint32(p.x))<<32 | uint64(uint32(p.y))
		at := int(h * 0x9e3779b97f4a7c15 >> (64 - bits.Len(uint(size-1)))) // D. E. Knuth, The Art of Computer Programming 3, 6.4: by the golden ratio
		for table[at] != 0 && out[table[at]-1] != p {
			at = (at + 1) & (size - 1)
		}
		if table[at] == 0 {
			out = append(out, p)
			table[at] = int32(len(out))
		}
	}
	return out
}

// passes reports whether g passes through the cell of p: the square of half a
// tick around it, its west and south side and south-west corner included and
// the rest of its edge left out, so that each place is in one cell.
//
// The line runs through the open square if p is nearer to it than half the
// square's extent across the line: 2|s| < |dx| + |dy|, where s is the cross
// product that is zero on the line. With equality it touches one corner, which
// is the south-west one if 2s == dx - dy. That the segment, and not only its
// line, reaches the square follows from p being within the rectangle around
// the segment, since ends are grid points. Exact: |s| ≤ 2e18, twice that fits.
func passes(g *seg, p point) bool {
	if p.x < min(g.a.x, g.b.x) || p.x > max(g.a.x, g.b.x) || p.y < min(g.a.y, g.b.y) || p.y > max(g.a.y, g.b.y) {
		return false
	}
	dx, dy := int64(g.b.x-g.a.x), int64(g.b.y-g.a.y)
	s := 2 * (dx*int64(p.y-g.a.y) - dy*int64(p.x-g.a.x))
	return max(s, -s) < max(dx, -dx)+max(dy, -dy) || s == dx-dy
}

// crossing returns the grid point nearest to where the insides of g and k
// cross, and whether they do. Segments that touch or lie along each other do
// not: their ends are hot anyway.
func crossing(g, k *seg) (point, bool) {
	ka, kb := cross(g.a, g.b, k.a), cross(g.a, g.b, k.b)
	if ka >= 0 && kb >= 0 || ka <= 0 && kb <= 0 {
		return point{}, false
	}
	ga, gb := cross(k.a, k.b, g.a), cross(k.a, k.b, g.b)
	if ga >= 0 && gb >= 0 || ga <= 0 && gb <= 0 {
		return point{}, false
	}
	// g crosses k at the share ga / (ga - gb) of its way. Both differ from
	// gb in sign, so the numerator is the smaller: each at most 2e18.
	num, den := uint64(ga), uint64(ga-gb)
	if ga < 0 {
		num, den = uint64(-ga), uint64(gb-ga)
	}
	return point{
		g.a.x + part(num, den, g.b.x-g.a.x),
		g.a.y + part(num, den, g.b.y-g.a.y),
	}, true
}

// part returns d × num / den to the nearest whole number, halves upward, that
// is floor((2 d num + den) / (2 den)), with 128 bits on the way. num < den,
// and den < 2^62, so that 2 den and the quotient fit.
func part(num, den uint64, d int32) int32 {
	size := uint64(max(int64(d), -int64(d)))
	hi, lo := bits.Mul64(2*num, size)
	var carry uint64
	if d >= 0 {
		lo, carry = bits.Add64(lo, den, 0)
		q, _ := bits.Div64(hi+carry, lo, 2*den)
		return int32(q)
	}
	lo, carry = bits.Sub64(lo, den, 0)
	if hi -= carry; int64(hi) < 0 {
		return 0 // less than half a step down
	}
	q, r := bits.Div64(hi, lo, 2*den)
	if r > 0 {
		q++
	}
	return -int32(q)
}
