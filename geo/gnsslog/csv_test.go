package gnsslog

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/gnsslog/letters"
	"lapwing/geo/gnsslog/sentence"
)

// read reads a log with the reader that its beginning asks for.
func read(name, text string, opt Options) (*Log, error) {
	data := letters.Of([]byte(text))
	switch start := bytes.TrimLeft(data, " \t\r\n"); {
	case bytes.HasPrefix(start, []byte("<")):
		return ReadGPX(name, TextOf(data), opt)
	case bytes.HasPrefix(start, []byte("{")):
		return ReadGeoJSON(name, data, opt)
	case sentence.Among(start):
		return ReadNMEA(name, TextOf(data), opt)
	}
	return ReadCSV(name, TextOf(data), opt)
}

func mustRead(t *testing.T, text string, opt Options) *Log {
	t.Helper()
	log, err := read("a.log", text, opt)
	require.NoError(t, err)
	return log
}

func requireNote(t *testing.T, log *Log, text string) {
	t.Helper()
	for _, note := range log.Notes {
		if strings.Contains(note.Text, text) {
			return
		}
	}
	t.Errorf("no note says %q: %v", text, log.Notes)
}

// noteTexts are the notes of a log, each with how often it holds.
func noteTexts(log *Log) (out []string) {
	for _, n := range log.Notes {
		out = append(out, fmt.Sprintf("%d x %s", n.Count, n.Text))
	}
	return out
}

// instant is a time of RFC 3339.
func instant(t *testing.T, text string) geo.Instant {
	t.Helper()
	at, err := time.Parse(time.RFC3339Nano, text)
	require.NoError(t, err)
	return geo.InstantOf(at)
}

// All these are one log: the same two fixes.
func TestCSVShapes(t *testing.T) {
	const plain = "time,lat,lon,speed_mph,heading,status\n" +
		"2025-09-24T06:00:00Z,54.1,-1.2,5,90,on\n2025-09-24T06:00:01.5Z,54.2,-1.3,,,off\n"
	utf16le := []byte{0xff, 0xfe}
	for _, unit := range utf16.Encode([]rune(plain)) {
		utf16le = binary.LittleEndian.AppendUint16(utf16le, unit)
	}
	tests := map[string]string{
		"plain":             plain,
		"byte-order mark":   "\ufeff" + plain,
		"CRLF":              strings.ReplaceAll(plain, "\n", "\r\n"),
		"CR":                strings.ReplaceAll(plain, "\n", "\r"),
		"UTF-16":            string(utf16le),
		"tabs":              strings.ReplaceAll(plain, ",", "\t"),
		"semicolons":        strings.ReplaceAll(plain, ",", ";"),
		"sep line":          "sep=;\n" + strings.ReplaceAll(plain, ",", ";"),
		"no end of line":    strings.TrimSuffix(plain, "\n"),
		"empty lines":       "\n" + strings.ReplaceAll(plain, "\n", "\n\n"),
		"quotes":            `"` + strings.NewReplacer(",", `","`, "\n", "\"\n\"").Replace(strings.TrimSuffix(plain, "\n")) + `"`,
		"decimal comma":     "TIMESTAMP;Latitude;LONG;Speed (mph);Course;Status\n24.09.2025 06:00:00Z;54,1;-1,2;5,0;90,0;on\n24.09.2025 06:00:01,5Z;54,2;-1,3;;;off",
		"date and time":     "Date,Time,lat,lng,Speed[mph],bearing_deg,Status\n2025-09-24,06:00:00Z,54.1,-1.2,5,90,on\n2025-09-24,06:00:01.5Z,54.2,-1.3,,,off",
		"epoch seconds":     "time,lat,lon,speed_mph,heading,status\n1758693600,54.1,-1.2,5,90,on\n1758693601.5,54.2,-1.3,,,off",
		"epoch ms":          "time,lat,lon,speed_mph,heading,status\n1758693600000,54.1,-1.2,5,90,on\n1758693601500,54.2,-1.3,,,off",
		"kilometres":        "time,lat,lon,speed_kmh,heading,status\n20250924T060000Z,54.1,-1.2,8.04672,90,on\n2025-09-24 07:00:01.5+01:00,54.2,-1.3,,,off",
		"ends cut short":    "time,lat,lon,status,speed_mph,heading\n2025-09-24T06:00:00Z,54.1,-1.2,on,5,90\n2025-09-24T06:00:01.5Z,54.2,-1.3,off\n",
		"month first":       "time_utc,lat,lon,GPS_Speed(mph),heading,status\n9/24/2025 6:00:00 AM,54.1,-1.2,5,90,on\n9/24/2025 6:00:01.5 am,54.2,-1.3,,,off",
		"day first":         "time_utc,lat,lon,speed_mph,heading,status\n24/09/2025 06:00:00,54.1,-1.2,5,90,on\n24/09/2025 06:00:01.5,54.2,-1.3,,,off",
		"year first, slash": "time_utc,lat,lon,speed_mph,heading,status\n2025/09/24 06:00:00,54.1,-1.2,5,450,on\n2025/9/24 6:00:01.5,54.2,-1.3,,,off",
	}
	for name, text := range tests {
		t.Run(name, func(t *testing.T) {
			log := mustRead(t, text, Options{Keep: func(name string) bool { return name == "status" }})
			require.Equal(t, "CSV", log.Format)
			require.Len(t, log.Fixes, 2)
			a, b := log.Fixes[0], log.Fixes[1]
			require.Equal(t, instant(t, "2025-09-24T06:00:00Z"), a.Time)
			require.Equal(t, instant(t, "2025-09-24T06:00:01.5Z"), b.Time)
			require.Equal(t, geo.LonLat{Lon: -1.2, Lat: 54.1}, a.At)
			require.Equal(t, geo.LonLat{Lon: -1.3, Lat: 54.2}, b.At)
			require.InDelta(t, 2.2352, a.Speed, 1e-12) // 5 mph, the mile being 1609.344 m
			require.True(t, math.IsNaN(b.Speed) && !b.Heading.Known())
			if name == "year first, slash" {
				requireNote(t, log, `found "450"`)
			} else {
				require.Equal(t, geo.Bearing(90), a.Heading)
			}
			require.Equal(t, []string{"on", "off"}, log.Columns[0].Distinct)
			require.Equal(t, []uint32{0, 1}, log.Columns[0].Codes)
			require.Zero(t, log.Zoneless)
		})
	}
}

