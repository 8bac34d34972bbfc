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
// Only ground that was filled takes memory, in tiles of 64 cells a side: 512 bytes for
// 41 m².
//
// Has moves a mark to the tile it looked at, so that one Bitmap is not for
// several goroutines at once.
type Bitmap struct {
	tiles  tiles[tile]
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
func New(grain Grain) *Bitmap { return &Bitmap{grain: grain} }

// Within returns an empty bitmap that remembers nothing of what lies outside a
// box, but for the cells that its sides run through.
func Within(box plane.Box, grain Grain) *Bitmap {
	g := New(grain)
	g.around = &box
	return g
}

// Has reports whether the cell that p is in was filled; nil has none.
func (g *Bitmap) Has(p plane.Point) bool {
	if g == nil {
		return false
	}
	x, y := g.grain.cellOf(p.X), g.grain.cellOf(p.Y)
	t := g.tiles.look(x, y)
	return t != nil && t[y&(tileSide-1)]>>(x&(tileSide-1))&1 != 0
}

// Fill adds the cells whose middle the rings wind round anticlockwise more
// often than clockwise, row by row (scan conversion by winding number).
//
//	    +-----+
//	. . |x x x| . .      x filled
//	. . |x +--+ . .
//	    +--+
func (g *Bitmap) Fill(rings []plane.Ring) {
	box, some := around(rings)
	if !some {
		return
	}
	if g.around != nil {
		if !box.Meets(*g.around) {
			return
		}
		box.Min = plane.Point{X: max(box.Min.X, g.around.Min.X), Y: max(box.Min.Y, g.around.Min.Y)}
		box.Max = plane.Point{X: min(box.Max.X, g.around.Max.X), Y: min(box.Max.Y, g.around.Max.Y)}
	}
	tiles := newBand[tile](g.grain.cellOf(box.Min.X)>>6, g.grain.cellOf(box.Max.X)>>6)
	g.grain.scan(rings, box, func(y, from, to int64) {
		eachWord(y, from, to, func(key [2]int64, mask uint64) {
			tiles.of(key, g.tiles.make)[y&(tileSide-1)] |= mask
		})
	})
}

// scan calls f for each row of cells in a box, and the first and the last of each run of
// cells in it whose middle the rings wind round anticlockwise more often than clockwise.
func (g Grain) scan(rings []plane.Ring, box plane.Box, f func(y, from, to int64)) {
	first, last := g.cellOf(box.Min.Y), g.cellOf(box.Max.Y)
	west, east := g.cellOf(box.Min.X), g.cellOf(box.Max.X)
	side := g.Side()
	// Crossings are counted, and then filed by row: one slice has them all.
	ends := make([]int32, last-first+2)
	g.crossings(rings, first, last, func(row int64, _ float64, _ int32) { ends[row-first+1]++ })
	for i := 1; i < len(ends); i++ {
		ends[i] += ends[i-1]
	}
	all := make([]crossing, ends[len(ends)-1])
	next := slices.Clone(ends)
	g.crossings(rings, first, last, func(row int64, x float64, wind int32) {
		at := &next[row-first]
		all[*at] = crossing{x, wind}
		*at++
	})
	for i := range ends[1:] {
		row := all[ends[i]:ends[i+1]]
		slices.SortFunc(row, func(a, b crossing) int { return cmp.Compare(a.x, b.x) })
		wind := int32(0)
		for k := 0; k+1 < len(row); k++ {
			if wind += row[k].wind; wind > 0 {
				// Cells whose middle is at row[k].x or past it, and before row[k+1].x.
				from := g.cellOf(plane.Round(row[k].x)-side/2-1) + 1
				to := g.cellOf(plane.Round(row[k+1].x) - side/2 - 1)
				f(first+int64(i), max(from, west), min(to, east))
			}
		}
	}
}

// A crossing is where an edge crosses the middles of a row, and by how much the winding
// number rises there.
type crossing struct {
	x    float64
	wind int32
}

// crossings yields where rings cross the middles of rows.
func (g Grain) crossings(rings []plane.Ring, first, last int64, yield func(row int64, x float64, wind int32)) {
	side := g.Side()
	for _, r := range rings {
		for i, a := range r {
			b, wind := r[(i+1)%len(r)], int32(-1) // going up, the ground is on the left: it ends there
			if a.Y > b.Y {
				a, b, wind = b, a, 1
			}
			for row := max(first, g.cellOf(a.Y)); row <= min(last, g.cellOf(b.Y)); row++ {
				y := (float64(row) + 0.5) * float64(side)
				if y < float64(a.Y) || y >= float64(b.Y) {
					continue
				}
				yield(row, float64(a.X)+(y-float64(a.Y))/float64(b.Y-a.Y)*float64(b.X-a.X), wind)
			}
		}
	}
}

// A band is the tiles of some 64 rows, as they are found: those of a wide bar are many,
// and each is wanted once a row.
type band[T any] struct {
	y, west int64 // of the tiles; the westernmost
	tiles   []*T
}

func newBand[T any](west, east int64) *band[T] {
	return &band[T]{west: west, tiles: make([]*T, east-west+1)}
}

// of returns a tile, of the band that is at hand or as find finds it.
func (b *band[T]) of(key [2]int64, find func([2]int64) *T) *T {
	if key[1] != b.y {
		clear(b.tiles)
		b.y = key[1]
	}
	t := &b.tiles[key[0]-b.west]
	if *t == nil {
		*t = find(key)
	}
	return *t
}

// eachWord calls f for the tiles that the cells from ≤ x ≤ to of row y lie in, with their
// bits in the word of that row.
func eachWord(y, from, to int64, f func(key [2]int64, mask uint64)) {
	for x := from; x <= to; {
		key := [2]int64{x >> 6, y >> 6}
		left := key[0] << 6
		end := min(to, left+tileSide-1)
		f(key, ^uint64(0)>>(tileSide-1-(end-x))<<(x-left))
		x = end + 1
	}
}

// around returns the box around rings, and whether they have any corner.
func around(rings []plane.Ring) (box plane.Box, some bool) {
	box = plane.Empty()
	for _, r := range rings {
		for _, p := range r {
			box = box.Add(p)
		}
	}
	return box, box.Min.X <= box.Max.X
}

// Tiles are those that anything is in. The zero tiles are none.
type tiles[T any] struct {
	all   map[[2]int64]*T
	asked bool     // for any tile:
	at    [2]int64 // the last one,
	last  *T
}

// look returns the tile that a cell is in, nil for none.
func (t *tiles[T]) look(x, y int64) *T {
	if at := [2]int64{x >> 6, y >> 6}; !t.asked || t.at != at {
		t.asked, t.at, t.last = true, at, t.all[at]
	}
	return t.last
}

// make returns a tile, making it if need be.
func (t *tiles[T]) make(key [2]int64) *T {
	found := t.all[key]
	if found == nil {
		if t.all == nil {
			t.all = map[[2]int64]*T{}
		}
		found = new(T)
		t.all[key] = found
		t.asked = false
	}
	return found
}
