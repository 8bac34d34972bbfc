package stance_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage/covertest"
	"lapwing/coverage/stance"
	"lapwing/geo"
)

// A machine that backs up 80 m at ten fixes a metre is taken to be in reverse over the
// first 60 of them, as in a whole log, however many places were forgotten on the way.
func TestFollowerBacksUp(t *testing.T) {
	im := covertest.Mounted(6, 1, 1)
	f := stance.NewFollower(&im)
	backed := []float64{} // m gone back where the machine is in reverse
	for i := range 1100 {
		y := float64(i) / 10
		if y > 30 {
			y = 60 - y
		}
		if got := f.On(0, y, geo.Bearing(math.NaN()), false, false); got.Now.Back {
			backed = append(backed, 30-y)
		}
	}
	if assert.NotEmpty(t, backed) {
		assert.Less(t, backed[0], 2.0)
		assert.InDelta(t, 60, backed[len(backed)-1], 0.5)
	}
}

// Whoever works drives forward: a change of gear that was none, as where a machine turned
// round between two fixes, is forgotten when the bar has worked for 5 m.
func TestFollowerWorks(t *testing.T) {
	im := covertest.Mounted(6, 1, 1)
	f := stance.NewFollower(&im)
	backed := 0.0 // m gone back as if in reverse
	for i := range 700 {
		y := float64(i) / 10
		works := y > 30
		if works {
			y = 60 - y
		}
		if got := f.On(0, y, geo.Bearing(math.NaN()), works, false); got.Now.Back {
			backed = max(backed, 30-y)
		}
	}
	assert.InDelta(t, 6.5, backed, 1.5, "5 m, and what it takes to see that it went back")
}
