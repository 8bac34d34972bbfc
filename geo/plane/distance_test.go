package plane_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"lapwing/geo/plane"
)

// A length on the grid is a distance and back again without loss, and comes to
// the same metres to the bit. Distances between the ticks round as plane.Round
// does: a shift by whole ticks shifts what they round to.
func TestDistance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := plane.Length(rapid.Int64Range(-int64(2*plane.Reach), int64(2*plane.Reach)).Draw(t, "length"))
		d := plane.Distance(l)
		assert.Equal(t, l, d.Length())
		assert.Equal(t, math.Float64bits(l.Metres()), math.Float64bits(d.Metres()))
		// Eighths of a tick, so that adding the length loses no digit.
		part := plane.Distance(rapid.IntRange(-80, 80).Draw(t, "eighths")) / 8
		assert.Equal(t, l+part.Length(), (d + part).Length())
	})
	for _, c := range []struct {
		d    plane.Distance
		want plane.Length
	}{{0.5, 1}, {-0.5, 0}, {1.5, 2}, {-1.5, -1}, {2.4999, 2}} {
		assert.Equal(t, c.want, c.d.Length(), "%v", c.d)
	}
	assert.Equal(t, plane.Distance(12345.5), plane.DistanceOf(1.23455))
	assert.Equal(t, plane.Distance(2.5), plane.Distance(-2.5).Abs())
	assert.Equal(t, plane.Distance(math.Inf(1)), plane.Distance(math.Inf(-1)).Abs())
}

// A triangle of 3, 4 and 5 (Euclid, Elements, I.47), whichever way it is gone.
func TestPointDistance(t *testing.T) {
	p, q := plane.Point{X: 1, Y: -2}, plane.Point{X: 4, Y: 2}
	assert.Equal(t, plane.Distance(5), p.Distance(q))
	assert.Equal(t, plane.Distance(5), q.Distance(p))
	assert.Zero(t, p.Distance(p))
}

// The diagonal of a square metre is no whole number of ticks.
func ExampleDistance() {
	diagonal := plane.Point{}.Distance(plane.Point{X: plane.Metre, Y: plane.Metre})
	fmt.Printf("%.2f ticks, or %.6f m\n", diagonal, diagonal.Metres())
	fmt.Println("to the tick:", diagonal.Length())
	// Output:
	// 14142.14 ticks, or 1.414214 m
	// to the tick: 14142
}
