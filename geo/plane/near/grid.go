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
}

// A cellPoint is a point, by its number, and the cell it lies in.
type cellPoint struct{ x, y, number int32 }

// NewGridIndex makes an index of n points, which are asked for by their
// number. Cell is the side of a cell, in the unit of their places.
func NewGridIndex(cell float64, n int, at func(i int) (x, y float64)) GridIndex {
	g := GridIndex{cell: cell, begins: make([]int32, 1<<bits.Len(uint(n))+1), points: make([]cellPoint, n)}
	all := make([]cellPoint, n)
	for i := range all {
		x, y := g.cellOf(at(i))
		all[i] = cellPoint{x, y, int32(i)}
		g.begins[g.hash(x, y)]++
	}
	sum := int32(0)
	for h := range g.begins {
		sum += g.begins[h]
		g.begins[h] = sum // its end, until its points are put in
	}
	for i := n - 1; i >= 0; i-- { // from the back: those of one cell stay in order
		h := g.hash(all[i].x, all[i].y)
		g.begins[h]--
		g.points[g.begins[h]] = all[i]
	}
	return g
}

func (g *GridIndex) cellOf(x, y float64) (cx, cy int32) {
	return int32(math.Floor(x / g.cell)), int32(math.Floor(y / g.cell))
}

// hash returns where in begins a cell is: the primes are Teschner's.
func (g *GridIndex) hash(x, y int32) uint32 {
	h := uint32(x)*73856093 ^ uint32(y)*19349663
	return (h ^ h>>16) & uint32(len(g.begins)-2)
}

// Around yields the numbers of the points in the cell that holds x, y and in
// the eight around it: of all that lie within a cell's side, and of some beyond.
// Cells come from west to east and then from south to north, the points of a
// cell in the order of their numbers.
func (g *GridIndex) Around(x, y float64) iter.Seq[int] {
	return func(yield func(int) bool) {
		if len(g.points) == 0 {
			return
		}
		cx, cy := g.cellOf(x, y)
		for ax := cx - 1; ax <= cx+1; ax++ {
			for ay := cy - 1; ay <= cy+1; ay++ {
				h := g.hash(ax, ay)
				for _, p := range g.points[g.begins[h]:g.begins[h+1]] {
					if p.x == ax && p.y == ay && !yield(int(p.number)) {
						return
					}
				}
			}
		}
	}
}