func TestCSVZones(t *testing.T) {
	denver, err := time.LoadLocation("America/Denver")
	require.NoError(t, err)
	// Summer time ended there on 2 November 2025 at 2:00, UTC-6 to UTC-7.
	log := mustRead(t, "time_local,lat,lon\n2025-11-01T12:00:00,54,-1\n2025-11-02T12:00:00,54,-1\n2025-11-02 12:00:00-05:00,54,-1\n", Options{Zone: denver})
	require.Equal(t, instant(t, "2025-11-01T18:00:00Z"), log.Fixes[0].Time)
	require.Equal(t, instant(t, "2025-11-02T19:00:00Z"), log.Fixes[1].Time)
	require.Equal(t, instant(t, "2025-11-02T17:00:00Z"), log.Fixes[2].Time)
	require.Equal(t, 2, log.Zoneless)

	log = mustRead(t, "time_utc,lat,lon\n2025-11-01T12:00:00,54,-1\n", Options{Zone: denver})
	require.Equal(t, instant(t, "2025-11-01T12:00:00Z"), log.Fixes[0].Time)
	require.Zero(t, log.Zoneless)
}

func TestCSVNotes(t *testing.T) {
	good := "\n2025-09-24T06:00:00Z,54.1,-1.2,1"
	head := "time,lat,lon,speed" + good + good + good
	tests := []struct{ name, lines, note string }{
		{"bare speed", "", `column "speed" names no unit; taken as m/s`},
		{"latitude too large", "\n2025-09-24T06:00:00Z,95.1,-1.2,1", `lat: found "95.1", want degrees from -90 to 90; skipped`},
		{"no number", "\n2025-09-24T06:00:00Z,54.1,west,1", `lon: found "west"`},
		{"infinity", "\n2025-09-24T06:00:00Z,54.1,inf,1", `lon: found "inf"`},
		{"no time", "\n25:03:11,54.1,-1.2,1", `time: found "25:03:11"`},
		{"empty time", "\n,54.1,-1.2,1", "time: found nothing"},
		{"empty position", "\n2025-09-24T06:00:00Z,,,1", "no position in the line; skipped"},
		{"decimal commas between commas", "\n2025-09-24T06:00:00Z,54,1,-1,2,1", "found 6 fields, want 4 as in the header"},
		{"lone quote", "\n\"2025-09-24T06:00:00Z,54.1,-1.2,1", "want quotes in pairs"},
		{"minus speed", "\n2025-09-24T06:00:00Z,54.1,-1.2,-1", `speed: found "-1", want a speed of 0 or more; taken as no speed`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			requireNote(t, mustRead(t, head+tt.lines, Options{}), tt.note)
		})
	}
	log := mustRead(t, "time,lat,lon,moisture\n4/5/2026 06:00:00,54,-1,9", Options{})
	require.Equal(t, instant(t, "2026-04-05T06:00:00Z"), log.Fixes[0].Time)
	requireNote(t, log, `found "4/5/2026 06:00:00", want a date with one reading; taken as month/day/year`)
	require.Equal(t, Meaning{"moisture", ""}, log.Understood[3])
}

