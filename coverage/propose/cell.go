package propose

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

// A cell is the row and column of a piece of ground.
type cell struct{ row, col int32 }

// cellAt is the cell that a place is in.
func cellAt(p geo.LonLat) cell {
	const farthest = 85 // degrees: no field lies nearer to a pole
	lon := math.Remainder(p.Lon, 360) / 360
	lat := min(farthest, max(-farthest, p.Lat)) * math.Pi / 180
	north := math.Log(math.Tan(math.Pi/4+lat/2)) / (2 * math.Pi)
	return cell{int32(math.Floor(north * cellsAround)), int32(math.Floor(lon * cellsAround))}
}

// middle is the place in the middle of the cell.
func (c cell) middle() geo.LonLat {
	north := (float64(c.row) + 0.5) / cellsAround * 2 * math.Pi
	return geo.LonLat{Lon: (float64(c.col) + 0.5) / cellsAround * 360, Lat: (2*math.Atan(math.Exp(north)) - math.Pi/2) * 180 / math.Pi}
}

// blockArea is the ground of a block, in square metres.
func (c cell) blockArea() float64 {
	side := blockSide * cellSide * math.Cos(cell{c.row * blockSide, 0}.middle().Lat*math.Pi/180)
	return side * side
}

func (c cell) block() cell {
	return cell{floorDiv(c.row, blockSide), floorDiv(c.col, blockSide)}
}

func floorDiv(a, b int32) int32 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

// cells are pieces of ground and how many metres were worked in each.
type cells map[cell]float64

// stepAlong is how far apart places along a way are looked at, in metres: less than a
// cell is wide.
const stepAlong = 5

// cover adds the cells along a way.
func (c cells) cover(way []geo.LonLat) {
	for i := range way {
		if i == 0 {
			c[cellAt(way[0])] += 0
			continue
		}
		from, to := way[i-1], way[i]
		d := metresBetween(from, to)
		n := max(1, int(math.Ceil(d/stepAlong)))
		for k := 1; k <= n; k++ {
			part := float64(k) / float64(n)
			at := geo.LonLat{Lon: from.Lon + part*math.Remainder(to.Lon-from.Lon, 360), Lat: from.Lat + part*(to.Lat-from.Lat)}
			c[cellAt(at)] += d / float64(n)
		}
	}
}

// metresBetween is how far two places near to one another lie apart, to a percent.
func metresBetween(a, b geo.LonLat) float64 {
	const degree = cellsAround * cellSide / 360 // m
	return degree * math.Hypot(b.Lat-a.Lat, math.Remainder(b.Lon-a.Lon, 360)*math.Cos(a.Lat*math.Pi/180))
}

// sorted lists the cells in an order that follows from where they are, so that sums
// over them are the same each time.
func (c cells) sorted() []cell {
	return slices.SortedFunc(maps.Keys(c), func(a, b cell) int { return cmp.Or(cmp.Compare(a.row, b.row), cmp.Compare(a.col, b.col)) })
}

// metres is how far was worked in all cells.
func (c cells) metres() (sum float64) {
	for _, at := range c.sorted() {
		sum += c[at]
	}
	return sum
}

// blocks are the blocks that the cells are in, and how many metres were worked in
// each.
func (c cells) blocks() cells {
	out := cells{}
	for _, at := range c.sorted() {
		out[at.block()] += c[at]
	}
	return out
}

// shared is which part of the work in c was done in cells of b.
func (c cells) shared(b cells) float64 {
	sum := 0.0
	for _, at := range c.sorted() {
		if _, is := b[at]; is {
			sum += c[at]
		}
	}
	return sum / max(c.metres(), math.SmallestNonzeroFloat64)
}

// around calls f for a block and those that touch it, also past 180 degrees.
func (c cell) around(f func(cell)) {
	const half = cellsAround / blockSide / 2
	for row := c.row - 1; row <= c.row+1; row++ {
		for col := c.col - 1; col <= c.col+1; col++ {
			f(cell{row, (col+3*half)%(2*half) - half})
		}
	}
}

// pieces numbers the pieces of ground that touch nowhere, from 1, in an order that
// follows from where they are.
func (c cells) pieces() map[cell]int {
	label := map[cell]int{}
	n := 0
	for _, first := range c.sorted() {
		if label[first] != 0 {
			continue
		}
		n++
		label[first] = n
		for queue := []cell{first}; len(queue) > 0; {
			at := queue[len(queue)-1]
			queue = queue[:len(queue)-1]
			at.around(func(next cell) {
				if _, is := c[next]; is && label[next] == 0 {
					label[next] = n
					queue = append(queue, next)
				}
			})
		}
	}
	return label
}

// dense is the ground, in square metres, of the blocks that have others around them,
// as those of a field have: a road fills three of nine.
func (c cells) dense() (m2 float64) {
	const fewest = 6 // of 9, itself among them; judgement
	for _, at := range c.sorted() {
		filled := 0
		at.around(func(next cell) {
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

// area is the ground of all blocks, in square metres.
func (c cells) area() (m2 float64) {
	for _, at := range c.sorted() {
		m2 += at.blockArea()
	}
	return m2
}

// add adds the cells of b.
func (c cells) add(b cells) {
	for at, metres := range b {
		c[at] += metres
	}
}
