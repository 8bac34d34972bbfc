package whatif

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
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
