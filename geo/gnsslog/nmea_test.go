package gnsslog

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lapwing/geo"
)

// Sentences and coordinates as printed in open write-ups of the NMEA 0183
// field lists (D. DePriest's page, go-nmea, docs.rs nmea); their checksums
// were worked out again.
func TestNMEAPositions(t *testing.T) {
	tests := []struct {
		sentence string
		lat, lon float64
		quality  geo.Quality
	}{
		{"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47", 48.1173, 11.516666667, geo.Single},
		{"$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A", 48.1173, 11.516666667, geo.QualityUnknown},
		{"$GPGGA,172814.0,3723.46587704,N,12202.26957864,W,2,6,1.2,18.893,M,-25.669,M,2.0,0031*4F", 37.391097951, -122.037826311, geo.Differential},
		{"$GPGGA,092204.999,4250.5589,S,14718.5084,E,1,04,24.4,19.7,M,,,,0000*1F", -42.842648333, 147.308473333, geo.Single},
		{"$GPGGA,050701.00,2713.5680820,N,10254.3169400,E,4,17,2.0,823.0678,M,-34.480,M,02,0004*73", 27.2261347, 102.905282333, geo.Fixed},
		{"$GPRMC,230046,A,3759.8006,N,12205.4429,W,0.0,190.3,260702,15.1,E,A*3C", 37.996676667, -122.090715, geo.QualityUnknown},
		{"$GPRMC,024813.640,A,3158.4608,N,11848.3737,E,10.05,324.27,150706,,,A*50", 31.974346667, 118.806228333, geo.QualityUnknown},
	}
	const tolerance = 1e-9 // the write-ups print nine decimals
	for _, tt := range tests {
		t.Run(tt.sentence[:13], func(t *testing.T) {
			log := mustRead(t, tt.sentence+"\r\n", Options{})
			require.Equal(t, "NMEA 0183", log.Format)
			require.InDelta(t, tt.lat, log.Fixes[0].At.Lat, tolerance)
			require.InDelta(t, tt.lon, log.Fixes[0].At.Lon, tolerance)
			require.Equal(t, tt.quality, log.Fixes[0].Quality)
		})
	}
}

func TestNMEAEpochs(t *testing.T) {
	log := mustRead(t, strings.Join([]string{
		"# a comment",
		"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47",
		"$GPVTG,45.5,T,67.5,M,30.45,N,56.40,K*4B",
		"$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A",
	}, "\n"), Options{})
	require.Len(t, log.Fixes, 1)
	fix := log.Fixes[0]
	require.Equal(t, instant(t, "1994-03-23T12:35:19Z"), fix.Time)
	require.Equal(t, geo.Single, fix.Quality)
	require.InDelta(t, 22.4*1852/3600, fix.Speed, 1e-12) // RMC goes before VTG; a knot is 1852 m an hour
	require.Equal(t, geo.Bearing(84.4), fix.Heading)
	require.Equal(t, int32(2), log.Lines[0])

	log = mustRead(t, "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\n$GPVTG,220.86,T,,M,2.550,N,4.724,K,A*34\n", Options{})
	require.InDelta(t, 2.55*1852/3600, log.Fixes[0].Speed, 1e-12)
	require.Equal(t, geo.Bearing(220.86), log.Fixes[0].Heading)
	requireNote(t, log, "no sentence gives a date")
}

// Two fixes 0.2 s apart on either side of midnight, with and without RMC to
// give the second its date. The position is invented.
func TestNMEAMidnight(t *testing.T) {
	before := "$GNRMC,235959.80,A,4642.00000,N,11712.00000,W,4.345,090.0,310524,,,R*46\n"
	after := "$GNRMC,000000.00,A,4642.00000,N,11711.99965,W,4.345,090.0,010624,,,R*46\n"
	gga := func(body string) string {
		return summed("GPGGA," + body + ",4642.0,N,11712.0,W,4,12,0.6,100.0,M,0.0,M,,")
	}
	a, b := instant(t, "2024-05-31T23:59:59.8Z"), instant(t, "2024-06-01T00:00:00Z")
	for name, text := range map[string]string{
		"RMC both":         before + after,
		"GGA after":        before + gga("000000.00"),
		"GGA before":       gga("235959.80") + after,
		"bad line between": before + "$GNRMC,000000.0\n" + after,
	} {
		t.Run(name, func(t *testing.T) {
			log := mustRead(t, text, Options{})
			require.Len(t, log.Fixes, 2)
			require.Equal(t, a, log.Fixes[0].Time)
			require.Equal(t, b, log.Fixes[1].Time)
		})
	}
}

// summed is a sentence with its checksum.
func summed(body string) string {
	var sum byte
	for i := range len(body) {
		sum ^= body[i]
	}
	const hex = "0123456789ABCDEF"
	return "$" + body + "*" + string([]byte{hex[sum>>4], hex[sum&15]}) + "\n"
}

