package coverage_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/beside"
	"lapwing/coverage/covertest"
)

// A pass from 40 cm on a headland pass in the south to 1 m short of one in the
// north, and headland passes to the field's edge or short of it.
func TestEndLaps(t *testing.T) {
	c := causeCase{"", stubble, []*covertest.Path{runs(
		run{x: -50, y: 3, heading: 90, length: 98},
		run{x: -50, y: 97, heading: 90, length: 100},
		run{x: 0, y: 5.6, length: 87.4},
	)}, 0, 0, ""}
	m := c.measure(t)
	laps := m.EndLaps() // to 0.4 m: the log has a fix so often
	require.Len(t, laps, 3)
	by := func(l beside.EndLap) float64 { return l.By.Metres() }
	require.Len(t, laps[2], 2)
	assert.Equal(t, 1, laps[2][0].Pass)
	assert.InDelta(t, 0.4, by(laps[2][0]), 0.4)
	assert.InDelta(t, -1, laps[2][0].Y, 1e-3)
	assert.Equal(t, 2, laps[2][1].Pass)
	assert.InDelta(t, -1, by(laps[2][1]), 0.4)
	assert.InDelta(t, 1, laps[2][1].Y, 1e-3)
	require.Len(t, laps[1], 2)
	assert.True(t, laps[1][0].Edge)
	assert.InDelta(t, 0, by(laps[1][0]), 0.4)
	assert.InDelta(t, -1, laps[1][0].X, 1e-3)
	assert.InDelta(t, -2, by(laps[0][1]), 0.4)
}
