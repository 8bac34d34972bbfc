package near

import (
	"iter"
	"math"
	"math/bits"
)

// A GridIndex finds what lies within a cell's side of a place. It files points
// by the square cells of a grid, and the cells by a hash (M. Teschner et al.,
// "Optimized spatial hashing for collision detection of deformable objects",
// 2003), so that it takes memory for what it holds, however far apart that is:
//
//	+---+---+---+
//	|  .|   |.  |     x asks: all the points of the nine cells
//	+---+---+---+
//	|   | x |   |
//	+---+---+---+
//	|.  |  .|   |
//	+---+---+---+
//
// It does not change once it is made: any number of goroutines may ask it. The
// zero GridIndex holds nothing.
type GridIndex struct {
	cell   float64
	begins []int32 // of each hash, in points; one more is the end of the last
	points []cellPoint
	// beside has the bits set of all cells that hold a point or lie beside one that does,
	// so that a place far from all is told at one look (B. H. Bloom, "Space/time trade-offs
	// in hash coding with allowable errors", 1970, with one hash).
	beside []uint64
}

// A cellPoint is a point, by its number, and the cell it lies in.
type cellPoint struct{ x, y, number int32 }

// NewGridIndex makes an index of n points, which are asked for by their
// number. Cell is the side of a cell, in the unit of their places.
func NewGridIndex(cell float64, n int, at func(i int) (x, y float64)) GridIndex {
	g := GridIndex{cell: cell, begins: make([]int32, 1<<bits.Len(uint(n))+1), points: make([]cellPoint, n),
		beside: make([]uint64, 1<<bits.Len(uint(n)/4))} // more than 16 bits a point, and at most nine set
	all := make([]cellPoint, n)
	for i := range all {
		x, y := g.cellOf(at(i))
		all[i] = cellPoint{x, y, int32(i)}
		g.begins[hash(x, y, len(g.begins)-1)]++
		if i > 0 && x == all[i-1].x && y == all[i-1].y {
			continue
		}
		for ax := x - 1; ax <= x+1; ax++ {
			for ay := y - 1; ay <= y+1; ay++ {
				h := hash(ax, ay, 64*len(g.beside))
				g.beside[h/64] |= 1 << (h % 64)
			}
		}
	}
	sum := int32(0)
	for h := range g.begins {
		sum += g.begins[h]
		g.begins[h] = sum // its end, until its points are put in
	}
	for i := n - 1; i >= 0; i-- { // from the back: those of one cell stay in order
		h := hash(all[i].x, all[i].y, len(g.begins)-1)
		g.begins[h]--
		g.points[g.begins[h]] = all[i]
	}
	return g
}

func (g *GridIndex) cellOf(x, y float64) (cx, cy int32) {
	return int32(math.Floor(x / g.cell)), int32(math.Floor(y / g.cell))
}

// hash returns a number below size, a power of two, for a cell: the primes are Teschner's.
func hash(x, y int32, size int) uint32 {
	h := uint32(x)*73856093 ^ uint32(y)*19349663
	return (h ^ h>>16) & uint32(size-1)
}

// Around yields the numbers of the points in the cell that holds x, y and in
// the eight around it: of all that lie within a cell's side, and of some beyond.
// Cells come from west to east and then from south to north, the points of a
// cell in the order of their numbers.
func (g *GridIndex) Around(x, y float64) iter.Seq[int] {
	return func(yield func(int) bool) {
		cx, cy := g.cellOf(x, y)
		if !g.any(cx, cy) {
			return
		}
		for ax := cx - 1; ax <= cx+1; ax++ {
			for ay := cy - 1; ay <= cy+1; ay++ {
				h := hash(ax, ay, len(g.begins)-1)
				for _, p := range g.points[g.begins[h]:g.begins[h+1]] {
					if p.x == ax && p.y == ay && !yield(int(p.number)) {
						return
					}
				}
			}
		}
	}
}

// Any reports whether there may be points that [GridIndex.Around] yields: at one look, and
// wrongly now and then, but never that there are none where there are.
func (g *GridIndex) Any(x, y float64) bool { return g.any(g.cellOf(x, y)) }

func (g *GridIndex) any(cx, cy int32) bool {
	if len(g.points) == 0 {
		return false
	}
	h := hash(cx, cy, 64*len(g.beside))
	return g.beside[h/64]>>(h%64)&1 != 0
}
