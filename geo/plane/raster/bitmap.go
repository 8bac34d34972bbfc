// Package raster holds ground cell by cell, as on graph paper: near enough to
// say whether a place is on it, and quick to ask. What is measured never comes
// from it.
package raster

import (
	"cmp"
	"slices"

	"lapwing/geo/plane"
)

// A Bitmap is a set of cells of the plane, those that rings were filled into.
// It remembers which were filled more than once. Only ground that was filled
// takes memory, in tiles of 64 cells a side: 512 bytes for 41 m².
//
// Has moves a mark to the tile it looked at, so that one Bitmap is not for
// several goroutines at once.
type Bitmap struct {
	tiles map[[2]int64]*tile
	asked bool     // for any tile:
	at    [2]int64 // the last one,
	last  *tile
	twice *Bitmap // what was filled more than once; nil: nothing

	around *plane.Box // what lies beyond is not remembered; nil: all is
	grain  Grain
}

// Cell is the side of a cell of the finest grain: as near as a bar is driven to
// where it is meant to go (judgement). Larger, and where work is found to end
// moves by more than that; smaller, and it takes more memory for nothing.
const Cell = 10 * plane.Centimetre

// A Grain is how coarse a bitmap is: each is twice as coarse as the one before.
// The zero Grain is [Cell].
type Grain uint8

// GrainFor returns the finest grain in which ground of so many square ticks, in
// outlines of so many ticks, takes no more than some cells. An outline takes a
// crossing in each row it runs through, and a crossing as much as a word of cells.
func GrainFor(area, outlines, cells float64) Grain {
	g := Grain(0)
	for ; g < 20; g++ {
		if side := float64(g.Side()); area/(side*side)+tileSide*outlines/side <= cells {
			break
		}
	}
	return g
}

// Side is the side of a cell.
func (g Grain) Side() plane.Length { return Cell << g }

// cellOf returns the cell that a place along one axis is in.
func (g Grain) cellOf(l plane.Length) int64 {
	q := int64(l / Cell)
	if l%Cell < 0 {
		q--
	}
	return q >> g
}

// tileSide is how many cells a tile has along its side, as many as a word has
// bits.
const tileSide = 64

// A tile is a square of cells: a word a row, from south to north, and a bit a
// cell, from west to east.
type tile [tileSide]uint64

// New returns an empty bitmap.
func New(grain Grain) *Bitmap { return &Bitmap{tiles: map[[2]int64]*tile{}, grain: grain} }

// Within returns an empty bitmap that remembers nothing of what lies outside a
// box, but for the cells that its sides run through.
func Within(box plane.Box, grain Grain) *Bitmap {
	g := New(grain)
	g.around = &box
	return g
}

// Twice returns the cells that were filled more than once, nil for none. What is
// filled later may be missing in it.
func (g *Bitmap) Twice() *Bitmap { return g.twice }

// Has reports whether the cell that p is in was filled; nil has none.
func (g *Bitmap) Has(p plane.Point) bool {
	if g == nil {
		return false
	}
	x, y := g.grain.cellOf(p.X), g.grain.cellOf(p.Y)
	at := [2]int64{x >> 6, y >> 6}
	if !g.asked || g.at != at {
		g.asked, g.at, g.last = true, at, g.tiles[at]
	}
	return g.last != nil && g.last[y&(tileSide-1)]>>(x&(tileSide-1))&1 != 0
}

