package cab

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/pace"
	"lapwing/geo"
)

// What is said of the rain is as sure as what the report says: an interval of the finish
// that is all before it, most, little or none.
func TestDoneBeforeTheRain(t *testing.T) {
	at := func(hour, minute int) time.Time { return time.Date(2026, 5, 4, hour, minute, 0, 0, time.UTC) }
	for _, c := range []struct {
		rain time.Time
		want string
	}{
		{at(18, 0), "17:30 UTC, before the rain"},
		{at(17, 40), "17:30 UTC, likely before the rain"},
		{at(17, 20), "17:30 UTC, likely after the rain begins"},
		{at(17, 0), "17:30 UTC, after the rain begins"},
	} {
		// At the last answer it was 17:00, give or take twenty minutes; half an hour was lost since.
		a := &assess.Assessment{Zone: time.UTC, RainAt: &c.rain, Reckoning: &agronomy.Reckoning{Forecast: &pace.Forecast{Now: geo.InstantOf(at(14, 0)),
			Early: geo.InstantOf(at(16, 40)), Finish: geo.InstantOf(at(17, 0)), Late: geo.InstantOf(at(17, 20))}}}
		assert.Equal(t, c.want, done(a, geo.InstantOf(at(17, 30))))
	}
	a := &assess.Assessment{Zone: time.UTC, Reckoning: &agronomy.Reckoning{Forecast: &pace.Forecast{Now: geo.InstantOf(at(14, 0))}}}
	assert.Equal(t, "17:30 UTC", done(a, geo.InstantOf(at(17, 30))))
}
