package plane_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/plane"
)

func TestThinnedStaysWithinItsTolerance(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	var line []plane.Point
	for i := range 500 {
		line = append(line, plane.Point{X: plane.Length(i * 2000), Y: plane.Length(3000*math.Sin(float64(i)/40)) + plane.Length(rng.IntN(60))})
	}
	const tolerance = 80
	short := plane.Thinned(line, tolerance)
	assert.Less(t, len(short), len(line)/5)
	for _, p := range line {
		nearest := math.Inf(1)
		for i := 1; i < len(short); i++ {
			nearest = min(nearest, off(p, short[i-1], short[i]))
		}
		assert.LessOrEqual(t, nearest, float64(tolerance))
	}
}

// A square with its sides cut up keeps its corners.
func TestThinnedRingKeepsItsCorners(t *testing.T) {
	var square plane.Ring
	for i := range plane.Length(40) {
		square = append(square, []plane.Point{{X: 10 * (i % 10)}, {X: 100, Y: 10 * (i % 10)}, {X: 100 - 10*(i%10), Y: 100}, {Y: 100 - 10*(i%10)}}[i/10])
	}
	assert.ElementsMatch(t, plane.Ring{{}, {X: 100}, {X: 100, Y: 100}, {Y: 100}}, square.Thinned(1))
	assert.Nil(t, plane.Ring(nil).Thinned(1))
}

// off is the distance from p to the segment from a to b, in ticks.
func off(p, a, b plane.Point) float64 {
	dx, dy := float64(b.X-a.X), float64(b.Y-a.Y)
	px, py := float64(p.X-a.X), float64(p.Y-a.Y)
	t := max(0, min(1, (px*dx+py*dy)/max(1, dx*dx+dy*dy)))
	return math.Hypot(px-t*dx, py-t*dy)
}
