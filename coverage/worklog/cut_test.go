package worklog

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/gnsslog"
)

// A .dbf cuts names to ten characters: what is left tells, if all that begin so
// mean one thing and the values fit.
func TestCutNames(t *testing.T) {
	for _, c := range []struct{ name, value, as string }{
		{"implement_", "on", "whether the machine works (its name is cut)"}, // implement_status
		{"implemen_1", "0", "whether the machine works (its name is cut)"},
		{"implement_", "seed drill", ""}, // implement_name
		{"working_st", "1", "whether the machine works (its name is cut)"},
		{"section_st", "0011", "which sections are open, from left to right (its name is cut)"},
		{"section_st", "good", ""},
		{"swath_widt", "12", "how much of the bar works, in m (no unit is named: judged by its size) (its name is cut)"},
		{"swath_widt", "wide", ""},
		{"machine_na", "red drill", "which machine it is (its name is cut)"},
		{"ground_spe", "2", "speed in m/s (its name is cut)"},
		{"speed_mile", "5", "speed in mph (its name is cut)"}, // speed_miles_per_hour
		{"speed(km/h", "7", "speed in km/h (its name is cut)"},
		{"gps_course", "90", "heading in degrees"}, // not cut
		{"heading_de", "90", "heading in degrees (its name is cut)"},
		{"applied_ra", "5", ""}, // a rate, but of what unit?
		{"rate_gal_a", "5", "what was put down, in gal/ac"},
		{"elevation_", "5", ""},
		{"implement", "on", ""},   // nine characters are not cut
		{"implement_s", "on", ""}, // nor eleven
		{"workstatus", "on", "whether the machine works"},
	} {
		log, err := gnsslog.ReadCSV("day.csv", gnsslog.TextOf([]byte("time,lat,lon,"+c.name+"\n2026-03-02T09:00:00Z,54,10,"+c.value+"\n")),
			gnsslog.Options{Keep: Understood})
		require.NoError(t, err)
		meanings := Of("", log).Meanings()
		require.Len(t, meanings, 4)
		as := meanings[3].As
		if as == "kept as text" {
			as = ""
		}
		assert.Equal(t, c.as, as, "%s: %s", c.name, c.value)
	}
}
