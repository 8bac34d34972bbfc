package whatif

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// However many laps there are, weighing them takes no longer than it may; those that
// are kept are spread over all, each with its own figures.
func TestThin(t *testing.T) {
	for _, n := range []int{1, 300, 2000, 50_000} {
		f := &lapFit{}
		for i := range n {
			f.seen, f.y = append(f.seen, seenLap{own: i}), append(f.y, float64(i))
		}
		thinned := f.thin(100)
		kept := float64(len(f.seen))
		assert.Equal(t, n > 736, thinned, "%d laps", n)
		assert.LessOrEqual(t, 100*kept*kept*kept, mostWeighed)
		last := -1
		for i, s := range f.seen {
			assert.Equal(t, float64(s.own), f.y[i])
			assert.LessOrEqual(t, s.own-last, n/len(f.seen)+1, "no stretch is left out")
			assert.Greater(t, s.own, last)
			last = s.own
		}
		assert.False(t, f.thin(100), "once is enough")
	}
}
