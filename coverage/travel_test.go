package coverage_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/track"
	"lapwing/geo"
)

// A machine drives 300 m east out of one field, 200 m of it on the road, and
// into another; a fix without a place is no travel.
func TestTravel(t *testing.T) {
	home := covertest.NewScene("home", covertest.Rectangle(-50, -50, 50, 50)).Field
	away := covertest.NewSceneAt(home.Frame.FromMetres(300, 0), "away", covertest.Rectangle(-50, -50, 50, 50)).Field
	s := covertest.NewScene("home", covertest.Rectangle(-50, -50, 50, 50))
	s.Drive(covertest.Rig{Name: "drill", Implement: covertest.Mounted(6, 0, 1), Speed: 5, Rate: 1,
		Path: covertest.Start(2, 0, math.Pi/2).Straight(300)})
	fixes := s.Machines[0].Tracks[0].Fixes
	fixes[2].At = geo.LonLat{}
	n, metres := track.Travel([]field.Field{home, away}, s.Machines, field.Options{})
	assert.Equal(t, 40, n) // every 5 m from 52 m to 247 m
	assert.InDelta(t, 39*5, metres, 0.1)
	n, metres = track.Travel([]field.Field{home}, s.Machines, field.Options{})
	assert.Equal(t, 51, n)
	assert.InDelta(t, 50*5, metres, 0.1)
}
