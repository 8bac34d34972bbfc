package coverage_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/beside"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/geo/plane"
)

// The middle one of three lanes of 5 m, driven south: what lies west of it is
// on its right. The end lanes may stop up to a metre short.
//
//	|=====| gap |=====|x|=====|
func TestSeams(t *testing.T) {
	s := covertest.Lanes("0-5 5.4-10.4 10.2-15.2", 100)
	m := measure(t, s.Field, s.Machines, field.Options{})
	left, right := m.Seams(2, 10*plane.Centimetre)
	// The lane is come to from another: its first metres swing in, and its ends
	// are known to what is driven between two fixes.
	const end, swing = 5.0, 0.06 // m

	assert.InDelta(t, 100, (right.Beside + right.Alone).Metres(), end)
	assert.InDelta(t, 0.4, right.WidestGap.Metres(), swing)
	assert.InDelta(t, -0.4, right.Mean.Metres(), swing)
	assert.Zero(t, right.WidestLap)
	assert.Equal(t, right.Beside, right.Open)
	require.Len(t, right.Gaps, 1)
	assert.InDelta(t, 0.4, right.Gaps[0].Widest.Metres(), swing)
	west := m.Field.Boundary[0].Shell.Bounds().Min.X
	assert.InDelta(t, 5.2, (right.Gaps[0].At.X - west).Metres(), swing, "in the middle of the gap")

	assert.InDelta(t, 0.2, left.WidestLap.Metres(), swing)
	assert.InDelta(t, 0.2, left.Mean.Metres(), swing)
	assert.Zero(t, left.Open)
	assert.Empty(t, left.Gaps)

	// Half a metre left on purpose is joined.
	_, right = m.Seams(2, 50*plane.Centimetre)
	assert.Zero(t, right.Open)
	assert.Empty(t, right.Gaps)
}

func TestSeamWithoutNeighbour(t *testing.T) {
	s := covertest.Lanes("0-5 5-10", 100)
	m := measure(t, s.Field, s.Machines, field.Options{})
	left, right := m.Seams(1, plane.Centimetre)
	assert.Zero(t, left.Beside, "the field ends there")
	assert.InDelta(t, float64(m.Passes[0].Length), float64(left.AtEdge+left.Alone), 1)
	assert.Greater(t, left.AtEdge, 0.9*m.Passes[0].Length)
	assert.NotZero(t, right.Beside)
	assert.Zero(t, right.Open)
}

func TestLastPass(t *testing.T) {
	s := covertest.Lanes("a0-5 a5-10 b12-19", 100)
	m := measure(t, s.Field, s.Machines, field.Options{})
	assert.Equal(t, 2, m.LastPass(0).ID)
	assert.Equal(t, 3, m.LastPass(1).ID)
	assert.Equal(t, 1, m.LastAtWork(), "b began a day later")
	d, degrees := beside.Bearing(m.Passes[0].Poses[0].Bar, m.Stopped(0))
	assert.InDelta(t, 5, d.Metres(), 1.5)
	assert.InDelta(t, 90, float64(degrees), 15)
}
