package assess_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage/assess/assesstest"
	"lapwing/coverage/cause"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
)

// So far along a pass is told of one that goes somewhere; of one that goes round and
// round, how far from the field's centre and in which direction.
func TestPlace(t *testing.T) {
	a := assesstest.Small()
	at := plane.Point{X: -30 * plane.Metre, Y: 30 * plane.Metre}
	where := cause.Place{Pass: 3, Along: plane.DistanceOf(45), From: "north", Side: "left"}
	assert.Equal(t, "45 m from the north end of pass 3, left side", a.Place(quantity.Metric, where, at))
	a.Map.Passes[2].Length = 3 * a.Map.Field.Perimeter()
	assert.Equal(t, "42 m north-west of the centre, pass 3", a.Place(quantity.Metric, where, at))
	where.Pass = 0
	assert.Contains(t, a.Place(quantity.Metric, where, at), "at 54.03")
}
