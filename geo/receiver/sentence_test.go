package receiver

import (
	"bytes"
	"fmt"
	"math"
	"testing"

	"github.com/adrianmo/go-nmea"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
)

// FuzzFields: what is read here is what go-nmea reads, to the last bit.
// go-nmea takes more forms (degrees, minutes and seconds; exponents), which
// are refused here.
func FuzzFields(f *testing.F) {
	for _, seed := range []string{
		"123519,4807.038,N,01131.000,E,022.4", "235960.999,4134.49795459,S,09345.03431408,W,0.148", "000000,0.0,N,0,E,-1",
		"092204.9996,9000,N,18000,W,+3.50", "00000.,,,,,", "120000.,8959.9999999999999,S,17959.99999999999999999,E,.5", "1,,,,,5.",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		var f fields
		f.split(text)
		if f.n < 6 {
			return
		}
		field := func(i int) string { return string(f.at[i]) }
		if at, none, ok := f.clock(0); ok && !none {
			want, err := nmea.ParseTime(field(0))
			require.NoError(t, err)
			require.Equal(t, ((int64(want.Hour)*60+int64(want.Minute))*60+int64(want.Second))*1e9+int64(want.Millisecond)*1e6, at)
		}
		if at, none, ok := f.position(1); ok && !none {
			require.Equal(t, geo.LonLat{Lon: latLong(t, field(3), field(4)), Lat: latLong(t, field(1), field(2))}, at)
			require.True(t, at.Valid() && math.Abs(at.Lon) <= 180)
		}
		p := nmea.NewParser(nmea.BaseSentence{Fields: []string{field(5)}})
		if v, ok := f.number(5); ok {
			want := p.NullFloat64(0, "")
			require.NoError(t, p.Err())
			require.Equal(t, want.Valid, !math.IsNaN(v))
			require.True(t, !want.Valid || want.Value == v)
		}
		if v, ok := f.whole(5); ok {
			p := nmea.NewParser(nmea.BaseSentence{Fields: []string{field(5)}})
			require.Equal(t, p.Int64(0, ""), v)
			require.NoError(t, p.Err())
		}
	})
}

func latLong(t *testing.T, value, half string) float64 {
	v, err := nmea.ParseLatLong(value + " " + half)
	require.NoError(t, err)
	return v
}

// What GNS and HDT say, for which the reader of whole files is no oracle.
func TestAgainstGoNMEA(t *testing.T) {
	for _, text := range []string{
		"$GNGNS,014035.00,4332.69262,S,17235.48549,E,RR,13,0.9,25.63,11.24,,*70", // printed in go-nmea's documentation
		"$GPGNS,224749.00,3333.4268304,N,11153.3538273,W,D,19,0.6,406.110,-26.294,6.0,0138,S*6A",
		"$GPHDT,274.07,T*03",
	} {
		sentence, err := nmea.Parse(text)
		require.NoError(t, err)
		n := NewNMEA()
		n.asm.begin(0, n.now)
		n.Feed([]byte(text), n.now)
		switch s := sentence.(type) {
		case nmea.GNS:
			require.Equal(t, geo.LonLat{Lon: s.Longitude, Lat: s.Latitude}, n.asm.draft.at)
			require.Equal(t, map[string]geo.Quality{"R": geo.Fixed, "D": geo.Differential}[s.Mode[0]], n.asm.draft.quality)
		case nmea.HDT:
			require.Equal(t, geo.Bearing(s.Heading), n.asm.draft.heading)
		}
		require.Zero(t, n.Counts().Refused())
	}
}

// A checksum is right here where it is right for go-nmea.
func TestChecksum(t *testing.T) {
	for sum := range 256 {
		body := fmt.Appendf(nil, "GPTXT,%c%c", ' '+sum%90, 'a'+sum/90)
		for wrong := range 3 {
			text := fmt.Sprintf("$%s*%02X", body, byte(sum)^byte(wrong))
			var f framer
			var counts Counts
			got, _ := f.next([]byte(text), &counts)
			_, err := nmea.Parse(text)
			require.Equal(t, err == nil, got != nil, text)
			require.Equal(t, got != nil, bytes.Equal(got, body), text)
		}
	}
}
