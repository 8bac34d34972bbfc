package gnsslog

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
)

// Which column is what, wherever it stands, and which of two is taken.
func TestColumnsOfAHeader(t *testing.T) {
	const knot = 1852.0 / 3600
	for _, c := range []struct {
		header, row    string
		speed, heading float64 // m/s, degrees; -1 for none
		first          string  // what the first column is taken for
	}{
		{"heading,lat,lon", "90,54,10", -1, 90, "heading in degrees"},
		{"speed_kn,lat,lon", "2,54,10", 2 * knot, -1, "speed in knots"},
		{"speed,lat,lon", "2,54,10", 2, -1, "speed in m/s"},
		{"lat,lon,speed (ft/s)", "54,10,10", 3.048, -1, "latitude"},
		{"speed_over,lat,lon", "2,54,10", 2, -1, "speed in m/s (its name is cut)"},
		{"heading_de,lat,lon", "90,54,10", -1, 90, "heading in degrees (its name is cut)"},
		{"lat,lon,heading,course", "54,10,90,180", -1, 90, "latitude"},
		{"heading,course,lat,lon", "90,180,54,10", -1, 90, "heading in degrees"},
		{"course,heading,lat,lon", "180,90,54,10", -1, 90, ""},
		{"lat,lon,speed_mph,speed_kmh", "54,10,10,36", 4.4704, -1, "latitude"},
		{"lat,lon,speed_kmh,speed_mph", "54,10,36,10", 10, -1, "latitude"},
		{"heading_de,lat,lon,bearing", "180,54,10,90", -1, 90, ""},
		{"lat,lon,a;b;c", "54,10,1", -1, -1, "latitude"},
		{"lat,lon,y,Y,x,x", "54,10,1,2,3,4", -1, -1, "latitude"},
		{"lat,lon,heading (rad),heading", "54,10,1,90", -1, 90, "latitude"},
	} {
		log, err := read("day.csv", c.header+"\n"+c.row+"\n", Options{})
		require.NoError(t, err, c.header)
		require.Len(t, log.Fixes, 1)
		f := log.Fixes[0]
		assert.Equal(t, geo.LonLat{Lon: 10, Lat: 54}, f.At, c.header)
		assert.Equal(t, c.first, log.Understood[0].As, c.header)
		if c.speed < 0 {
			assert.True(t, math.IsNaN(f.Speed), c.header)
		} else {
			assert.InDelta(t, c.speed, f.Speed, 1e-12, c.header)
		}
		if c.heading < 0 {
			assert.False(t, f.Heading.Known(), c.header)
		} else {
			assert.Equal(t, geo.Bearing(c.heading), f.Heading, c.header)
		}
	}
	for header, want := range map[string]string{
		"lat,lon,long":                    `two columns for the longitude, "lon" and "long", want one`,
		"\n\r\n":                          `found columns "", want a header with columns lat and lon`,
		"lat,latitude,lon":                `two columns for the latitude, "lat" and "latitude", want one`,
		"lat,lon,heading,Heading":         `two columns for the heading, "heading" and "Heading", want one`,
		"heading,lat,lon,head-ing":        `two columns for the heading, "heading" and "head-ing", want one`,
		"lon,x,y":                         `found columns "lon", "x", "y", want a header with a column lat or latitude`,
		"lat,x,y":                         `found columns "lat", "x", "y", want a header with a column lon or longitude`,
		"a,b,c,d,e,f,g,h,i,j,k,l":         `"k", "l", want a header with columns lat and lon`,
		"a,b,c,d,e,f,g,h,i,j,k,l,m":       `"k", "l" and 1 more, want a header with columns lat and lon`,
		"\r\n\n\nsep=;\nlattitude,a;lon;": `day.csv:5: header: found columns "lattitude,a", "lon", ""; the nearest to latitude is "lattitude,a", want`,
		"\"a":                             `header: found "\"a", want names of columns`,
	} {
		_, err := read("day.csv", header+"\n", Options{})
		assert.ErrorContains(t, err, want)
	}
}

