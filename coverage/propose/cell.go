package propose

import (
	"math"

	"lapwing/geo"
)

// Ground is compared by cells some 11 m wide, on a grid over the whole Earth: a
// few thousand of them stand for the fixes of a day.
const (
	perDegree = 10_000 // cells from south to north
	cellSide  = 11.12  // m, about
	blockSide = 4      // cells: a block is as wide as a wide bar
)

// A cell is the rows and columns of a piece of ground. Columns are as wide as
// rows are high; their number jumps at each tenth of a degree of latitude, where
// that costs a row of neighbours.
type cell struct{ row, col int32 }

func columnsPerDegree(lat float64) float64 {
	return perDegree * max(0.01, math.Cos(math.Floor(lat*10)/10*math.Pi/180))
}

// cellAt is the cell that a place is in.
func cellAt(p geo.LonLat) cell {
	lon := math.Remainder(p.Lon, 360)
	return cell{int32(math.Floor(p.Lat * perDegree)), int32(math.Floor(lon * columnsPerDegree(p.Lat)))}
}

// middle is a place in the cell.
func (c cell) middle() geo.LonLat {
	lat := (float64(c.row) + 0.5) / perDegree
	return geo.LonLat{Lon: (float64(c.col) + 0.5) / columnsPerDegree(lat), Lat: lat}
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

// cover adds the cells along a way.
func (c cells) cover(way []geo.LonLat) {
	for i := range way {
		if i == 0 {
			c[cellAt(way[0])] += 0
			continue
		}
		from, to := way[i-1], way[i]
		d := metresBetween(from, to)
		n := max(1, int(math.Ceil(d/(cellSide/2))))
		for k := 1; k <= n; k++ {
			part := float64(k) / float64(n)
			at := geo.LonLat{Lon: from.Lon + part*math.Remainder(to.Lon-from.Lon, 360), Lat: from.Lat + part*(to.Lat-from.Lat)}
			c[cellAt(at)] += d / float64(n)
		}
	}
}

// metresBetween is how far two places near to one another lie apart, to a percent.
func metresBetween(a, b geo.LonLat) float64 {
	const degree = perDegree * cellSide // m
	return degree * math.Hypot(b.Lat-a.Lat, math.Remainder(b.Lon-a.Lon, 360)*math.Cos(a.Lat*math.Pi/180))
}

// metres is how far was worked in all cells.
func (c cells) metres() (sum float64) {
	for _, m := range c {
		sum += m
	}
	return sum
}

// blocks are the blocks that the cells are in, and how many metres were worked in
// each.
func (c cells) blocks() cells {
	out := cells{}
	for at, metres := range c {
		out[at.block()] += metres
	}
	return out
}

// shared is which part of the work in c was done in cells of b.
func (c cells) shared(b cells) float64 {
	sum := 0.0
	for at, metres := range c {
		if _, is := b[at]; is {
			sum += metres
		}
	}
	return sum / max(c.metres(), math.SmallestNonzeroFloat64)
}

// meet reports whether blocks of two pieces of ground are the same or touch.
func (c cells) meet(b cells) bool {
	if len(b) < len(c) {
		c, b = b, c
	}
	for at := range c {
		for row := at.row - 1; row <= at.row+1; row++ {
			for col := at.col - 1; col <= at.col+1; col++ {
				if _, is := b[cell{row, col}]; is {
					return true
				}
			}
		}
	}
	return false
}

// add adds the cells of b.
func (c cells) add(b cells) {
	for at, metres := range b {
		c[at] += metres
	}
}
