package track_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage/field"
	"lapwing/coverage/track"
	"lapwing/geo"
)

// Seconds between fixes: what is usual is asked of the fixes around.
func TestGaps(t *testing.T) {
	for _, c := range []struct {
		name  string
		steps []float64
		opt   field.Options
		gaps  []track.Gap
		usual time.Duration
	}{
		{name: "no fix"},
		{name: "one beat", steps: []float64{1, 1, 1, 1}, usual: time.Second},
		{name: "3 s is no gap", steps: []float64{1, 1, 3, 1, 1}, usual: time.Second},
		{name: "4 s is one", steps: []float64{1, 1, 4, 1, 1}, gaps: []track.Gap{{3, 4 * time.Second}}, usual: time.Second},
		{name: "a slow log", steps: []float64{5, 5, 12, 5, 13, 5}, gaps: []track.Gap{{5, 13 * time.Second}}, usual: 5 * time.Second},
		{name: "slow in the turn only", usual: time.Second,
			steps: []float64{1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1}},
		{name: "a limit that was set", steps: []float64{1, 2, 1}, opt: field.Options{MaxGap: 1500 * time.Millisecond},
			gaps: []track.Gap{{2, 2 * time.Second}}, usual: time.Second},
		{name: "back in time", steps: []float64{1, -7, 1}, usual: time.Second},
	} {
		var fixes []geo.Fix
		at := geo.Instant(0)
		for i := range len(c.steps) + min(len(c.steps), 1) {
			if i > 0 {
				at += geo.Instant(c.steps[i-1] * 1e9)
			}
			fixes = append(fixes, geo.Fix{Time: at})
		}
		gaps, usual := track.Gaps(fixes, c.opt)
		assert.Equal(t, c.gaps, gaps, c.name)
		assert.Equal(t, c.usual, usual, c.name)
	}
}
