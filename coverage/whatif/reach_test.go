package whatif

import (
	"math"
	"math/rand/v2"
	"slices"
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
			assert.LessOrEqual(t, now.middle, 0.0, "an error adds to what was skipped or worked twice, if anything: at %v m", e)
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

// Whatever the runs find, and whatever receiver it is, the best estimate lies between
// the ends, and it is at an end only where that is nothing or all runs agree.
func TestMiddleBetweenEnds(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 300 {
		scale, shift := math.Pow(10, 4*r.Float64()), 3*r.NormFloat64()
		var values []float64
		for range 2 + r.IntN(200) {
			values = append(values, max(0, scale*(shift+r.ExpFloat64())))
		}
		for _, of := range []reaches{bare, twice, outside} {
			for _, by := range []bool{false, true} {
				in := intervalOf(slices.Clone(values), of.of(&HowSure{ByReceiver: by, Errors: []ReceiverError{{ShortTerm: 0.3 * r.Float64()}}}))
				assert.LessOrEqual(t, in.Low, in.Middle)
				assert.LessOrEqual(t, in.Middle, in.High)
				if slices.Max(values)-slices.Min(values) > 0 && in.Low > 0 {
					assert.Less(t, in.Low, in.High)
				}
			}
		}
	}
}
