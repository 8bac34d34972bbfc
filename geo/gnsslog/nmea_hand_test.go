package gnsslog

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
)

// ggaAt is a GGA sentence of a time of day at an invented place.
func ggaAt(time string) string {
	return summed("GPGGA," + time + ",4642.0,N,11712.0,W,4,12,0.6,100.0,M,0.0,M,,")
}

// rmcOn is an RMC sentence of a time of day and a date, ddmmyy.
func rmcOn(time, date string) string {
	return summed("GPRMC," + time + ",A,4642.0,N,11712.0,W,4.0,090.0," + date + ",,,A")
}

// times are those of the fixes of a log.
func times(log *Log) (out []string) {
	for _, f := range log.Fixes {
		out = append(out, f.Time.Time().Format("2006-01-02T15:04:05.999"))
	}
	return out
}

// The date of a time of day comes from RMC or ZDA, and goes on past midnight and back: only a
// step of more than half a day is one into another day.
func TestNMEADates(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"past midnight and back", rmcOn("235959", "310524") + ggaAt("000000") + ggaAt("000001") + ggaAt("235959.5") + ggaAt("000002"),
			[]string{"2024-05-31T23:59:59", "2024-06-01T00:00:00", "2024-06-01T00:00:01", "2024-05-31T23:59:59.5", "2024-06-01T00:00:02"}},
		{"half a day on and back", rmcOn("000000", "310524") + ggaAt("120000") + ggaAt("000000") + ggaAt("120000.1"),
			[]string{"2024-05-31T00:00:00", "2024-05-31T12:00:00", "2024-05-31T00:00:00", "2024-05-30T12:00:00.1"}},
		{"a leap second", rmcOn("235960", "311216"), []string{"2017-01-01T00:00:00"}},
		{"of ZDA", ggaAt("143308") + summed("GPZDA,143308,09,12,2009,00,00") + ggaAt("143309"), []string{"2009-12-09T14:33:08", "2009-12-09T14:33:09"}},
		{"of ZDA, ahead", summed("GPZDA,143308,09,12,2009,00,00") + ggaAt("143308"), []string{"2009-12-09T14:33:08"}},
		{"of ZDA alone in its moment", summed("GPZDA,235959,09,12,2009,00,00") + ggaAt("000001"), []string{"2009-12-10T00:00:01"}},
		{"of a ZDA without a date", summed("GPZDA,143308,,,,,") + rmcOn("143308", "091209"), []string{"2009-12-09T14:33:08"}},
		{"two digits of a year from 1980 on", rmcOn("120000", "060180"), []string{"1980-01-06T12:00:00"}},
		{"two digits of a year up to 2079", rmcOn("120000", "060179"), []string{"2079-01-06T12:00:00"}},
		{"the first year", summed("GPZDA,120000,01,01,1980,00,00") + ggaAt("120000"), []string{"1980-01-01T12:00:00"}},
		{"the last year", summed("GPZDA,120000,31,12,2261,00,00") + ggaAt("120000"), []string{"2261-12-31T12:00:00"}},
	} {
		log := mustRead(t, c.text, Options{})
		assert.Equal(t, c.want, times(log), c.name)
		assert.Empty(t, log.Notes, c.name)
	}
	for _, date := range []string{"31,12,1979", "01,01,2262", "31,04,2026", "00,04,2026", "01,13,2026"} {
		log := mustRead(t, ggaAt("120000")+summed("GPZDA,120000,"+date+",00,00")+ggaAt("120001"), Options{})
		requireNote(t, log, "date: found")
		requireNote(t, log, "no sentence gives a date")
	}
}

// The greatest and the least latitude and longitude are places, and so are those of a minute
// less; those past them, and sixty minutes, are none.
func TestNMEAPlacesAtTheEnds(t *testing.T) {
	read := func(place string) *Log {
		return mustRead(t, ggaAt("120000")+ggaAt("120001")+summed("GPGGA,120002,"+place+",4,12,0.6,100.0,M,0.0,M,,"), Options{})
	}
	for place, want := range map[string]geo.LonLat{
		"9000.0,N,18000.0,E":         {Lon: 180, Lat: 90},
		"9000.0,S,18000.0,W":         {Lon: -180, Lat: -90},
		"0000.0,N,00000.0,E":         {},
		"8959.9999,S,17959.9999,W":   {Lon: -180 + 1e-4/60, Lat: -90 + 1e-4/60},
		"4630.00000,N,00730.00000,E": {Lon: 7.5, Lat: 46.5},
	} {
		log := read(place)
		if assert.Len(t, log.Fixes, 3, place) {
			assert.InDelta(t, want.Lon, log.Fixes[2].At.Lon, 1e-9, place)
			assert.InDelta(t, want.Lat, log.Fixes[2].At.Lat, 1e-9, place)
		}
	}
	for _, place := range []string{"9000.1,N,01000.0,E", "4642.0,N,18000.1,E", "4660.0,N,01000.0,E", "4600.0,N,01060.0,E", "-0600.0,N,01000.0,E", "0600.0,N,-0100.0,E",
		"4642.0,E,01000.0,N", ",N,01000.0,E", "4642.0,N,,E"} {
		log := read(place)
		assert.Len(t, log.Fixes, 2, place)
		assert.Len(t, log.Notes, 2, place)
	}
}

