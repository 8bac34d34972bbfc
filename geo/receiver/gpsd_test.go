package receiver_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/receiver"
)

// tpv is a report of the n-th tenth of a second.
func tpv(n int, more string) string {
	return fmt.Sprintf(`{"class":"TPV","device":"/dev/ttyUSB0","mode":3,"time":"%s"%s}`+"\r\n", noon.Add(time.Duration(n)*tenth).Format("2006-01-02T15:04:05.000Z"), more)
}

const place = `,"lat":46.5,"lon":-117.25`

// reports feeds lines of a gpsd and ends the connection.
func reports(lines ...string) ([]receiver.Epoch, receiver.Counts) {
	g := receiver.NewGPSD()
	got := append([]receiver.Epoch(nil), g.Feed([]byte(strings.Join(lines, "")), noon)...)
	return append(got, g.Break()...), g.Counts()
}

func TestGPSDReports(t *testing.T) {
	at := geo.LonLat{Lon: -117.25, Lat: 46.5}
	nan := math.NaN()
	epoch := func(q geo.Quality, speed, heading, off float64) receiver.Epoch {
		return receiver.Epoch{Fix: geo.Fix{Time: geo.InstantOf(noon), At: at, Speed: speed, Heading: geo.Bearing(heading), Quality: q}, Error: off, Arrived: noon}
	}
	tests := []struct {
		name  string
		lines []string
		want  []receiver.Epoch
	}{
		{"bare", []string{tpv(0, place)}, []receiver.Epoch{epoch(geo.QualityUnknown, nan, nan, nan)}},
		{"all", []string{tpv(0, `,"status":3`+place+`,"speed":2.5,"track":359.5,"eph":0.02,"epx":9,"epy":9`)}, []receiver.Epoch{epoch(geo.Fixed, 2.5, 359.5, 0.02)}},
		{"error by axes", []string{tpv(0, place+`,"epx":3,"epy":4`)}, []receiver.Epoch{epoch(geo.QualityUnknown, nan, nan, 5)}},
		{"in two reports", []string{tpv(0, place+`,"status":4`), tpv(0, place+`,"status":4,"speed":1.5,"track":90`)}, []receiver.Epoch{epoch(geo.Float, 1.5, 90, nan)}},
		{"noise of the ranges", []string{tpv(0, place+`,"eph":11`), strings.Replace(tpv(0, `,"lat":0.3,"lon":0.4`), "TPV", "GST", 1)}, []receiver.Epoch{epoch(geo.QualityUnknown, nan, nan, 0.5)}},
		{"its noise again", []string{strings.Replace(tpv(0, `,"lat":0.3,"lon":0.4`), "TPV", "GST", 1), tpv(0, place+`,"eph":11`), tpv(0, place+`,"eph":11`)}, []receiver.Epoch{epoch(geo.QualityUnknown, nan, nan, 0.5)}},
		{"attitude", []string{tpv(0, place+`,"track":80`), `{"class":"ATT","heading":90.25}` + "\n"}, []receiver.Epoch{epoch(geo.QualityUnknown, nan, 90.25, nan)}},
		{"no fix", []string{strings.Replace(tpv(0, place), `"mode":3`, `"mode":1`, 1)}, nil},
		{"no time", []string{`{"class":"TPV","mode":3` + place + "}\n"}, nil},
		{"off the Earth", []string{tpv(0, `,"lat":91,"lon":0`)}, nil},
		{"no place", []string{tpv(0, "")}, nil},
		{"others", []string{`{"class":"VERSION","release":"3.22"}` + "\n" + `{"class":"SKY","satellites":[]}` + "\n"}, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, _ := reports(tt.lines...)
			require.Equal(t, fmt.Sprintf("%+v", tt.want), fmt.Sprintf("%+v", got))
		})
	}
	for status, want := range []geo.Quality{geo.QualityUnknown, geo.Single, geo.Differential, geo.Fixed, geo.Float, geo.Estimated,
		geo.Estimated, geo.Manual, geo.Simulated, geo.PPS, geo.QualityUnknown} {
		got, _ := reports(tpv(0, fmt.Sprintf(`,"status":%d`, status)+place))
		require.Equal(t, want, got[0].Quality)
	}
}

