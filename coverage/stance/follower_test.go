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
		if got := f.On(0, y, geo.Bearing(math.NaN()), false); got.Now.Back {
			backed = append(backed, 30-y)
		}
	}
	if assert.NotEmpty(t, backed) {
		assert.Less(t, backed[0], 2.0)
		assert.InDelta(t, 60, backed[len(backed)-1], 0.5)
	}
}
