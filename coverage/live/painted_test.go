package live_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/assess"
	"lapwing/coverage/covertest"
	"lapwing/coverage/live"
	"lapwing/coverage/machine"
)

// What is painted is what no answer has: after each answer the bars that it covers go,
// those that stay keep their numbers, and the ground goes on from where the answer ends.
func TestPaintedIsWhatNoAnswerHas(t *testing.T) {
	s := covertest.Small(0.01, 1)
	r := replayOf(t, jobOf(t, s.Field, machine.Machines(s.Machines), ""), "farm/job.yaml", s.Machines)
	kept := map[int]live.Bar{} // by number, those that rest
	asks, most := 0, 0
	for i := range r.records[0] {
		r.engine.Step(0, r.records[0][i])
		first, bars := r.engine.Painted(0, 0)
		for k, b := range bars[:max(0, len(bars)-1)] {
			if was, known := kept[first+k]; known {
				require.Equal(t, was, b)
			}
			kept[first+k] = b
		}
		if len(bars) > 3 {
			_, end := r.engine.Painted(0, first+len(bars)-2)
			require.Equal(t, bars[len(bars)-2:], end, "from a number on")
		}
		most = max(most, len(bars))
		if !r.engine.Due() {
			continue
		}
		a, err := r.engine.Ask().Answer(assess.Options{})
		require.NoError(t, err)
		r.engine.Take(a)
		asks++
		after, left := r.engine.Painted(0, 0)
		require.LessOrEqual(t, len(left), 1, "of bars that an answer has the last one stays, from which the next goes on")
		require.GreaterOrEqual(t, after, first)
		if now := r.engine.Now(0); now.Works && len(left) > 0 {
			b := left[len(left)-1]
			assert.Less(t, math.Hypot(float64(b.LeftX+b.RightX)/2-now.At.X.Metres(), float64(b.LeftY+b.RightY)/2-now.At.Y.Metres()), 12.0)
		}
	}
	assert.Greater(t, asks, 10)
	assert.Greater(t, most, 30, "bars are painted")
	assert.Greater(t, len(kept), 300)
}
