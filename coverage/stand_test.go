package coverage_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage"
	"lapwing/coverage/edge"
	"lapwing/coverage/track"
	"lapwing/coverage/work"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// ofMachine is a pass that began and ended at some seconds, so many metres long.
func ofMachine(id, machine int, start, end, length float64) coverage.Pass {
	return coverage.Pass{ID: id, Pass: work.Pass{Machine: machine, Start: geo.Instant(start * 1e9), End: geo.Instant(end * 1e9), Length: plane.DistanceOf(length)}}
}

// The last pass is the one that ended last, whichever began last, and the later in the
// order of the passes where two ended at once.
func TestLastOfSome(t *testing.T) {
	m := &coverage.Map{Passes: []coverage.Pass{
		ofMachine(1, 2, 0, 100, 0), ofMachine(2, 0, 10, 500, 0), ofMachine(3, 1, 20, 300, 0), ofMachine(4, 0, 30, 40, 0), ofMachine(5, 1, 50, 300, 0),
	}}
	assert.Equal(t, 0, m.LastAtWork())
	assert.Equal(t, 2, m.LastPass(0).ID)
	assert.Equal(t, 5, m.LastPass(1).ID)
	assert.Nil(t, m.LastPass(3))
	for _, c := range []struct {
		of   []int
		want int
	}{{[]int{0, 1, 2}, 0}, {[]int{2, 1, 0}, 0}, {[]int{1, 2}, 1}, {[]int{2, 1}, 1}, {[]int{3, 2}, 2}, {[]int{3}, -1}, {nil, -1}} {
		assert.Equal(t, c.want, m.LastAmong(c.of), "%v", c.of)
	}
	m.Passes = append(m.Passes, ofMachine(6, 2, 60, 500, 0))
	assert.Equal(t, 2, m.LastAtWork(), "ended at the same time as another, and is the later")
	assert.Equal(t, 2, m.LastAmong([]int{0, 2}))

	before := &coverage.Map{Passes: []coverage.Pass{ofMachine(1, 1, -200, -100, 0), ofMachine(2, 0, -150, -120, 0)}}
	assert.Equal(t, 1, before.LastAtWork(), "a log from before 1970, by a clock that was never set")
	assert.Equal(t, 1, before.LastAmong([]int{1, 0}))
}

// A machine without a record stopped nowhere that is known: the field's centre.
func TestStopped(t *testing.T) {
	m := &coverage.Map{Records: []track.Record{{End: plane.Point{X: 3}}, {End: plane.Point{X: 5}}}}
	assert.Equal(t, plane.Point{X: 3}, m.Stopped(0))
	assert.Equal(t, plane.Point{X: 5}, m.Stopped(1))
	assert.Equal(t, plane.Point{}, m.Stopped(2))
}

// The mean speed is the way of all passes by the time of them all. Passes without a time
// tell nothing, and where none tells anything it is the usual speed.
func TestMeanSpeed(t *testing.T) {
	m := &coverage.Map{}
	assert.Equal(t, coverage.UsualSpeed, m.MeanSpeed())
	m.Passes = []coverage.Pass{ofMachine(1, 0, 70, 70, 500)}
	assert.Equal(t, coverage.UsualSpeed, m.MeanSpeed())
	m.Passes = append(m.Passes, ofMachine(2, 0, 100, 200, 300), ofMachine(3, 0, 300, 350, 300))
	assert.InDelta(t, 4, m.MeanSpeed(), 1e-9)
	m.Passes = []coverage.Pass{ofMachine(1, 0, 100, 200, 0)}
	assert.Equal(t, coverage.UsualSpeed, m.MeanSpeed(), "stood all the time")
}

// Openings where the outline is likely off are not for the work to close.
func TestOpenByWork(t *testing.T) {
	h := coverage.Headland{Edge: edge.Edge{Open: plane.DistanceOf(90), Openings: []edge.Opening{
		{Length: plane.DistanceOf(50)}, {Length: plane.DistanceOf(30)}, {Length: plane.DistanceOf(10)},
	}}}
	count, length := h.OpenByWork()
	assert.Equal(t, 3, count)
	assert.InDelta(t, 90, length.Metres(), 1e-9)
	h.Outlined = []bool{false, true, true}
	count, length = h.OpenByWork()
	assert.Equal(t, 1, count)
	assert.InDelta(t, 50, length.Metres(), 1e-9)
	h.Outlined[0] = true
	h.Edge.Open -= 1 // as rounding may leave it
	count, length = h.OpenByWork()
	assert.Zero(t, count)
	assert.Zero(t, length)
}
