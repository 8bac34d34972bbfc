package raster

import "lapwing/geo/plane"

// A Tally counts, cell by cell, how many grounds lie over the plane, each being some rings
// that count once wherever they wind round. What was added can be taken away again.
//
// A count is a binary number whose digits lie in one word of 64 cells each, the ones in the
// first, so that 64 cells are added to at once (bit-sliced counters). Like [Bitmap], a Tally
// is not for several goroutines at once.
type Tally struct {
	tiles tiles[counts]
	grain Grain
}

// Counts are those of a tile: a tile for each digit of any.
type counts struct{ digits []tile }

// NewTally returns a tally of nothing.
func NewTally(grain Grain) *Tally { return &Tally{grain: grain} }

// Add counts ground once more.
func (t *Tally) Add(rings []plane.Ring) {
	t.each(rings, func(c *counts, row int64, mask uint64) {
		for d := 0; mask != 0; d++ {
			if d == len(c.digits) {
				c.digits = append(c.digits, tile{})
			}
			word := &c.digits[d][row]
			*word, mask = *word^mask, *word&mask
		}
	})
}

// Remove counts ground, that was added with the very same rings, once less.
func (t *Tally) Remove(rings []plane.Ring) {
	t.each(rings, func(c *counts, row int64, mask uint64) {
		for d := 0; mask != 0 && d < len(c.digits); d++ {
			word := &c.digits[d][row]
			*word, mask = *word^mask, ^*word&mask
		}
	})
}

func (t *Tally) each(rings []plane.Ring, f func(c *counts, row int64, mask uint64)) {
	box, some := around(rings)
	if !some {
		return
	}
	tiles := newBand[counts](t.grain.cellOf(box.Min.X)>>6, t.grain.cellOf(box.Max.X)>>6)
	t.grain.scan(rings, box, func(y, from, to int64) {
		eachWord(y, from, to, func(key [2]int64, mask uint64) {
			f(tiles.of(key, t.tiles.make), y&(tileSide-1), mask)
		})
	})
}

// Count returns how often the cell that p is in was counted.
func (t *Tally) Count(p plane.Point) int {
	x, y := t.grain.cellOf(p.X), t.grain.cellOf(p.Y)
	c := t.tiles.look(x, y)
	if c == nil {
		return 0
	}
	n := 0
	for d := range c.digits {
		n |= int(c.digits[d][y&(tileSide-1)]>>(x&(tileSide-1))&1) << d
	}
	return n
}
