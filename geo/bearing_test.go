package geo_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"lapwing/geo"
	"lapwing/geo/plane"
)

func TestBearingOf(t *testing.T) {
	for _, c := range []struct {
		degrees float64
		want    geo.Bearing
	}{{0, 0}, {359.5, 359.5}, {360, 0}, {-90, 270}, {-180, 180}, {-1e-300, 0}} {
		assert.Equal(t, c.want, geo.BearingOf(c.degrees), "%g degrees", c.degrees)
	}
	for _, degrees := range []float64{999, 360.1, -180.1, math.Inf(1), math.NaN()} {
		assert.False(t, geo.BearingOf(degrees).Known(), "%g degrees", degrees)
	}
}

// Whatever way a direction is counted, its bearing is from 0 to 360 and leads
// the same way.
func TestBearingTowards(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := plane.Angle(rapid.Float64Range(-20, 20).Draw(t, "angle"))
		b := geo.BearingTowards(a)
		assert.True(t, b.Known() && b >= 0 && b < 360, "%v", b)
		assert.InDelta(t, 0, a.To(b.Angle()).Abs().Degrees(), 1e-9)
	})
}

func TestBearingsApart(t *testing.T) {
	for _, c := range []struct {
		a, b geo.Bearing
		want float64
	}{{10, 350, 20}, {350, 10, 20}, {90, 270, 180}, {45, 45, 0}} {
		assert.Equal(t, c.want, c.a.Apart(c.b))
	}
	assert.True(t, math.IsNaN(geo.Bearing(math.NaN()).Apart(1)))
}

// North-east by the log, and the same to reckon with.
func ExampleBearing() {
	b := geo.BearingOf(45)
	fmt.Printf("%g degrees, %.4f radians: %s\n", b, b.Angle(), geo.Compass(b.Angle()))
	fmt.Printf("due west is %g degrees\n", geo.BearingTowards(plane.Direction(-1, 0)))
	// Output:
	// 45 degrees, 0.7854 radians: north-east
	// due west is 270 degrees
}
