package work

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/stance"
)

// Logs of whole seconds often have two fixes at one time. The bar is sampled evenly on
// the way between them all the same: its places are not numbers, and its way is in no
// field, if they are worked out from the times.
func TestSamplesBetweenFixesAtOneTime(t *testing.T) {
	from, to := stance.Stance{X: 10, Y: 20}, stance.Stance{X: 10, Y: 22}
	samples := samplesOf([]timedStance{{at: 5e9, stance: &from}, {at: 5e9, stance: &to}}, mostSteps)
	require.Len(t, samples, 5)
	for i := range samples {
		assert.InDelta(t, 10, samples[i].stance.X, 1e-9)
		assert.InDelta(t, 20+0.5*float64(i), samples[i].stance.Y, 1e-9)
	}
}

// What is taken back from travel once is travel for good when it is left again.
func TestLeaveTwice(t *testing.T) {
	var r leg
	r.leave(10, 20)
	assert.Empty(t, r.forGood)
	r.travel, r.back = r.travel.without(12, 14), stretches{{12, 14}}
	assert.Equal(t, stretches{{10, 11}, {15, 20}}, r.travel)
	r.leave(13, 30)
	assert.Equal(t, stretches{{13, 14}}, r.forGood)
	for i, want := range map[int]bool{9: false, 10: true, 12: false, 13: true, 20: true, 30: true, 31: false} {
		assert.Equal(t, want, r.travel.has(i), "sample %d", i)
	}
	assert.Empty(t, r.travel.without(0, 99))
}