// Fill adds the cells whose middle the rings wind round anticlockwise more
// often than clockwise, row by row (scan conversion by winding number).
//
//	    +-----+
//	. . |x x x| . .      x filled
//	. . |x +--+ . .
//	    +--+
func (g *Bitmap) Fill(rings []plane.Ring) {
	type crossing struct {
		x    float64
		wind int
	}
	box := plane.Empty()
	for _, r := range rings {
		for _, p := range r {
			box = box.Add(p)
		}
	}
	if len(rings) == 0 || box.Min.X > box.Max.X {
		return
	}
	if g.around != nil {
		if !box.Meets(*g.around) {
			return
		}
		box.Min = plane.Point{X: max(box.Min.X, g.around.Min.X), Y: max(box.Min.Y, g.around.Min.Y)}
		box.Max = plane.Point{X: min(box.Max.X, g.around.Max.X), Y: min(box.Max.Y, g.around.Max.Y)}
	}
	cellOf, side := g.grain.cellOf, g.grain.Side()
	first, last := cellOf(box.Min.Y), cellOf(box.Max.Y)
	rows := make([][]crossing, last-first+1)
	middle := func(row int64) float64 { return (float64(row) + 0.5) * float64(side) }
	for _, r := range rings {
		for i, a := range r {
			b, wind := r[(i+1)%len(r)], -1 // going up, the ground is on the left: it ends there
			if a.Y > b.Y {
				a, b, wind = b, a, 1
			}
			for row := max(first, cellOf(a.Y)); row <= min(last, cellOf(b.Y)); row++ {
				y := middle(row)
				if y < float64(a.Y) || y >= float64(b.Y) {
					continue
				}
				x := float64(a.X) + (y-float64(a.Y))/float64(b.Y-a.Y)*float64(b.X-a.X)
				rows[row-first] = append(rows[row-first], crossing{x, wind})
			}
		}
	}
	west, east := cellOf(box.Min.X)>>6, cellOf(box.Max.X)>>6
	once, twice := newBand(west, east), newBand(west, east)
	for i, row := range rows {
		slices.SortFunc(row, func(a, b crossing) int { return cmp.Compare(a.x, b.x) })
		wind := 0
		for k := 0; k+1 < len(row); k++ {
			if wind += row[k].wind; wind > 0 {
				// Cells whose middle is at row[k].x or past it, and before row[k+1].x.
				from := cellOf(plane.Round(row[k].x)-side/2-1) + 1
				to := cellOf(plane.Round(row[k+1].x) - side/2 - 1)
				g.fillRow(once, twice, first+int64(i), max(from, cellOf(box.Min.X)), min(to, cellOf(box.Max.X)))
			}
		}
	}
}

// A band is the tiles of some 64 rows, as they are found: those of a wide bar are many,
// and each is wanted once a row.
type band struct {
	y, west int64 // of the tiles; the westernmost
	tiles   []*tile
}

func newBand(west, east int64) *band { return &band{west: west, tiles: make([]*tile, east-west+1)} }

// of returns a tile of a bitmap, in the band that is at hand or in the next.
func (b *band) of(g *Bitmap, key [2]int64) *tile {
	if key[1] != b.y {
		clear(b.tiles)
		b.y = key[1]
	}
	t := &b.tiles[key[0]-b.west]
	if *t == nil {
		*t = g.tile(key)
	}
	return *t
}

// fillRow adds the cells from ≤ x ≤ to of row y; the bands are those of the cells
// and of those filled twice.
func (g *Bitmap) fillRow(once, twice *band, y, from, to int64) {
	for x := from; x <= to; {
		key := [2]int64{x >> 6, y >> 6}
		left := key[0] << 6
		end := min(to, left+tileSide-1)
		mask := ^uint64(0) >> (tileSide - 1 - (end - x)) << (x - left)
		row := &once.of(g, key)[y&(tileSide-1)]
		if again := *row & mask; again != 0 {
			if g.twice == nil {
				g.twice = New(g.grain)
			}
			twice.of(g.twice, key)[y&(tileSide-1)] |= again
		}
		*row |= mask
		x = end + 1
	}
}

// tile returns a tile, making it if need be.
func (g *Bitmap) tile(key [2]int64) *tile {
	t := g.tiles[key]
	if t == nil {
		t = new(tile)
		g.tiles[key] = t
		g.asked = false
	}
	return t
}
