package raster_test

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/plane"
	"lapwing/geo/plane/raster"
)

// at is the middle of a cell.
func at(x, y int) plane.Point {
	return plane.Point{X: plane.Length(x)*raster.Cell + raster.Cell/2, Y: plane.Length(y)*raster.Cell + raster.Cell/2}
}

// draw shows the cells of a bitmap from 0, 0 on, the southernmost row last.
func draw(g *raster.Bitmap, columns, rows int) string {
	var lines []string
	for y := rows - 1; y >= 0; y-- {
		line := ""
		for x := range columns {
			if g.Has(at(x, y)) {
				line += "x"
			} else {
				line += "."
			}
		}
		lines = append(lines, line)
	}
	return strings.Join(lines, "\n")
}

// cells returns a ring through corners of cells.
func cells(corners ...[2]int) plane.Ring {
	var out plane.Ring
	for _, c := range corners {
		out = append(out, plane.Point{X: plane.Length(c[0]) * raster.Cell, Y: plane.Length(c[1]) * raster.Cell})
	}
	return out
}

func TestFillDrawn(t *testing.T) {
	square := cells([2]int{1, 1}, [2]int{5, 1}, [2]int{5, 4}, [2]int{1, 4})
	inner := cells([2]int{2, 2}, [2]int{4, 2}, [2]int{4, 3}, [2]int{2, 3})
	for _, c := range []struct {
		name  string
		rings []plane.Ring
		want  string
	}{
		{"a square", []plane.Ring{square}, `
......
.xxxx.
.xxxx.
.xxxx.
......`},
		{"run the other way round it holds nothing", []plane.Ring{square.Reversed()}, `
......
......
......
......
......`},
		{"with a hole", []plane.Ring{square, inner.Reversed()}, `
......
.xxxx.
.x..x.
.xxxx.
......`},
		{"wound twice is no hole", []plane.Ring{square, inner}, `
......
.xxxx.
.xxxx.
.xxxx.
......`},
		// Middles on a side are filled where the ground begins there, from the
		// west, and not where it ends.
		{"a triangle whose last side goes through middles", []plane.Ring{cells([2]int{0, 0}, [2]int{5, 0}, [2]int{0, 5})}, `
......
x.....
xx....
xxx...
xxxx..`},
		{"a triangle whose first side does", []plane.Ring{cells([2]int{5, 0}, [2]int{5, 5}, [2]int{0, 5})}, `
xxxxx.
.xxxx.
..xxx.
...xx.
....x.`},
		{"no ring", nil, `
......
......
......
......
......`},
		{"a ring without a point", []plane.Ring{{}}, `
......
......
......
......
......`},
	} {
		g := raster.New(0)
		g.Fill(c.rings)
		assert.Equal(t, strings.TrimPrefix(c.want, "\n"), draw(g, 6, 5), c.name)
	}
}

// What two grounds share is counted twice; what one ring winds round twice is counted
// once. What was added is taken away again, whatever was added since.
//
//	+-----+
//	|  +--+--+
//	|  |22|  |
//	+--+--+  |
//	   +-----+
func TestTally(t *testing.T) {
	one := []plane.Ring{cells([2]int{0, 1}, [2]int{3, 1}, [2]int{3, 4}, [2]int{0, 4})}
	other := []plane.Ring{cells([2]int{1, 0}, [2]int{5, 0}, [2]int{5, 3}, [2]int{1, 3})}
	wound := []plane.Ring{one[0], one[0]}
	g := raster.NewTally(0)
	counts := func() string {
		var lines []string
		for y := 4; y >= 0; y-- {
			line := ""
			for x := range 6 {
				line += strconv.Itoa(g.Count(at(x, y)))
			}
			lines = append(lines, line)
		}
		return strings.Join(lines, "\n")
	}
	g.Add(one)
	g.Add(other)
	assert.Equal(t, "000000\n111000\n122110\n122110\n011110", counts())
	g.Add(wound)
	g.Add(other)
	assert.Equal(t, "000000\n222000\n244220\n244220\n022220", counts())
	g.Remove(one)
	assert.Equal(t, "000000\n111000\n133220\n133220\n022220", counts())
	g.Remove(other)
	g.Remove(wound)
	assert.Equal(t, "000000\n000000\n011110\n011110\n011110", counts())
	g.Remove(other)
	assert.Equal(t, "000000\n000000\n000000\n000000\n000000", counts())
	g.Add(nil)
	assert.Zero(t, g.Count(at(1000, 1000)))
}

