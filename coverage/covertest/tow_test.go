package covertest

import (
	"math"
	"testing"

	"lapwing/geo/plane"

	"github.com/stretchr/testify/assert"
)

// A hitch pulled along a straight line, the bar at a right angle to it at
// first: x = L(u - tanh u), y = L sech u, u = s/L (ProofWiki, "Equation of
// Tractrix"), tabulated for L = 30 ft to a unit of the last digit. The
// integration is held to the formula far below that.
func TestTractrix(t *testing.T) {
	const L = 30 * foot
	for _, want := range []struct{ s, x, y, angle float64 }{
		{0, 0, 30, 90},
		{15, 1.136485, 26.604567, 62.476192},
		{30, 7.152175, 19.441628, 40.395063},
		{60, 31.079173, 7.974067, 15.414627},
		{90, 60.148357, 2.979838, 5.700471},
		{120, 90.020120, 1.098570, 2.098583},
	} {
		imp := Towed(5, 0, L, 1)       // L is whole on the grid: 9.144 m
		across := plane.Degrees(180.0) // the bar is north of the hitch, so it heads south
		imp.StartHeading = &across
		tw := newTow(imp, math.Pi/2)
		leg := Leg{From: Stance{XY{}, math.Pi / 2}, Length: 200 * foot}
		tw.advance(leg, 0, want.s*foot)
		bar := tw.stance(leg.At(want.s * foot))
		assert.InDelta(t, want.x, bar.X/foot, 1.5e-6, "x after %v ft", want.s)
		assert.InDelta(t, want.y, bar.Y/foot, 1.5e-6, "y after %v ft", want.s)
		assert.InDelta(t, want.angle, bar.Heading*180/math.Pi-90, 1e-5, "angle after %v ft", want.s)
		u := want.s * foot / L
		assert.InDelta(t, L*(u-math.Tanh(u)), bar.X, 1e-9)
		assert.InDelta(t, L/math.Cosh(u), bar.Y, 1e-9)
	}
}

// On a circle the bar settles on a smaller one: with the pin c behind the
// antenna, R_h² = R_a² + c² and R_t² = R_h² - L² (a municipal off-tracking
// chart for semitrailers, record 17311 p. 53, metro-inet.us). In feet.
func TestSettledOnCircle(t *testing.T) {
	for _, want := range []struct{ R, c, L, settled float64 }{
		{60, 0, 20, 56.568542},
		{60, 0, 30, 51.961524},
		{50, 0, 30, 40},
		{100, 0, 40, 91.651514},
		{60, 4, 30, 52.115257},
	} {
		tw := &tow{pin: want.c, bar: want.L}
		leg := Leg{Curve: 1 / want.R} // right, about (R, 0)
		tw.advance(leg, 0, 40*want.L)
		bar := tw.stance(leg.At(40 * want.L))
		assert.InDelta(t, want.settled, Distance(bar.XY, XY{want.R, 0}), 1e-6)
	}
}

// From a straight into a circle the articulation grows by d psi/ds = 1/R -
// sin psi / L (memory: textbooks on vehicle turning), in feet and degrees,
// tabulated to 1e-4.
func TestIntoCircle(t *testing.T) {
	for _, want := range []struct{ R, L, s, psi float64 }{
		{60, 30, 30, 18.1893},
		{60, 30, 60 * math.Pi / 2, 28.2341},
		{60, 30, 60 * math.Pi, 29.8847},
		{100, 30, 100 * math.Pi / 2, 17.3439},
	} {
		tw := &tow{bar: want.L}
		leg := Leg{Curve: 1 / want.R}
		tw.advance(leg, 0, want.s)
		assert.InDelta(t, want.psi, (want.s/want.R-tw.heading)*180/math.Pi, 1e-3)
	}
}

// A second link settles too: each link takes L² from the square of the radius
// and each overhang gives its own back.
func TestCartSettles(t *testing.T) {
	tw := &tow{pin: 1, link: 4, beyond: 1, bar: 7}
	leg := Leg{Curve: -1 / 30.0}
	tw.advance(leg, 0, 400)
	want := math.Sqrt(30*30 + 1 - 4*4 + 1 - 7*7)
	assert.InDelta(t, want, Distance(tw.stance(leg.At(400)).XY, XY{-30, 0}), 1e-6)
}