// What a line may lack or have too much of, and the places at the ends of the Earth.
func TestFieldsOfALine(t *testing.T) {
	log := mustRead(t, "lat,lon,note,speed,quality\n"+
		"90,180, a,0,4\n"+
		"-90,-180,b ,,\n"+
		"1,2\n"+
		"1,2,\"c\",3,1,\n"+
		"1,2,c,3,1,,,\n"+
		"90.1,2,c,3,1\n"+
		"2,180.1,c,3,1\n"+
		"1,2,c,3,1,d,,\n"+
		"1,2,c,3,1,,,d\n"+
		"1,2,\"c\",3,1,,d\n"+
		"1,2,c,3,0\n"+
		"1,2,d,-0.5,8\n"+
		"1,2,d,3,x\n", Options{Keep: func(name string) bool { return name == "note" }})
	assert.Equal(t, []int32{2, 3, 4, 5, 6, 13, 14}, log.Lines)
	assert.Equal(t, geo.LonLat{Lon: 180, Lat: 90}, log.Fixes[0].At)
	assert.Equal(t, geo.LonLat{Lon: -180, Lat: -90}, log.Fixes[1].At)
	assert.Equal(t, 0.0, log.Fixes[0].Speed)
	assert.Equal(t, 3.0, log.Fixes[4].Speed)
	for i, want := range []geo.Quality{geo.Fixed, geo.QualityUnknown, geo.QualityUnknown, geo.Single, geo.Single, geo.Simulated, geo.QualityUnknown} {
		assert.Equal(t, want, log.Fixes[i].Quality, i)
	}
	for _, i := range []int{1, 2, 5} {
		assert.True(t, math.IsNaN(log.Fixes[i].Speed), i)
	}
	assert.Equal(t, []string{"a", "b", "", "c", "d"}, log.Columns[0].Distinct, "without blanks around them")
	var notes []string
	for _, n := range log.Notes {
		notes = append(notes, fmt.Sprintf("%d x line %d: %s", n.Count, n.Line, n.Text))
	}
	assert.Equal(t, []string{
		`1 x line 1: column "speed" names no unit; taken as m/s`,
		`2 x line 7: lat: found "90.1", want degrees from -90 to 90; skipped`,
		`3 x line 9: found 8 fields, want 5 as in the header; skipped`,
		`1 x line 12: a line that says it has no fix; skipped`,
		`1 x line 13: speed: found "-0.5", want a speed of 0 or more; taken as no speed`,
		`1 x line 13: quality: found "8"; kept, but not a real position`,
		`1 x line 14: quality: found "x", want a number from 0 to 8 or a word such as fixed, float, single; taken as unknown`,
	}, notes)
}

// A table whose column of times is empty is one without times.
func TestEmptyTimes(t *testing.T) {
	log := mustRead(t, "time,lat,lon\n,1,2\n,3,4\n", Options{})
	assert.True(t, log.NoClock)
	assert.Len(t, log.Fixes, 2)
	log = mustRead(t, "time,lat,lon\n,1,2\n2026-05-04T06:00:00Z,3,4\n2026-05-04T06:00:01Z,5,6\n", Options{})
	assert.False(t, log.NoClock)
	assert.Len(t, log.Fixes, 2)
}

// The first date with one reading tells the order of all, however late it stands; and times
// with zones, which need no order, settle that there is nothing to tell.
func TestOrderOfDates(t *testing.T) {
	ambiguous := strings.Repeat("4/5/2026 06:00,1,2\n", 2000) // more than is read to find the header
	for _, c := range []struct{ rows, want, note string }{
		{ambiguous + "13/5/2026 06:00,1,2\n", "2026-05-04", ""},
		{ambiguous + "5/13/2026 06:00,1,2\n", "2026-04-05", ""},
		{ambiguous + "12/13/2026 06:00,1,2\n", "2026-04-05", ""},
		{ambiguous + "13/12/2026 06:00,1,2\n", "2026-05-04", ""},
		{ambiguous + "12/12/2026 06:00,1,2\n", "2026-04-05", `2001 x time: found "4/5/2026 06:00", want a date with one reading`},
		{ambiguous + "2026-05-13T06:00:00Z,1,2\n", "2026-04-05", `2000 x time: found "4/5/2026 06:00"`},
		{"4.5.2026 06:00,1,2\n", "2026-05-04", ""},
		{"4-5-2026 06:00,1,2\n", "2026-04-05", `1 x time: found "4-5-2026 06:00"`},
		{"2026/4/5 06:00,1,2\n", "2026-04-05", ""},
		{",1,2\n4/5/2026 06:00,1,2\n31/5/2026 06:00,1,2\n", "2026-05-04", "1 x time: found nothing"},
	} {
		for _, size := range []int{1000, 1 << 20} {
			log, err := readPieces("time,lat,lon\n"+c.rows, size, Options{})
			require.NoError(t, err)
			assert.Equal(t, c.want, log.Fixes[0].Time.Time().Format("2006-01-02"), c.rows)
			assert.Equal(t, int64(6*3600), int64(log.Fixes[0].Time)/second%86400)
			if c.note == "" {
				assert.Empty(t, log.Notes)
			} else if assert.Len(t, log.Notes, 1) {
				assert.Contains(t, noteTexts(log)[0], c.note)
				assert.Equal(t, 2, log.Notes[0].Line)
			}
		}
	}
	log := mustRead(t, "lat,lon,note,time\n1,2,a\n1,2,\"a\nb\",4/5/2026 06:00\n1,2,c,31/5/2026 06:00\n", Options{})
	assert.Equal(t, "2026-05-04", log.Fixes[0].Time.Time().Format("2006-01-02"))
	assert.Equal(t, []int32{3, 5}, log.Lines, "the second record goes on over a line's end")
}

// A table with a fix is told to be one, so that its text need not be kept; one without is not.
func TestTableSettles(t *testing.T) {
	for rows, want := range map[string]int{"1,2\n3,4\n": 1, "x,2\n": 0, "": 0} {
		settled := 0
		text := TextOf([]byte("lat,lon\n" + rows))
		text.Settle = func() { settled++ }
		_, _ = ReadCSV("day.csv", text, Options{})
		assert.Equal(t, want, settled, rows)
	}
}