// Beyond the box nothing is remembered.
func TestWithin(t *testing.T) {
	g := raster.Within(plane.Box{Min: at(2, 1), Max: at(3, 2)}, 0)
	g.Fill([]plane.Ring{cells([2]int{0, 0}, [2]int{6, 0}, [2]int{6, 5}, [2]int{0, 5})})
	assert.Equal(t, "......\n......\n..xx..\n..xx..\n......", draw(g, 6, 5))
	g.Fill([]plane.Ring{cells([2]int{5, 0}, [2]int{6, 0}, [2]int{6, 5})})
	assert.Equal(t, "......\n......\n..xx..\n..xx..\n......", draw(g, 6, 5))
}

// A cell of a coarser bitmap is a square of cells of a finer one, to the west and
// the south of the middle too.
//
//	+-------+-------+
//	| . . . | x x x |     grain 1: the middles of x and o are on the ground, whose
//	|   .   |   o   |     left side is the line between the two
//	+-------+-------+
func TestGrain(t *testing.T) {
	g := raster.New(1)
	g.Fill([]plane.Ring{cells([2]int{2, 2}, [2]int{4, 2}, [2]int{4, 4}, [2]int{2, 4})})
	assert.Equal(t, "......\n..xx..\n..xx..\n......\n......", draw(g, 6, 5), "just a cell")
	assert.False(t, g.Has(at(1, 2)))
	g.Fill([]plane.Ring{cells([2]int{-4, -4}, [2]int{-2, -4}, [2]int{-2, -2}, [2]int{-4, -2})})
	for _, c := range []struct {
		x, y int
		want bool
	}{{-4, -4, true}, {-3, -3, true}, {-2, -3, false}, {-5, -4, false}, {-1, -1, false}} {
		assert.Equal(t, c.want, g.Has(at(c.x, c.y)), "%d, %d", c.x, c.y)
	}
	tally := raster.NewTally(1)
	tally.Add([]plane.Ring{cells([2]int{2, 2}, [2]int{4, 2}, [2]int{4, 4}, [2]int{2, 4})})
	tally.Add([]plane.Ring{cells([2]int{2, 2}, [2]int{8, 2}, [2]int{8, 4}, [2]int{2, 4})})
	assert.Equal(t, []int{0, 2, 2, 1}, []int{tally.Count(at(1, 2)), tally.Count(at(2, 2)), tally.Count(at(3, 3)), tally.Count(at(4, 3))}, "as coarse")
	fine := raster.New(0)
	fine.Fill([]plane.Ring{cells([2]int{0, 0}, [2]int{1, 0}, [2]int{1, 1}, [2]int{0, 1})})
	assert.True(t, fine.Has(at(0, 0)))
	coarse := raster.New(1)
	coarse.Fill([]plane.Ring{cells([2]int{0, 0}, [2]int{1, 0}, [2]int{1, 1}, [2]int{0, 1})})
	assert.False(t, coarse.Has(at(0, 0)), "the middle of a coarser cell is not on it")
}