func TestCSVErrors(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"no latitude", "time,lattitude,lon\n", `a.log:1: header: found columns "time", "lattitude", "lon"; the nearest to latitude is "lattitude", want a header with a column lat or latitude`},
		{"prose", "dear diary\n", `a.log:1: header: found columns "dear diary", want a header with columns lat and lon`},
		{"two latitudes", "lat,lon,Latitude\n", `a.log:1: header: two columns for the latitude, "lat" and "Latitude", want one`},
		{"header alone", "lat,lon\n", "a.log: no position in the file, want a log with fixes"},
		{"all empty", "lat,lon\n,\n,\n", "a.log:2: every position is empty, want a log with fixes"},
		{"mostly bad", "lat,lon\nx,1\ny,1\n5,1\n", `a.log:2: lat: found "x" (and 2 of 3 lines are bad), want degrees from -90 to 90`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := read("a.log", tt.text, Options{})
			require.ErrorContains(t, err, tt.want)
			var syntax *SyntaxError
			require.True(t, errors.As(err, &syntax))
		})
	}
}

func TestHostile(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"open tags", "<gpx>" + strings.Repeat("<a>", 3_000_000), "a.log:1: elements nested deeper than 100"},
		{"one line", "lat,lon" + strings.Repeat("x", 3<<20), "a line of more than 1048576 bytes"},
		{"open brackets", `{"features":[` + strings.Repeat("[", 1_000_000), "JSON that cannot be read"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := read("a.log", tt.text, Options{})
			require.ErrorContains(t, err, tt.want)
		})
	}
}

// A file read in parts is the file read whole.
func TestCSVParts(t *testing.T) {
	data := winterBarley(30_000)
	data = bytes.Replace(data, []byte("54.1"), []byte("x"), 3)
	log := mustRead(t, string(data), Options{Keep: keepWork})
	quoted := bytes.Replace(data, []byte("heading"), []byte(`"heading"`), 1) // quotes in the header alone change nothing
	again := mustRead(t, string(quoted)+"\"\"", Options{Keep: keepWork})     // a quote in the body: not cut
	require.Len(t, log.Fixes, 29_997)
	require.Equal(t, log.Fixes, again.Fixes)
	require.Equal(t, log.Lines, again.Lines)
	require.Equal(t, log.Columns, again.Columns)
	require.Equal(t, int32(30_001), log.Lines[len(log.Lines)-1])
}

func FuzzCSV(f *testing.F) {
	f.Add("lat,lon,working\n1,2,on\n\"3\",4,\"o\"\"n\"\n")
	f.Add("lat;lon\r\n1,5;2\r\n")
	f.Add("date\ttime\tlat\tlon\n24.9.2025\t6:00 PM\t1\t2")
	f.Fuzz(func(t *testing.T, text string) {
		log, err := read("f", text, Options{Keep: func(string) bool { return true }})
		checkLog(t, log, err)
	})
}

// checkLog checks what holds for every log and every error.
func checkLog(t *testing.T, log *Log, err error) {
	t.Helper()
	if err != nil {
		var syntax *SyntaxError
		if !errors.As(err, &syntax) {
			t.Fatalf("not a SyntaxError: %v", err)
		}
		if strings.ContainsAny(err.Error(), "\n\r") {
			t.Fatalf("more than one line: %q", err)
		}
		return
	}
	if len(log.Fixes) == 0 || len(log.Lines) != len(log.Fixes) {
		t.Fatalf("%d fixes, %d lines", len(log.Fixes), len(log.Lines))
	}
	for _, fix := range log.Fixes {
		if !(math.Abs(fix.At.Lat) <= 90 && math.Abs(fix.At.Lon) <= 180) || fix.Speed < 0 || fix.Heading < 0 || fix.Heading >= 360 {
			t.Fatalf("not a fix: %+v", fix)
		}
	}
	for _, c := range log.Columns {
		if len(c.Codes) != len(log.Fixes) {
			t.Fatalf("column %q has %d values for %d fixes", c.Name, len(c.Codes), len(log.Fixes))
		}
		for _, code := range c.Codes {
			_ = c.Distinct[code]
		}
	}
	for i, at := range log.Breaks {
		if at <= 0 || at >= len(log.Fixes) || i > 0 && at <= log.Breaks[i-1] {
			t.Fatalf("breaks %v of %d fixes", log.Breaks, len(log.Fixes))
		}
	}
}
