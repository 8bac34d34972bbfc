package job

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTimeAndSpeedFlags(t *testing.T) {
	zone := time.FixedZone("", -6*3600)
	at, err := TimeFlag("--rain-at", "2026-05-04T18:00", zone)
	require.NoError(t, err)
	assert.Equal(t, time.Date(2026, 5, 5, 0, 0, 0, 0, time.UTC), at.UTC())
	at, err = TimeFlag("--rain-at", "2026-05-04T18:00:00+02:00", zone)
	require.NoError(t, err)
	assert.Equal(t, time.Date(2026, 5, 4, 16, 0, 0, 0, time.UTC), at.UTC(), "its own zone")
	_, err = TimeFlag("--rain-at", "six o'clock", zone)
	assert.EqualError(t, err, `--rain-at: found "six o'clock", want a time such as "2026-05-04T18:00"`)

	v, err := SpeedFlag("--road-speed", "25 mph")
	require.NoError(t, err)
	assert.InDelta(t, 25*1609.344/3600, v, 1e-12)
	for text, want := range map[string]string{
		"25":    `--road-speed: found "25", want a speed such as "5 mph" or "2 m/s"`,
		"0 mph": `--road-speed: found "0 mph", want a speed such as "5 mph" or "2 m/s", more than zero`,
	} {
		_, err = SpeedFlag("--road-speed", text)
		assert.EqualError(t, err, want)
	}
}
