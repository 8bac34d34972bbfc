package near

import (
	"iter"
	"math"
)

// A GrowingGrid is a [GridIndex] to which points are added as they come. It is for
// one goroutine.
type GrowingGrid struct {
	cell  float64
	cells map[[2]int32][]int32
}

// NewGrowingGrid makes an index without points. Cell is the side of a cell, in the
// unit of their places.
func NewGrowingGrid(cell float64) GrowingGrid {
	return GrowingGrid{cell: cell, cells: map[[2]int32][]int32{}}
}

// Add files a point under a number of the caller's.
func (g *GrowingGrid) Add(x, y float64, number int32) {
	at := g.cellOf(x, y)
	g.cells[at] = append(g.cells[at], number)
}

func (g *GrowingGrid) cellOf(x, y float64) [2]int32 {
	return [2]int32{int32(math.Floor(x / g.cell)), int32(math.Floor(y / g.cell))}
}

// Around yields the numbers of the points in the cell that holds x, y and in
// the eight around it, in the order of [GridIndex.Around].
func (g *GrowingGrid) Around(x, y float64) iter.Seq[int] {
	return func(yield func(int) bool) {
		if len(g.cells) == 0 {
			return
		}
		at := g.cellOf(x, y)
		for ax := at[0] - 1; ax <= at[0]+1; ax++ {
			for ay := at[1] - 1; ay <= at[1]+1; ay++ {
				for _, number := range g.cells[[2]int32{ax, ay}] {
					if !yield(int(number)) {
						return
					}
				}
			}
		}
	}
}
