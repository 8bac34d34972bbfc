package coverage

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/plane"
)

// What the boxes find is what going through all edges one by one finds.
func TestNearbyLaw(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	anywhere := func() float64 { return math.Floor(2e6*rng.Float64() - 1e6) }
	seen := 0
	for range 60 {
		edges := make([]edge, rng.IntN(900))
		reach := math.Pow(10, 1+5*rng.Float64())
		for i := range edges {
			x, y := anywhere(), anywhere()
			edges[i] = edge{x, y, x + math.Ceil(reach*rng.Float64()), y + math.Floor(reach*(rng.Float64()-0.5))}
		}
		n := newNearby(edges)
		for range 200 {
			p := plane.Point{X: plane.Length(anywhere()), Y: plane.Length(anywhere())}
			x, y, most := float64(p.X), float64(p.Y), 2e6*math.Pow(rng.Float64(), 3)
			want := math.Inf(1)
			for i := range edges {
				if _, _, d2 := edges[i].nearest(x, y); d2 <= most*most {
					want = min(want, math.Sqrt(d2))
				}
			}
			assert.Equal(t, want, n.distance(p, most))

			sin, cos := math.Sincos(7 * rng.Float64())
			r := ray{x: x, y: y, dx: cos, dy: sin, beyond: 100}
			all := r
			all.far = math.Inf(1)
			all.look(edges)
			n.see(&r)
			assert.Equal(t, all, r)
			if all.far < math.Inf(1) {
				seen++
			}
		}
	}
	assert.Greater(t, seen, 1000)
}
