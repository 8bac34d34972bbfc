// Package cell compares ground by cells: a few thousand of them stand for the fixes of a
// day.
package cell

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"lapwing/geo"
)

// Ground is compared by cells, on a grid over the whole Earth: a few thousand of
// them stand for the fixes of a day. It is Mercator's (of the sphere), so that cells
// are square and their rows run on everywhere. A block of four by four is 89 m wide at
// the equator and 37 m at 65 degrees: passes of all but the widest bars lie in blocks
// that touch.
const (
	cellsAround = 1_800_000                             // from west to east
	cellSide    = 2 * math.Pi * 6_378_137 / cellsAround // m, 22, at the equator
	blockSide   = 4                                     // cells
)

// A Cell is the row and column of a piece of ground.
type Cell struct{ Row, Col int32 }

// At is the cell that a place is in.
func At(p geo.LonLat) Cell {
	const farthest = 85 // degrees: no field lies nearer to a pole
	lon := math.Remainder(p.Lon, 360) / 360
	lat := min(farthest, max(-farthest, p.Lat)) * math.Pi / 180
	north := math.Log(math.Tan(math.Pi/4+lat/2)) / (2 * math.Pi)
	return Cell{int32(math.Floor(north * cellsAround)), int32(math.Floor(lon * cellsAround))}
}

// Middle is the place in the middle of the cell.
func (c Cell) Middle() geo.LonLat {
	north := (float64(c.Row) + 0.5) / cellsAround * 2 * math.Pi
	return geo.LonLat{Lon: (float64(c.Col) + 0.5) / cellsAround * 360, Lat: (2*math.Atan(math.Exp(north)) - math.Pi/2) * 180 / math.Pi}
}

// blockArea is the ground of a block, in square metres.
func (c Cell) blockArea() float64 {
	side := blockSide * cellSide * math.Cos(Cell{c.Row * blockSide, 0}.Middle().Lat*math.Pi/180)
	return side * side
}

// Block is the block that the cell is in.
func (c Cell) Block() Cell {
	return Cell{FloorDiv(c.Row, blockSide), FloorDiv(c.Col, blockSide)}
}

// FloorDiv divides, rounded down.
func FloorDiv(a, b int32) int32 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

// Cells are pieces of ground and how many metres were worked in each.
type Cells map[Cell]float64

// stepAlong is how far apart places along a way are looked at, in metres: less than a
// cell is wide.
const stepAlong = 5

// Cover adds the cells along a way.
func (c Cells) Cover(way []geo.LonLat) {
	for i := range way {
		if i == 0 {
			c[At(way[0])] += 0
			continue
		}
		from, to := way[i-1], way[i]
		d := MetresBetween(from, to)
		n := max(1, int(math.Ceil(d/stepAlong)))
		for k := 1; k <= n; k++ {
			part := float64(k) / float64(n)
			at := geo.LonLat{Lon: from.Lon + part*math.Remainder(to.Lon-from.Lon, 360), Lat: from.Lat + part*(to.Lat-from.Lat)}
			c[At(at)] += d / float64(n)
		}
	}
}

// MetresBetween is how far two places near to one another lie apart, to a percent.
func MetresBetween(a, b geo.LonLat) float64 {
	const degree = cellsAround * cellSide / 360 // m
	return degree * math.Hypot(b.Lat-a.Lat, math.Remainder(b.Lon-a.Lon, 360)*math.Cos(a.Lat*math.Pi/180))
}

// sorted lists the cells in an order that follows from where they are, so that sums
// over them are the same each time.
func (c Cells) sorted() []Cell {
	return slices.SortedFunc(maps.Keys(c), func(a, b Cell) int { return cmp.Or(cmp.Compare(a.Row, b.Row), cmp.Compare(a.Col, b.Col)) })
}

// Metres is how far was worked in all cells.
func (c Cells) Metres() (sum float64) {
	for _, at := range c.sorted() {
		sum += c[at]
	}
	return sum
}

// Blocks are the blocks that the cells are in, and how many metres were worked in
// each.
func (c Cells) Blocks() Cells {
	out := Cells{}
	for _, at := range c.sorted() {
		out[at.Block()] += c[at]
	}
	return out
}

// Shared is which part of the work in c was done in cells of b.
func (c Cells) Shared(b Cells) float64 {
	sum := 0.0
	for _, at := range c.sorted() {
		if _, is := b[at]; is {
			sum += c[at]
		}
	}
	return sum / max(c.Metres(), math.SmallestNonzeroFloat64)
}

// around calls f for a block and those that touch it, also past 180 degrees.
func (c Cell) around(f func(Cell)) {
	const half = cellsAround / blockSide / 2
	for row := c.Row - 1; row <= c.Row+1; row++ {
		for col := c.Col - 1; col <= c.Col+1; col++ {
			f(Cell{row, (col+3*half)%(2*half) - half})
		}
	}
}

// Pieces numbers the pieces of ground that touch nowhere, from 1, in an order that
// follows from where they are.
func (c Cells) Pieces() map[Cell]int {
	label := map[Cell]int{}
	n := 0
	for _, first := range c.sorted() {
		if label[first] != 0 {
			continue
		}
		n++
		label[first] = n
		for queue := []Cell{first}; len(queue) > 0; {
			at := queue[len(queue)-1]
			queue = queue[:len(queue)-1]
			at.around(func(next Cell) {
				if _, is := c[next]; is && label[next] == 0 {
					label[next] = n
					queue = append(queue, next)
				}
			})
		}
	}
	return label
}

// Dense is the ground, in square metres, of the blocks that have others around them,
// as those of a field have: a road fills three of nine.
func (c Cells) Dense() (m2 float64) {
	const fewest = 6 // of 9, itself among them; judgement
	for _, at := range c.sorted() {
		filled := 0
		at.around(func(next Cell) {
			if _, is := c[next]; is {
				filled++
			}
		})
		if filled >= fewest {
			m2 += at.blockArea()
		}
	}
	return m2
}

// Area is the ground of all blocks, in square metres.
func (c Cells) Area() (m2 float64) {
	for _, at := range c.sorted() {
		m2 += at.blockArea()
	}
	return m2
}

// Add adds the cells of b.
func (c Cells) Add(b Cells) {
	for at, metres := range b {
		c[at] += metres
	}
}
