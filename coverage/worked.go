package coverage

import (
	"cmp"
	"slices"

	"lapwing/geo/plane"
)

// A workedGround remembers which ground is under some rings, square by square
// as on graph paper: near enough to say where a bar was lifted, and quick to
// ask. What is measured never comes from it.
type workedGround struct {
	tiles map[[2]int64]*[tileSide]uint64
	asked bool     // for any tile:
	at    [2]int64 // the last one,
	last  *[tileSide]uint64
	again *workedGround // ground that was added more than once

	around *plane.Box // what lies beyond is not remembered; nil: all is
}

// A square is as large as a bar is driven exactly: 10 cm. Larger, and where
// passes end moves by more than they are driven to; smaller, and it takes more
// memory for nothing.
const (
	square   = 10 * plane.Centimetre
	tileSide = 64 // squares along the side of a tile, as many as there are bits in a word
)

func newWorkedGround() *workedGround {
	return &workedGround{tiles: map[[2]int64]*[tileSide]uint64{}}
}

// squareOf returns the square that a place along one axis is in.
func squareOf(l plane.Length) int64 {
	q := int64(l / square)
	if l%square < 0 {
		q--
	}
	return q
}

// has reports whether a place is on the ground; on nil ground there is none.
func (g *workedGround) has(p plane.Point) bool {
	x, y := squareOf(p.X), squareOf(p.Y)
	at := [2]int64{x >> 6, y >> 6}
	if g == nil {
		return false
	}
	if !g.asked || g.at != at {
		g.asked, g.at, g.last = true, at, g.tiles[at]
	}
	return g.last != nil && g.last[y&(tileSide-1)]>>(x&(tileSide-1))&1 != 0
}

// A freshness is ground to be won: of some ground, or any where that is nil,
// what is not on others.
type freshness struct {
	of    *workedGround
	taken []*workedGround
}

// has reports whether a place is to be won.
func (f *freshness) has(p plane.Point) bool {
	for _, g := range f.taken {
		if g.has(p) {
			return false
		}
	}
	return f.of == nil || f.of.has(p)
}

// width returns how many metres of the bar of an implement at b win ground.
func (f *freshness) width(b bar, im *Implement) float64 {
	const every = 20 * plane.Centimetre
	left := im.Sections[0].Left
	width := im.Sections[len(im.Sections)-1].Right - left
	points := max(1, width/every)
	fresh := plane.Length(0)
	for k := range points {
		if f.has(b.end(left + width*(2*k+1)/(2*points))) {
			fresh++
		}
	}
	return (width * fresh / points).Metres()
}

// fill adds the ground that rings wind round anticlockwise more often than
// clockwise: squares whose middle is there.
func (g *workedGround) fill(rings []plane.Ring) {
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
	first, last := squareOf(box.Min.Y), squareOf(box.Max.Y)
	rows := make([][]crossing, last-first+1)
	middle := func(row int64) float64 { return (float64(row) + 0.5) * float64(square) }
	for _, r := range rings {
		for i, a := range r {
			b, wind := r[(i+1)%len(r)], -1 // going up, the ground is on the left: it ends there
			if a.Y > b.Y {
				a, b, wind = b, a, 1
			}
			for row := max(first, squareOf(a.Y)); row <= min(last, squareOf(b.Y)); row++ {
				y := middle(row)
				if y < float64(a.Y) || y >= float64(b.Y) {
					continue
				}
				x := float64(a.X) + (y-float64(a.Y))/float64(b.Y-a.Y)*float64(b.X-a.X)
				rows[row-first] = append(rows[row-first], crossing{x, wind})
			}
		}
	}
	for i, row := range rows {
		slices.SortFunc(row, func(a, b crossing) int { return cmp.Compare(a.x, b.x) })
		wind := 0
		for k := 0; k+1 < len(row); k++ {
			if wind += row[k].wind; wind > 0 {
				// Squares whose middle is at row[k].x or past it, and before row[k+1].x.
				from := squareOf(plane.Round(row[k].x)-square/2-1) + 1
				to := squareOf(plane.Round(row[k+1].x) - square/2 - 1)
				g.span(first+int64(i), max(from, squareOf(box.Min.X)), min(to, squareOf(box.Max.X)))
			}
		}
	}
}

// span adds the squares from ≤ x ≤ to of a row.
func (g *workedGround) span(y, from, to int64) {
	for x := from; x <= to; {
		key := [2]int64{x >> 6, y >> 6}
		left := key[0] << 6
		end := min(to, left+tileSide-1)
		mask := ^uint64(0) >> (tileSide - 1 - (end - x)) << (x - left)
		row := &g.tile(key)[y&(tileSide-1)]
		if twice := *row & mask; twice != 0 {
			if g.again == nil {
				g.again = newWorkedGround()
			}
			g.again.tile(key)[y&(tileSide-1)] |= twice
		}
		*row |= mask
		x = end + 1
	}
}

// tile returns a tile, making it if need be.
func (g *workedGround) tile(key [2]int64) *[tileSide]uint64 {
	t := g.tiles[key]
	if t == nil {
		t = new([tileSide]uint64)
		g.tiles[key] = t
		g.asked = false
	}
	return t
}
