package chart

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/agronomy"
	"lapwing/geo/plane"
)

func TestPathData(t *testing.T) {
	c := canvas{west: 0, north: 100 * plane.Centimetre}
	line := []plane.Point{{X: 100, Y: 9900}, {X: 100, Y: 9900}, {X: 300, Y: 9500}, {X: 200, Y: 9500}}
	require.Equal(t, "M1 1l2 4-1 0", c.Line(line))
	require.Equal(t, "", c.Line(nil))
}

func TestRoundTicks(t *testing.T) {
	require.Equal(t, []float64{0, 200, 400, 600, 800, 1000}, round(1170, 8))
	require.Equal(t, []float64{0, 1, 2, 3}, round(3.28, 4))
}

// The lap chart leaves out laps far dearer than today's and the best, on
// either side, and never either of the two.
func TestLapChartIsDrawnAboutItsLeast(t *testing.T) {
	curve := []agronomy.LapCost{{Lap: -0.4, Skipped: 900}, {Lap: -0.2, Skipped: 161}, {Lap: 0, Skipped: 100}, {Lap: 0.1, Skipped: 10},
		{Lap: 0.2, Doubled: 40}, {Lap: 0.4, Doubled: 160}, {Lap: 0.6, Doubled: 161}}
	l := agronomy.LapStudy{Mean: 0.2, Best: 0.1, Cost: 40, BestCost: 10, Curve: curve}
	assert.Equal(t, curve[2:6], nearCurve(&l))
	l.Mean = -0.3 // between fixes of the curve: the one beyond it stays
	assert.Equal(t, curve[:6], nearCurve(&l))
}
