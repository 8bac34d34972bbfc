package assess_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
)

// A patch keeps its number whatever is listed beside it.
func TestNumbersDoNotHangOnWhatIsListed(t *testing.T) {
	a := do(t, load(t, "samples/tern-bank/job.yaml"), assess.Options{Units: quantity.Metric})
	a.MinArea, a.MinWidth = 0, 0
	all := a.Summarize()
	require.Greater(t, len(all.Skips), 10)
	for n, s := range all.Skips {
		assert.Equal(t, n+1, s.ID)
		assert.True(t, n == 0 || s.Area <= all.Skips[n-1].Area, "the largest first")
	}
	holes := 0
	for _, least := range []struct {
		area  plane.Area
		width plane.Length
	}{{plane.SquareMetre, 0}, {20 * plane.SquareMetre, 0}, {0, plane.Metre / 2}, {10 * plane.SquareMetre, plane.Metre}} {
		a.MinArea, a.MinWidth = least.area, least.width
		some := a.Summarize()
		require.NotEmpty(t, some.Skips)
		require.Less(t, len(some.Skips), len(all.Skips))
		for n, s := range some.Skips {
			assert.Equal(t, all.Skips[s.ID-1], s)
			if s.ID != n+1 {
				holes++
			}
		}
		for _, o := range some.Overlaps {
			assert.Equal(t, all.Overlaps[o.ID-1], o)
		}
		small, missing := a.Skips().Small()
		assert.Equal(t, len(all.Skips)-len(some.Skips), small)
		assert.Equal(t, some.Skips[len(some.Skips)-1].ID != len(some.Skips), missing)
	}
	assert.Positive(t, holes, "a narrow skip that is long leaves a hole")
}