// What each sentence of a moment gives: the first GGA goes before RMC, RMC before VTG, and a
// value that is empty is none.
func TestNMEASentencesOfAMoment(t *testing.T) {
	const knot = 1852.0 / 3600
	vtg := func(course, knots string) string { return summed("GPVTG," + course + ",T,,M," + knots + ",N,,K,A") }
	rmc := func(course, knots string) string {
		return summed("GPRMC,120000,A,4700.0,N,11700.0,W," + knots + "," + course + ",310524,,,A")
	}
	for _, c := range []struct {
		name, text          string
		lat, speed, heading float64 // knots; -1 for none
		notes               int
	}{
		{"GGA, then RMC", ggaAt("120000") + rmc("90.0", "4.0"), 46.7, 4, 90, 0},
		{"RMC, then GGA", rmc("90.0", "4.0") + ggaAt("120000"), 46.7, 4, 90, 0},
		{"RMC alone", rmc("90.0", "4.0"), 47, 4, 90, 0},
		{"RMC without speed and course", rmc("", ""), 47, -1, -1, 0},
		{"filled up by VTG", rmc("", "") + vtg("80.0", "3.0"), 47, 3, 80, 0},
		{"VTG with a course only", rmc("", "") + vtg("80.0", ""), 47, -1, 80, 0},
		{"VTG with a speed only", rmc("", "") + vtg("", "3.0"), 47, 3, -1, 0},
		{"VTG ahead of RMC", rmc("90.0", "") + vtg("80.0", "3.0"), 47, 3, 90, 0},
		{"the first of two VTG", ggaAt("120000") + rmc("", "") + vtg("80.0", "3.0") + vtg("70.0", "2.0"), 46.7, 3, 80, 0},
		{"the first of two RMC", rmc("90.0", "4.0") + rmc("80.0", "3.0"), 47, 4, 90, 1},
		{"VTG before any moment", vtg("80.0", "3.0") + rmc("90.0", ""), 47, -1, 90, 0},
		{"standing", rmc("0.0", "0.0"), 47, 0, 0, 0},
	} {
		log := mustRead(t, c.text, Options{})
		require.Len(t, log.Fixes, 1, c.name)
		f := log.Fixes[0]
		assert.InDelta(t, c.lat, f.At.Lat, 1e-9, c.name)
		if c.speed < 0 {
			assert.True(t, math.IsNaN(f.Speed), c.name)
		} else {
			assert.InDelta(t, c.speed*knot, f.Speed, 1e-12, c.name)
		}
		if c.heading < 0 {
			assert.False(t, f.Heading.Known(), c.name)
		} else {
			assert.InDelta(t, c.heading, float64(f.Heading), 1e-12, c.name)
		}
		assert.Len(t, log.Notes, c.notes, c.name)
	}
}

// How each type of sentence is taken, and what is wrong with some.
func TestNMEATellsHowItWasTaken(t *testing.T) {
	log := mustRead(t, ggaAt("120000")+rmcOn("120000", "310524")+summed("GPGSV,1,1,00")+summed("PABCD,1")+summed("GPGSV,1,1,00"), Options{})
	assert.Equal(t, []Meaning{{"GGA", "position, time of day, quality of the fix"}, {"RMC", "position, time, speed in knots, course"}, {"GSV", ""}, {"PABCD", ""}}, log.Understood)

	two := ggaAt("120000") + ggaAt("120001")
	for name, c := range map[string]struct {
		text  string
		fixes int
		note  string // of all but that there is no date
	}{
		"no time and no place":             {two + summed("GPGGA,,,,,,0,,,,,,,,"), 2, "1 x a sentence without time and position; skipped"},
		"an hour too much":                 {two + ggaAt("240000"), 2, `1 x time: found "240000", want hhmmss.ss; skipped`},
		"a minute too much":                {two + ggaAt("236000"), 2, `1 x time: found "236000", want hhmmss.ss; skipped`},
		"a second too much":                {two + ggaAt("235961"), 2, `1 x time: found "235961", want hhmmss.ss; skipped`},
		"a quality past the last":          {two + summed("GPGGA,120002,4642.0,N,11712.0,W,9,12,0.6,100.0,M,0.0,M,,"), 2, `1 x quality: found "9", want a number from 0 to 8; skipped`},
		"a quality below the first":        {two + summed("GPGGA,120002,4642.0,N,11712.0,W,-1,12,0.6,100.0,M,0.0,M,,"), 2, `1 x quality: found "-1", want a number from 0 to 8; skipped`},
		"one of two lines":                 {ggaAt("120000") + "words\n", 1, `1 x found "words", want a sentence such as $GPGGA,...*47; skipped`},
		"three in a line, one of them AIS": {strings.ReplaceAll(two, "\n", "") + "!AIVDM,1,1,,A,x,0*5C\n", 2, ""},
		"two moments without a fix": {two + summed("GPGGA,120002,,,,,0,,,,,,,,") + summed("GPGGA,120003,,,,,0,,,,,,,,"), 2,
			"2 x a moment at which the receiver had no fix; skipped"},
		"a comment amid": {ggaAt("120000") + "# $GPGGA,1\n" + ggaAt("120001"), 2, ""},
	} {
		log := mustRead(t, c.text, Options{})
		assert.Len(t, log.Fixes, c.fixes, name)
		notes := slices.DeleteFunc(noteTexts(log), func(text string) bool { return strings.Contains(text, " x no sentence gives a date") })
		if c.note == "" {
			assert.Empty(t, notes, name)
		} else {
			assert.Equal(t, []string{c.note}, notes, name)
		}
	}
	_, err := read("a.log", summed("GPGGA,120000,,,,,0,,,,,,,,")+"x\n"+ggaAt("240000"), Options{})
	assert.EqualError(t, err, `a.log:2: found "x" (and 2 of 3 lines are bad), want a sentence such as $GPGGA,...*47`, "the first bad line")
	_, err = read("a.log", summed("GPGGA,120000,,,,,0,,,,,,,,"), Options{})
	assert.EqualError(t, err, "a.log:1: the receiver never had a position, want a log with fixes")
}
