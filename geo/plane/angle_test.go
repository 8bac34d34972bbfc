package plane_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/plane"
)

func TestAngle(t *testing.T) {
	for _, c := range []struct{ from, to, turn, between float64 }{
		{0, 0, 0, 0}, {0, 90, 90, 90}, {90, 0, -90, 90}, {350, 10, 20, 20}, {10, 350, -20, 20},
		{0, 170, 170, 10}, {0, 190, -170, 10}, {-720, 45, 45, 45}, {30, 210.5, -179.5, 0.5},
	} {
		a, b := plane.Degrees(c.from), plane.Degrees(c.to)
		assert.InDelta(t, c.turn, a.To(b).Degrees(), 1e-9, "from %g to %g", c.from, c.to)
		assert.InDelta(t, c.between, a.Between(b).Degrees(), 1e-9, "between %g and %g", c.from, c.to)
		assert.InDelta(t, c.between, b.Between(a).Degrees(), 1e-9)
	}
	assert.InDelta(t, 135, plane.Direction(1, -1).Degrees(), 1e-12)
	assert.InDelta(t, -90, plane.Direction(-1, 0).Degrees(), 1e-12)
	sin, cos := plane.Degrees(30).Sincos()
	assert.InDelta(t, 0.5, sin, 1e-15)
	assert.InDelta(t, math.Sqrt(3)/2, cos, 1e-15)
	assert.Equal(t, plane.Angle(2), plane.Angle(-2).Abs())
}