func TestGPSDRefused(t *testing.T) {
	good := tpv(0, place)
	tests := []struct {
		name, text string
		want       receiver.Counts
	}{
		{"no JSON", "gpsd\n", receiver.Counts{WrongFields: 1}},
		{"cut short, as gpsd does with long ones", `{"class":"SKY","satellites":[{"PRN":1,` + "\n" + good, receiver.Counts{WrongFields: 1, Sentences: 1, Epochs: 1}},
		{"two commas, as gpsd 3.22 writes an attitude", `{"class":"ATT","device":"/dev/pts/1",,"heading":90.000}` + "\n" + good, receiver.Counts{WrongFields: 1, Sentences: 1, Epochs: 1}},
		{"a number in words", strings.Replace(good, "46.5", `"north"`, 1), receiver.Counts{WrongFields: 1, Sentences: 1}},
		{"a wrong time", strings.Replace(good, "2026", "20Z6", 1), receiver.Counts{WrongFields: 1, Sentences: 1}},
		{"endless", strings.Repeat("x", 40<<10) + "\n" + good, receiver.Counts{TooLong: 1, Sentences: 1, Epochs: 1}},
		{"no fix", strings.Replace(good, `"mode":3`, `"mode":1`, 1), receiver.Counts{Sentences: 1, NoFix: 1}},
		{"a line that never ends", good[:30], receiver.Counts{}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, got := reports(tt.text)
			got.Bytes = 0
			require.Equal(t, tt.want, got)
		})
	}
}

// A gpsd that sends one report a moment, or always two, is told with the last.
func TestGPSDToldEarly(t *testing.T) {
	for _, twice := range []bool{false, true} {
		g := receiver.NewGPSD()
		for i := range 60 {
			at := noon.Add(time.Duration(i) * tenth)
			told := 0
			if twice {
				told += len(g.Feed([]byte(tpv(i, place)), at))
			}
			told += len(g.Feed([]byte(tpv(i, place+`,"speed":2,"track":90`)), at))
			if i > 25 {
				require.Equal(t, 1, told, "epoch %d", i)
			} else if due, ok := g.Due(); ok && told == 0 {
				if i > 0 { // the interval is known
					require.Less(t, due.Sub(at), tenth)
				}
				require.Len(t, g.Tick(due), 1)
			}
		}
		require.Zero(t, g.Counts().Late)
	}
}

// A gpsd whose receiver has gone may say the same again and again: it is told
// once, and soon.
func TestGPSDRepeats(t *testing.T) {
	g := receiver.NewGPSD()
	for i := range 100 {
		at := noon.Add(time.Duration(i) * tenth / 2)
		if got := len(g.Feed([]byte(tpv(0, place)), at)); got > 0 {
			require.Less(t, at.Sub(noon), 300*time.Millisecond)
		}
	}
	require.Equal(t, 1, g.Counts().Epochs)
}

// Whatever comes, in whatever pieces: no panic, every epoch within its bounds,
// and the pieces make no difference.
func FuzzGPSD(f *testing.F) {
	f.Add(tpv(0, `,"status":3`+place+`,"speed":2.5,"track":359.5,"eph":0.02`)+tpv(1, place), uint64(1))
	f.Add(`{"class":"ATT","heading":-1}`+"\n"+`{"class":"GST","time":"2026-05-04T12:00:00Z","lat":1e308,"lon":1e308}`+"\n"+tpv(0, place), uint64(2))
	f.Add(tpv(0, `,"lat":-90,"lon":180,"speed":-1,"track":720,"eph":-1`), uint64(3))
	f.Fuzz(func(t *testing.T, text string, seed uint64) {
		whole, counts := reports(text)
		r := rand.New(rand.NewPCG(seed, 0))
		g := receiver.NewGPSD()
		var pieces []receiver.Epoch
		for rest := text; rest != ""; {
			n := min(len(rest), 1+r.IntN(30))
			pieces = append(pieces, g.Feed([]byte(rest[:n]), noon)...)
			rest = rest[n:]
		}
		pieces = append(pieces, g.Break()...)
		require.Equal(t, fmt.Sprint(whole), fmt.Sprint(pieces))
		require.LessOrEqual(t, len(whole), counts.Sentences)
		for _, e := range whole {
			checkEpoch(t, e)
		}
	})
}
