package whatif

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/covertest"
	"lapwing/geo/plane"
)

// Between two knots a pass is moved by parts of both, and before the first or after the last
// as it is there.
func TestMoveBetweenKnots(t *testing.T) {
	knots := []plane.Distance{plane.DistanceOf(10), plane.DistanceOf(20), plane.DistanceOf(60)}
	move := Move{{plane.DistanceOf(1), 0}, {plane.DistanceOf(3), plane.DistanceOf(4)}, {plane.DistanceOf(-1), plane.DistanceOf(2)}}
	for along, want := range map[float64][2]float64{5: {1, 0}, 10: {1, 0}, 15: {2, 2}, 17.5: {2.5, 3}, 20: {3, 4}, 30: {2, 3.5}, 60: {-1, 2}, 65: {-1, 2}} {
		east, north := move.at(shareOf(knots, plane.DistanceOf(along)))
		assert.InDelta(t, want[0], east.Metres(), 1e-9, "%v m", along)
		assert.InDelta(t, want[1], north.Metres(), 1e-9, "%v m", along)
	}
}

// A skip between one pass and the edge goes along with that pass, as far as the field goes.
func TestReplayBesideOnePass(t *testing.T) {
	for _, north := range []bool{true, false} { // the skip lies in the north, or in the east
		ground, path := covertest.Rectangle(0, 0, 10.4, 100), covertest.Start(5, -1, 0)
		if north {
			ground, path = covertest.Rectangle(0, 0, 100, 10.4), covertest.Start(-1, 5, math.Pi/2)
		}
		s := covertest.NewScene("one", ground)
		s.Drive(covertest.Rig{Name: "drill", Implement: covertest.Mounted(10, 0, 1), Speed: 2, Rate: 1, Path: path.On().Straight(102).Off().Straight(5)})
		m := mapOf(t, s, s.Passes())
		require.Len(t, m.Skips, 1)
		r := NewReplay(m, [][]plane.Distance{{0, m.Passes[0].Length}}, []int{0}, nil)
		for by, want := range map[float64]float64{0: 1, -0.2: 1, 0.1: 0.75, 0.2: 0.5, 0.4: 0} {
			move := moved(by, 0)
			if north {
				move = moved(0, by)
			}
			assert.InDelta(t, want, r.Run([]Move{move}).Left[0], 0.01, "%v m", by)
		}
	}
}

// One that also lies before the end of a headland pass, far off, goes with the two beside
// it only.
func TestReplayBesideThree(t *testing.T) {
	s := covertest.NewScene("three", covertest.Rectangle(0, 0, 20.4, 100))
	for _, path := range []*covertest.Path{
		covertest.Start(5, -1, 0).On().Straight(92).Off().Straight(5),
		covertest.Start(15.4, -1, 0).On().Straight(92).Off().Straight(5),
		covertest.Start(-1, 95, math.Pi/2).On().Straight(23).Off().Straight(5),
	} {
		s.Drive(covertest.Rig{Name: string(rune('a' + len(s.Machines))), Implement: covertest.Mounted(10, 0, 1), Speed: 2, Rate: 1, Path: path})
	}
	m := mapOf(t, s, s.Passes())
	require.Len(t, m.Skips, 1)
	require.Len(t, m.Skips[0].Passes, 3)
	var knots [][]plane.Distance
	moves := make([]Move, 3)
	for i := range m.Passes {
		knots = append(knots, []plane.Distance{0, m.Passes[i].Length})
		if m.Passes[i].Machine == 2 {
			moves[i] = moved(0.3, 0)
		}
	}
	assert.InDelta(t, 1, NewReplay(m, knots, []int{0}, nil).Run(moves).Left[0], 0.01)
}
