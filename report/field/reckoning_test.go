package field

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/assess/assesstest"
	"lapwing/coverage/pace"
	"lapwing/coverage/quantity"
	"lapwing/coverage/region"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// 62 ac left at 22.909 ac/h from 14:30:00: done at 17:12:23.
func TestFinishSentence(t *testing.T) {
	acres := func(n float64) plane.Area { return plane.Area(n * quantity.Acre * float64(plane.SquareMetre)) }
	now := time.Date(2026, 5, 4, 14, 30, 0, 0, time.FixedZone("MDT", -6*3600))
	at := func(hour, minute int) geo.Instant {
		return geo.InstantOf(time.Date(2026, 5, 4, hour, minute, 0, 0, now.Location()))
	}
	for _, c := range []struct {
		name        string
		early, late geo.Instant
		rain        geo.Instant
		want        string
	}{
		{"no rain named", at(16, 50), at(17, 40), 0, "Done about 17:12 (16:50 to 17:40) at the pace so far. Counted from the end of the last pass, 4 May 2026 14:30."},
		{"in time", at(16, 50), at(17, 40), at(18, 0), "Done about 17:12 (16:50 to 17:40) at the pace so far, before the rain expected at 18:00. Counted from the end of the last pass, 4 May 2026 14:30."},
		{"just", at(16, 50), at(17, 40), at(17, 30), "Done about 17:12 (16:50 to 17:40) at the pace so far, likely before the rain expected at 17:30. Counted from the end of the last pass, 4 May 2026 14:30."},
		{"hardly", at(16, 50), at(17, 40), at(17, 0), "Done about 17:12 (16:50 to 17:40) at the pace so far, likely not before the rain expected at 17:00; 4.73 ac would not be worked by then. Counted from the end of the last pass, 4 May 2026 14:30."},
		{"too late", at(16, 50), at(17, 40), at(15, 30), "Done about 17:12 (16:50 to 17:40) at the pace so far, not before the rain expected at 15:30; 39.09 ac would not be worked by then. Counted from the end of the last pass, 4 May 2026 14:30."},
		{"too few passes", 0, 0, at(18, 0), "Done about 17:12 at the pace so far, likely before the rain expected at 18:00. Counted from the end of the last pass, 4 May 2026 14:30."},
		{"rain on another day", at(16, 50), at(17, 40), at(18+24, 0), "Done about 17:12 (16:50 to 17:40) at the pace so far, before the rain expected at 5 May 18:00. Counted from the end of the last pass, 4 May 2026 14:30."},
		{"rain already over", at(16, 50), at(17, 40), at(9, 0), "Done about 17:12 (16:50 to 17:40) at the pace so far. Counted from the end of the last pass, 4 May 2026 14:30; the rain was expected before that, at 4 May 2026 09:00."},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := pace.Forecast{Left: acres(62), Now: geo.InstantOf(now), Capacity: 22.909 * quantity.Acre / 3600, Early: c.early, Late: c.late}
			f.Finish = f.Now + geo.InstantOf(time.Unix(0, 0).Add(2*time.Hour+42*time.Minute+23*time.Second))
			m := &coverage.Map{Totals: coverage.Totals{Totals: region.Totals{}, Remainder: acres(60)}}
			r := &Document{Assessment: &assess.Assessment{Reckoning: &agronomy.Reckoning{Map: m, Forecast: &f}, Zone: now.Location()}}
			if c.rain != 0 {
				rain := c.rain.Time()
				r.RainAt = &rain
			}
			assert.Equal(t, c.want, r.finish(quantity.US))
			m.Totals.Remainder = 0
			assert.Empty(t, r.finish(quantity.US), "only skips are left")
		})
	}
}

// A missing price, yield or analysis leaves out only what needs it, and says so.
func TestWhatIsMissingIsLeftOut(t *testing.T) {
	r := small()
	full := strings.Join([]string{r.bestChange(quantity.US), r.skipLoss(quantity.US)}, " ")
	require.Contains(t, full, "USD, 27.7 lb N in anhydrous ammonia, 63.5 lb winter barley seed, 2.0 gal")
	require.Contains(t, full, "has no cost to set against the crop")
	bare := assesstest.Products()
	for i := range bare {
		bare[i].Price = nil
	}
	r.Assessment.Reckoning = agronomy.Reckon(r.Map, bare, &agronomy.Crop{Yield: 0.65})
	require.Equal(t, "Most to save: shut off at the boundary (outside the boundary): 27.7 lb N in anhydrous ammonia, 63.5 lb winter barley seed, 2.0 gal starter <i>blend</i>.", r.bestChange(quantity.US))
	require.Equal(t, "Skips cost 2,287 lb of crop.", r.skipLoss(quantity.US)) // 1596 m² at 0.65 kg/m²
	r.Assessment.Reckoning = agronomy.Reckon(r.Map, bare, nil)
	require.Empty(t, r.skipLoss(quantity.US))
}
