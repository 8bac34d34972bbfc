package whatif

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/beside"
	"lapwing/coverage/work"
	"lapwing/geo/plane"
)

// Laps that are kept are spread over all, each with its own figures.
func TestKeep(t *testing.T) {
	for _, n := range []int{1, 100, 101, 2000} {
		f := &lapFit{}
		for i := range n {
			f.seen, f.y = append(f.seen, seenLap{own: i}), append(f.y, float64(i))
		}
		f.keep(100)
		assert.Len(t, f.seen, min(n, 100))
		last := -1
		for i, s := range f.seen {
			assert.Equal(t, float64(s.own), f.y[i])
			assert.LessOrEqual(t, s.own-last, n/len(f.seen)+1, "no stretch is left out")
			assert.Greater(t, s.own, last)
			last = s.own
		}
	}
}

// Each is drawn as often as its likelihood asks for, but for less than one.
func TestDrawn(t *testing.T) {
	likely := []float64{math.Log(0.5), math.Inf(-1), math.Log(0.3), math.Log(0.2)}
	counts := make([]int, len(likely))
	for _, i := range drawn(likely, 100) {
		counts[i]++
	}
	assert.Equal(t, []int{50, 0, 30, 20}, counts)
	assert.Equal(t, []int{1, 1, 1}, drawn([]float64{-1e5, -3e4, -1e5}, 3), "however unlikely all are")
}

// Ends on sides that are met at different angles have averages of their own: what
// the geometry adds to one is no error of the receiver.
func TestSides(t *testing.T) {
	f := &lapFit{}
	for i, degrees := range []float64{0, 3, 90, 355, 84, 180} {
		s := seenLap{group: endLaps}
		s.dir.Y, s.dir.X = math.Sincos(degrees * math.Pi / 180)
		s.side = f.sideOf(&s)
		f.seen = append(f.seen, s)
		assert.Equal(t, []int{0, 0, 1, 0, 1, 2}[i], s.side, "%v degrees", degrees)
	}
}

// A stretch of 10 m that laps by 20 cm and one of 30 m that leaves 10 cm make one of 40 m
// that leaves 2.5 cm, its middle 25 m along the pass and 75 m along its neighbour. Each
// metre counts alike, as it does in the spread of the laps.
func TestLapOfStretches(t *testing.T) {
	m := &coverage.Map{Passes: []coverage.Pass{{ID: 1}, {ID: 2}}}
	for i := range m.Passes {
		m.Passes[i].Poses = []work.Pose{{}, {Along: plane.DistanceOf(100)}}
	}
	ends := []plane.Distance{0, plane.DistanceOf(100)}
	f := &lapFit{nodes: &nodes{passes: []passNodes{{0, ends}, {2, ends}}, count: 4}}
	at := func(along, length, by, theirs float64) beside.Stretch {
		return beside.Stretch{Along: plane.DistanceOf(along), Length: plane.DistanceOf(length),
			Right: beside.Lap{Pass: 1, By: plane.DistanceOf(by), Along: plane.DistanceOf(theirs)}}
	}
	right := func(b *beside.Stretch) *beside.Lap { return &b.Right }
	f.add(m, 1, []beside.Stretch{at(10, 10, 0.2, 90), at(30, 30, -0.1, 70)}, 1, right)
	require.Len(t, f.seen, 1)
	assert.InDelta(t, -0.025, f.y[0], 1e-9)
	assert.InDelta(t, 25, f.seen[0].along, 1e-9)
	assert.InDelta(t, 75, f.seen[0].theirs, 1e-9)
	assert.Equal(t, [2]int{1, 0}, [2]int{f.seen[0].own, f.seen[0].other})
	// What an error adds to a lap goes with the nodes on either side: a quarter of the way
	// along, three quarters are the first one's. An error to the right, where the neighbour
	// lies, adds to the lap, and the neighbour's own takes from it.
	parts := map[int]float64{}
	for _, term := range f.seen[0].terms {
		parts[term.node] += term.part
	}
	assert.InDelta(t, 0.75, parts[2], 1e-9)
	assert.InDelta(t, 0.25, parts[3], 1e-9)
	assert.InDelta(t, -0.25, parts[0], 1e-9)
	assert.InDelta(t, -0.75, parts[1], 1e-9)

	f.add(m, 1, []beside.Stretch{at(10, 2, 0.2, 90), at(12, 2, 0.2, 88)}, 1, right)
	assert.Len(t, f.seen, 1, "4 m tell nothing")
}