func TestNMEATrouble(t *testing.T) {
	good := "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\n$GPGGA,172814.0,3723.46587704,N,12202.26957864,W,2,6,1.2,18.893,M,-25.669,M,2.0,0031*4F\n"
	tests := []struct{ name, line, note string }{
		// The last digit of a sentence above changed: printed samples are not always valid either.
		{"wrong sum", "$GPGGA,092204.999,4250.5589,S,14718.5084,E,1,04,24.4,19.7,M,,,,0000*1E", `checksum: found "1E", want 1F`},
		{"no sum", "$GPGGA,092204.999,4250.5589,S,14718.5084,E,1,04,24.4,19.7,M,,,,0000", "want a checksum at the end, *1F"},
		{"return within the sum", "$GPZDA,1429*\r6A", `checksum: found "\r6A", want 6A`},
		{"colours", summed("GPGGA,\x1b[31m,4250.5589,S,14718.5084,E,1,04,24.4,19.7,M,,,,0000"), "(nmea: GPGGA invalid time: ?[31m)"},
		{"no fix", summed("GPGGA,092204.999,4250.5589,S,14718.5084,E,0,04,24.4,19.7,M,,,,0000"), "had no fix; skipped"},
		{"void", summed("GPRMC,123520,V,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W"), "had no fix; skipped"},
		{"minutes", summed("GPGGA,092204.999,4260.5589,S,14718.5084,E,1,04,24.4,19.7,M,,,,0000"), `found "4260.5589,S,14718.5084,E"`},
		{"blank", summed("GPGGA,092204.999,,,,,1,04,24.4,19.7,M,,,,0000"), "without a position; skipped"},
		{"date", summed("GPRMC,123520,A,4807.038,N,01131.000,E,022.4,084.4,310294,003.1,W"), `date: found "310294"`},
		{"noise", "\x01\x02garbage", "want a sentence such as"},
		{"simulator", summed("GPGGA,092204.999,4250.5589,S,14718.5084,E,8,04,24.4,19.7,M,,,,0000"), "found 8, a simulator; kept, but not a real position"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			requireNote(t, mustRead(t, good+tt.line, Options{}), tt.note)
		})
	}
	_, err := read("a.log", tests[0].line, Options{})
	require.EqualError(t, err, `a.log:1: checksum: found "1E", want 1F`)
}

func FuzzNMEA(f *testing.F) {
	f.Add("$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\n$GPVTG,45.5,T,67.5,M,30.45,N,56.40,K*4B\n")
	f.Add(summed("GNRMC,235959.80,A,4642.00000,N,11712.00000,W,4.345,090.0,310524,,,R"))
	f.Add(summed("GPZDA,143308.00,09,12,2009,00,00"))
	f.Add("\\g:1-3-1234*hh\\" + summed("GPGGA,,,,,,0,,,,,,,,"))
	f.Add("!GPZDA,1429*\r6A")
	f.Fuzz(func(t *testing.T, text string) {
		log, err := read("f", "$GPTXT,\n"+text+"\n"+summed(strings.ReplaceAll(text, "\n", "")), Options{})
		checkLog(t, log, err)
	})
}

// What comes off a serial line may have zeros in it, noise, records in binary, and
// sentences that were cut off by the next.
func TestNMEANoise(t *testing.T) {
	const a = "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47"
	b := strings.TrimSpace(summed("GPGGA,123520,4807.039,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,"))
	ubx := "\xb5b\x01\x07\x5c\x00$GP\x00\x00\xff\xfe\n\x17"
	for name, c := range map[string]struct {
		text, note string
	}{
		"zeros between lines":     {"\x00\x00\x00" + a + "\r\n\x00\x00\x00\x00" + b + "\r\n" + strings.Repeat("\x00", 5000), ""},
		"zeros within a sentence": {a[:20] + "\x00\x00" + a[20:] + "\r\n" + b + "\r\n", ""},
		"zeros ahead of all":      {strings.Repeat("\x00", 5000) + a + "\r\n" + b + "\r\n", ""},
		"noise ahead":             {"\xff\x80~\x1b" + a + "\r\n\xf0\x90" + b + "\r\n", "2 x 1: found \"\\xff\\x80~\\x1b$GPGGA"},
		"noise behind":            {a + "\xff\xff\r\n" + b + "\x80\r\n", "2 x 1: found"},
		"records in binary":       {ubx + a + "\r\n" + ubx + ubx + b + "\r\n" + ubx, "want a sentence such as"},
		"a long run of noise":     {a + "\r\n" + strings.Repeat("\xa5\x5a", 200_000) + b + "\r\n", "want a sentence such as"},
		"cut off by the next":     {a + "\r\n$GPGGA,1235" + b + "\r\n", "a checksum at the end"},
		"two in one line":         {a + b + "\r\n", ""},
		"a wrong one in one line": {a + "$GPGGA,123521,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*4F" + b + "\r\n", "checksum: found \"4F\""},
	} {
		t.Run(name, func(t *testing.T) {
			log := mustRead(t, c.text, Options{})
			require.Equal(t, "NMEA 0183", log.Format)
			require.Len(t, log.Fixes, 2)
			require.InDelta(t, 48.1173, log.Fixes[0].At.Lat, 1e-9)
			require.InDelta(t, 48+7.039/60, log.Fixes[1].At.Lat, 1e-9)
			if c.note == "" {
				require.Len(t, log.Notes, 1, "no sentence gives a date")
				return
			}
			count, text, found := strings.Cut(c.note, " x 1: ")
			if !found {
				text = c.note
			}
			requireNote(t, log, text)
			for _, n := range log.Notes {
				if found && strings.Contains(n.Text, text) {
					require.Equal(t, count, strconv.Itoa(n.Count))
				}
			}
		})
	}
}