// The grain that is asked for is the finest that is not too much, the area and the
// outlines together.
func TestGrainFor(t *testing.T) {
	cell := float64(raster.Cell)
	const cells = 1_000_000
	area := func(cells float64) float64 { return cells * cell * cell }
	for _, c := range []struct {
		name           string
		area, outlines float64
		want           raster.Grain
	}{
		{"nothing", 0, 0, 0},
		{"just enough", area(cells), 0, 0},
		{"a cell too much", area(cells + 1), 0, 1},
		{"a quarter of the cells, grain by grain", area(16 * cells), 0, 2},
		{"an outline through so many rows that each takes a word", 0, cells / 64 * cell, 0},
		{"and through one row more", 0, (cells/64 + 1) * cell, 1},
		{"half of each, and then both a grain coarser", area(cells / 2), (cells/64/2 + 1) * cell, 1},
		{"however much, there is a coarsest", math.Inf(1), 0, 20},
	} {
		assert.Equal(t, c.want, raster.GrainFor(c.area, c.outlines, cells), c.name)
	}
	assert.Equal(t, raster.Cell, raster.Grain(0).Side())
	assert.Equal(t, 8*raster.Cell, raster.Grain(3).Side())
}

func TestNoBitmapHasNothing(t *testing.T) {
	var g *raster.Bitmap
	assert.False(t, g.Has(plane.Point{}))
}

// A cell is filled where some filling winds round its middle, as counting edge
// by edge says, and is so after a shift by whole cells; near the centre, where
// signs change, and across tiles.
func TestFillIsWinding(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	in, out, twice := 0, 0, 0
	for range 60 {
		g, shifted, tally := raster.New(0), raster.New(0), raster.NewTally(0)
		dx, dy := rng.IntN(2001)-1000, rng.IntN(2001)-1000
		by := plane.Point{X: plane.Length(dx) * raster.Cell, Y: plane.Length(dy) * raster.Cell}
		var fillings [][]plane.Ring
		for range 1 + rng.IntN(6) {
			var rings, moved []plane.Ring
			for range 1 + rng.IntN(3) {
				ring := make(plane.Ring, 3+rng.IntN(5))
				there := make(plane.Ring, len(ring))
				for i := range ring {
					ring[i] = plane.Point{X: plane.Length(rng.IntN(2e5) - 1e5), Y: plane.Length(rng.IntN(2e5) - 1e5)}
					there[i] = ring[i].Add(by)
				}
				rings, moved = append(rings, ring), append(moved, there)
			}
			fillings = append(fillings, rings)
			g.Fill(rings)
			tally.Add(rings)
			shifted.Fill(moved)
		}
		for range 500 {
			x, y := rng.IntN(220)-110, rng.IntN(220)-110
			p := at(x, y)
			count, clear := 0, true
			for _, rings := range fillings {
				n := 0
				for _, ring := range rings {
					w, close := winding(ring, p)
					n += w
					clear = clear && !close
				}
				if n > 0 {
					count++
				}
			}
			if !clear {
				continue
			}
			assert.Equal(t, count > 0, g.Has(p))
			assert.Equal(t, count, tally.Count(p))
			assert.Equal(t, g.Has(p), shifted.Has(at(x+dx, y+dy)))
			switch count {
			case 0:
				out++
			case 1:
				in++
			default:
				twice++
			}
		}
	}
	assert.Greater(t, in, 1000)
	assert.Greater(t, out, 1000)
	assert.Greater(t, twice, 1000)
}

// winding is how often a ring winds round p, and whether an edge comes within a
// tick or two of it to the east or west: crossings are rounded to the tick.
func winding(r plane.Ring, p plane.Point) (n int, close bool) {
	for i, a := range r {
		b := r[(i+1)%len(r)]
		if (a.Y > p.Y) == (b.Y > p.Y) {
			continue
		}
		x := float64(a.X) + float64(p.Y-a.Y)/float64(b.Y-a.Y)*float64(b.X-a.X) - float64(p.X)
		close = close || x > -2 && x < 2
		if x > 0 {
			if b.Y > a.Y {
				n++
			} else {
				n--
			}
		}
	}
	return n, close
}
