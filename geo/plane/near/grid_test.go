package near_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/plane/near"
)

// Cells of 10, and the points in them by their numbers; 4 has the place of 0.
//
//	 20 +---+---+---+
//	    | 3 |   | 2 |
//	 10 +---+---+---+
//	    |   | x |0 4|
//	  0 +---+---+---+---+
//	    |   |  1|   | 5 |
//	-10 +---+---+---+---+
//	   -10  0  10  20  30
func TestAroundDrawn(t *testing.T) {
	points := [][2]float64{{15, 5}, {9, -5}, {15, 15}, {-5, 15}, {15, 5}, {25, -5}}
	g := near.NewGridIndex(10, len(points), func(i int) (x, y float64) { return points[i][0], points[i][1] })
	for _, c := range []struct {
		name string
		x, y float64
		want []int // by column from the west, each from the south, then by number
	}{
		{"from the cell of x", 3, 5, []int{3, 1, 0, 4, 2}},
		{"from its south-west corner", 0, 0, []int{3, 1, 0, 4, 2}},
		{"a hair west of that", -1e-9, 0, []int{3, 1}},
		{"from a point's own cell", 25, -5, []int{0, 4, 5}},
		{"from two cells away", 45, 5, nil},
	} {
		assert.Equal(t, c.want, slices.Collect(g.Around(c.x, c.y)), c.name)
	}
	for range g.Around(3, 5) {
		break // asked no more
	}
}

// Every point within a cell's side is found, each once, and none from two sides
// away or more; in the order of cells and numbers.
func TestAroundAgainstBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	close, far := 0, 0
	none, wrongly := 0, 0
	for range 100 {
		cell := math.Pow(10, 1+4*rng.Float64())
		points := make([][2]float64, rng.IntN(400))
		for i := range points {
			points[i] = [2]float64{2e5*rng.Float64() - 1e5, 2e5*rng.Float64() - 1e5}
		}
		g := near.NewGridIndex(cell, len(points), func(i int) (x, y float64) { return points[i][0], points[i][1] })
		for range 50 {
			x, y := 2e5*rng.Float64()-1e5, 2e5*rng.Float64()-1e5
			got := slices.Collect(g.Around(x, y))
			if len(got) > 0 {
				assert.True(t, g.Any(x, y))
			} else if none++; g.Any(x, y) {
				wrongly++
			}
			for i, p := range points {
				d := max(math.Abs(p[0]-x), math.Abs(p[1]-y))
				switch found := slices.Contains(got, i); {
				case d < cell:
					close++
					assert.True(t, found)
				case d >= 2*cell:
					far++
					assert.False(t, found)
				}
			}
			place := func(i int) [3]float64 {
				return [3]float64{math.Floor(points[i][0] / cell), math.Floor(points[i][1] / cell), float64(i)}
			}
			for k := 1; k < len(got); k++ {
				before, after := place(got[k-1]), place(got[k])
				assert.Negative(t, slices.Compare(before[:], after[:]))
			}
		}
	}
	assert.Greater(t, close, 1000)
	assert.Greater(t, far, 1000)
	assert.Less(t, float64(wrongly), 0.6*float64(none)) // of 16 bits and more a point up to nine are set
}

func TestNoGrid(t *testing.T) {
	for _, g := range []near.GridIndex{{}, near.NewGridIndex(5, 0, nil)} {
		assert.Empty(t, slices.Collect(g.Around(3, 4)))
		assert.False(t, g.Any(3, 4))
	}
}
