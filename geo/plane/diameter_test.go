package plane_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/plane"
)

// It is the distance between the two points farthest apart, or up to 1 part in
// 800 less; a needle's is its length, and a square's its diagonal.
func TestDiameter(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 11))
	for range 2000 {
		ring := make(plane.Ring, 1+r.IntN(12))
		high := 1 + r.IntN(1+r.IntN(1e6))
		for i := range ring {
			ring[i] = plane.Point{X: plane.Length(r.IntN(1e6)), Y: plane.Length(r.IntN(high))}
		}
		want := 0.0
		for _, p := range ring {
			for _, q := range ring {
				want = max(want, float64(p.Distance(q)))
			}
		}
		got := float64(ring.Diameter())
		assert.LessOrEqual(t, got, want+1e-6)
		assert.GreaterOrEqual(t, got, want*(1-1.0/800)-1e-6, "%v", ring)
	}
	square := plane.Ring{{}, {X: 1000}, {X: 1000, Y: 1000}, {Y: 1000}}
	assert.InDelta(t, 1414.21, float64(square.Diameter()), 0.01)
}
