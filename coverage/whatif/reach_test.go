package whatif

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo"
)

// The machine that is the farthest off says how far the intervals reach; the
// qualities have their own, between them nothing leaps, and where the receiver
// steered the error itself is drawn.
func TestReach(t *testing.T) {
	of := func(r reaches, errors ...ReceiverError) reach { return r.of(&HowSure{Errors: errors}) }
	fixed, single := ErrorOf(geo.Fixed), ErrorOf(geo.Single)
	for _, r := range []reaches{bare, twice} {
		assert.Equal(t, r[0], of(r), "no machine")
		assert.Equal(t, r[0], of(r, fixed))
		assert.Equal(t, r[2], of(r, single))
		assert.Equal(t, r[2], of(r, fixed, single, fixed))
		assert.Equal(t, r[2], of(r, ReceiverError{ShortTerm: 3}), "farther off than any that was tried")
		assert.Equal(t, steered, r.of(&HowSure{Errors: []ReceiverError{single}, ByReceiver: true}))
		last := r[0]
		for e := 0.01; e < 0.5; e *= 1.02 {
			now := of(r, ReceiverError{ShortTerm: e})
			assert.Less(t, now.low, now.middle, "at %v m", e)
			assert.Less(t, now.middle, now.high, "at %v m", e)
			for _, step := range []float64{now.low - last.low, now.middle - last.middle, now.high - last.high} {
				assert.InDelta(t, 0, step, 0.02, "at %v m", e) // a step of 2 % is a fiftieth of a whole one
			}
			last = now
		}
	}
}

// A middle above or below that of the runs is between the ends, and no area is
// below nothing.
func TestIntervalOf(t *testing.T) {
	var values []float64
	for i := range 199 {
		values = append(values, float64(i+1))
	}
	got := intervalOf(values, reach{-1, 0, 1})
	assert.Equal(t, Interval{Low: 10, Middle: 100, High: 190}, got)
	got = intervalOf(values, reach{-2, -0.5, 0.5})
	assert.Equal(t, Interval{Low: 0, Middle: 55, High: 145}, got)
}
