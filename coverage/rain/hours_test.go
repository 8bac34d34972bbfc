package rain

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
)

func TestHours(t *testing.T) {
	zone, err := time.LoadLocation("America/Denver")
	require.NoError(t, err)
	at := func(text string) geo.Instant {
		v, err := time.ParseInLocation("2006-01-02 15:04", text, zone)
		require.NoError(t, err)
		return geo.InstantOf(v)
	}
	day := Day{7 * time.Hour, 21 * time.Hour}
	for _, c := range []struct {
		name        string
		now         string
		day         Day
		worked      time.Duration
		after, next string
	}{
		{"the same day", "2026-05-04 15:00", day, 2 * time.Hour, "2026-05-04 17:00", "2026-05-04 17:00"},
		{"to the evening, and on in the morning", "2026-05-04 15:00", day, 6 * time.Hour, "2026-05-04 21:00", "2026-05-05 07:00"},
		{"over a night", "2026-05-04 15:00", day, 7 * time.Hour, "2026-05-05 08:00", "2026-05-05 08:00"},
		{"over two nights", "2026-05-04 15:00", day, 21 * time.Hour, "2026-05-06 08:00", "2026-05-06 08:00"},
		{"no night", "2026-05-04 15:00", Day{}, 21 * time.Hour, "2026-05-05 12:00", "2026-05-05 12:00"},
		{"before the day begins", "2026-05-04 05:00", day, time.Hour, "2026-05-04 08:00", "2026-05-04 08:00"},
		{"after it has ended", "2026-05-04 22:00", day, time.Hour, "2026-05-05 08:00", "2026-05-05 08:00"},
		{"into the night", "2026-05-04 23:00", Day{10 * time.Hour, 26 * time.Hour}, 4 * time.Hour, "2026-05-05 11:00", "2026-05-05 11:00"},
		{"past midnight already", "2026-05-05 01:00", Day{10 * time.Hour, 26 * time.Hour}, 30 * time.Minute, "2026-05-05 01:30", "2026-05-05 01:30"},
		{"day and night", "2026-05-05 01:00", Day{4 * time.Hour, 28 * time.Hour}, 30 * time.Hour, "2026-05-06 07:00", "2026-05-06 07:00"},
		// On 8 March 2026 clocks go on at 2:00.
		{"into summer time", "2026-03-07 20:00", day, 2 * time.Hour, "2026-03-08 08:00", "2026-03-08 08:00"},
	} {
		h := Hours{at(c.now), zone, c.day}
		assert.Equal(t, at(c.after).Time(), h.After(c.worked).Time(), c.name)
		assert.Equal(t, at(c.next).Time(), h.Begun(c.worked).Time(), c.name)
		assert.Equal(t, c.worked, h.Until(at(c.after)), c.name)
	}
	h := Hours{at("2026-05-04 15:00"), zone, day}
	assert.Equal(t, 6*time.Hour, h.Until(at("2026-05-05 03:00")), "nobody works at night")
	assert.Equal(t, at("2026-05-04 15:00"), h.Begun(0))
}
