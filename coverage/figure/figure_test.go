package figure_test

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/figure"
	"lapwing/geo"
	"lapwing/geo/plane"
)

func TestSquareMetresAreExact(t *testing.T) {
	for want, a := range map[string]plane.Area{
		"0": 0, "1": plane.SquareMetre, "0.000000005": 1, "-0.000000005": -1,
		"647497.12":             64749712 * plane.SquareMetre / 100,
		"46116860184.273879035": math.MaxInt64, // 9223372036854775807 x 5e-9, exactly
	} {
		require.Equal(t, want, string(figure.AppendSquareMetres(nil, a)))
	}
}

// Areas read back to the half square tick, from one end of the range to the
// other.
func TestSquareMetresReadBack(t *testing.T) {
	for _, area := range []plane.Area{0, 1, -1, plane.SquareMetre, 64749712 * plane.SquareMetre / 100, math.MaxInt64, -math.MaxInt64} {
		text, err := figure.SquareMetres(area).MarshalJSON()
		require.NoError(t, err)
		var back figure.SquareMetres
		require.NoError(t, json.Unmarshal(text, &back), string(text))
		assert.Equal(t, figure.SquareMetres(area), back)
	}
}

func TestStampHasFractions(t *testing.T) {
	at := time.Date(2026, 9, 3, 6, 15, 0, 250e6, time.UTC)
	require.Equal(t, "2026-09-03T06:15:00.25Z", figure.Stamp(geo.InstantOf(at)))
}
