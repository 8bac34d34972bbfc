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

// summed is a sentence with its checksum and its line's end.
func summed(body string) string {
	var sum byte
	for i := range len(body) {
		sum ^= body[i]
	}
	return fmt.Sprintf("$%s*%02X\r\n", body, sum)
}

// sentence is one of a drive to the east at 10 m/s: its n-th epoch, at a time.
func sentence(address string, at time.Time, n int) string {
	clock, date := at.Format("150405.000"), at.Format("020106")
	west := 5000000 - n*137
	if address[:2] == "GL" { // a second receiver, 3 m beside the first
		west += 23456
	}
	place := fmt.Sprintf("4642.1234567,N,11712.%07d,W", west)
	speed, course := fmt.Sprintf("%.3f", 4+float64(n%7)/8), fmt.Sprintf("%.2f", 88+float64(n%5)/4)
	switch kind := address[2:]; kind {
	case "GGA":
		return summed(address + "," + clock + "," + place + ",4,12,0.6,100.0,M,0.0,M,1.0,0001")
	case "RMC":
		return summed(address + "," + clock + ",A," + place + "," + speed + "," + course + "," + date + ",,,R")
	case "GNS":
		return summed(address + "," + clock + "," + place + ",RRN,12,0.6,100.0,0.0,1.0,0001")
	case "VTG":
		return summed(address + "," + course + ",T,,M," + speed + ",N,,K,R")
	case "HDT":
		return summed(address + fmt.Sprintf(",%.2f,T", 91+float64(n%3)/4))
	case "GST":
		return summed(address + "," + clock + ",0.5,0.02,0.01,45.0,0.012,0.016,0.03")
	case "ZDA":
		return summed(address + "," + at.Format("150405.000,02,01,2006") + ",00,00")
	default: // GSA, GSV: of a usual length, and of no use here
		return summed(address + ",3,1,11,03,03,111,00,04,15,270,00,06,01,010,00,13,06,292,00,17,21,202,30")
	}
}

// A cycle of sentences, such as "GNGGA GNRMC GNZDA/10": ZDA in every tenth
// epoch only.
func drive(cycle string, from time.Time, step time.Duration, epochs int) []byte {
	var log strings.Builder
	for n := range epochs {
		for _, address := range strings.Fields(cycle) {
			address, every, sometimes := strings.Cut(address, "/")
			var k int
			fmt.Sscan(every, &k)
			if !sometimes || n%k == k-1 {
				log.WriteString(sentence(address, from.Add(time.Duration(n)*step), n))
			}
		}
	}
	return []byte(log.String())
}

var (
	noon  = time.Date(2026, 5, 4, 12, 0, 0, 0, time.UTC)
	tenth = 100 * time.Millisecond
)

// Law: what receivers of many habits send gives the fixes of the reader of
// whole files, however the bytes come.
func TestSameEpochsOfManyCycles(t *testing.T) {
	midnight := time.Date(2024, 2, 28, 23, 59, 55, 0, time.UTC)
	tests := []struct {
		name  string
		cycle string
		from  time.Time
		hz    int
	}{
		{"one a second", "GPGGA GPGSA GPRMC GPVTG", noon, 1},
		{"five a second", "GNRMC GNVTG GNGGA GNGSA", noon, 5},
		{"ten a second", "GNGGA GNRMC", noon, 10},
		{"twenty a second", "GNGGA GNVTG GNZDA", noon, 20},
		{"date last", "GNGGA GNVTG GNGST GNZDA", noon, 10},
		{"date first", "GNZDA GNGGA GNVTG", noon, 10},
		{"date once a second", "GNGGA GNVTG GNZDA/10", noon, 10},
		{"date after a time", "GNGGA GNVTG GNZDA/40", noon, 10},
		{"RMC alone", "GPRMC", noon, 5},
		{"RMC once a second", "GPGGA GPVTG GPRMC/10", noon, 10},
		{"two talkers", "GPGGA GPRMC GLGGA GLRMC", noon, 5},
		{"two talkers, one mute", "GPGGA GPRMC GLGGA/3 GLVTG", noon, 5},
		{"over midnight", "GNGGA GNRMC", midnight, 10},
		{"over midnight, date once a second", "GNGGA GNVTG GNZDA/10", midnight, 10},
		{"over midnight, date once a minute", "GNGGA GNVTG GNZDA/60", midnight, 5},
	}
	for _, tt := range tests {
		step := time.Second / time.Duration(tt.hz)
		data := drive(tt.cycle, tt.from, step, 130)
		want := batch(t, data)
		require.Len(t, want, 130)
		for _, p := range paces {
			t.Run(tt.name+"/"+p.name, func(t *testing.T) {
				if p.lag > 0 {
					p.lag = step
				}
				got, counts := epochs(data, p, tt.from)
				requireSame(t, want, got)
				require.Zero(t, counts.Late)
				require.Zero(t, counts.Refused())
			})
		}
	}
}

// Fixes 0.5 s apart over the leap second at the end of 2016: the second 60 has
// the instants of the second after it, as in the reader of whole files.
func TestLeapSecond(t *testing.T) {
	var log strings.Builder
	for i, at := range []string{"235959.500,311216", "235960.000,311216", "235960.500,311216", "000000.000,010117", "000000.500,010117"} {
		clock, date, _ := strings.Cut(at, ",")
		place := fmt.Sprintf("4642.0,N,11712.%04d,W", i)
		log.WriteString(summed("GPGGA," + clock + "," + place + ",4,12,0.6,100.0,M,0.0,M,,"))
		log.WriteString(summed("GPRMC," + clock + ",A," + place + ",1.0,90.0," + date + ",,,R"))
	}
	want := batch(t, []byte(log.String()))
	require.Len(t, want, 5)
	leap := time.Date(2017, 1, 1, 0, 0, 0, 0, time.UTC)
	for i, at := range []time.Duration{-500, 0, 500, 0, 500} {
		require.Equal(t, geo.InstantOf(leap.Add(at*time.Millisecond)), want[i].Time)
	}
	for _, p := range paces {
		got, _ := epochs([]byte(log.String()), p, leap)
		requireSame(t, want, got)
	}
}

// Sentences of two receivers on one line, mixed at random, give what the
// reader of whole files makes of them.
func TestMixedTalkers(t *testing.T) {
	for seed := range uint64(200) {
		r := rand.New(rand.NewPCG(seed, 0))
		step := 100 * time.Millisecond
		a := strings.SplitAfter(string(drive("GPGGA GPRMC GPVTG", noon, step, 40)), "\n")
		b := strings.SplitAfter(string(drive("GLGGA GLVTG", noon.Add(time.Duration(r.IntN(3))*20*time.Millisecond), step, 40)), "\n")
		var log strings.Builder
		for len(a)+len(b) > 0 {
			if from := &a; len(*from) > 0 && (len(b) == 0 || r.IntN(len(a)+len(b)) < len(a)) {
				log.WriteString((*from)[0])
				*from = (*from)[1:]
			} else {
				log.WriteString(b[0])
				b = b[1:]
			}
		}
		got, _ := epochs([]byte(log.String()), paces[seed%3], noon)
		requireSame(t, batch(t, []byte(log.String())), got)
	}
}

// Law: a log cut at any byte gives what the reader of whole files makes of the
// cut file, and goes on as if it began there.
func TestCutAtEveryByte(t *testing.T) {
	data := drive("GNGGA GNRMC GNVTG", noon, 100*time.Millisecond, 3)
	whole := batch(t, data)
	for cut := range len(data) {
		n := receiver.NewNMEA()
		unset := time.Unix(0, 0) // by which the reader of files counts where a date is missing
		got := append([]receiver.Epoch(nil), n.Feed(data[:cut], unset)...)
		got = append(got, n.Break()...)
		if len(got) > 0 {
			requireSame(t, batch(t, data[:cut]), got)
		}
		require.LessOrEqual(t, n.Counts().Refused(), 1)
		requireSame(t, whole[:2], n.Feed(data, noon)[:2])
	}
}

// A byte that changes on its way spoils its sentence and no other, and no
// epoch comes out that was not sent.
func TestOneWrongByte(t *testing.T) {
	data := drive("GNGGA GNRMC GNVTG", noon, 100*time.Millisecond, 4)
	sent := map[string]bool{}
	all, _ := epochs(data, paces[0], noon)
	for _, e := range all {
		sent[fmt.Sprint(e.Time, e.At)] = true
	}
	for at := range data {
		for bit := range 8 {
			wrong := append([]byte(nil), data...)
			wrong[at] ^= 1 << bit
			got, counts := epochs(wrong, paces[0], noon)
			for _, e := range got {
				require.True(t, sent[fmt.Sprint(e.Time, e.At)], "byte %d, bit %d: %v was never sent", at, bit, e)
			}
			require.Len(t, got, 4, "byte %d, bit %d: each moment has a second sentence with its position", at, bit)
			require.GreaterOrEqual(t, counts.Sentences, 3*4-2)
			require.LessOrEqual(t, counts.Refused(), 2)
		}
	}
}

func TestRefused(t *testing.T) {
	good := sentence("GPGGA", noon, 0)
	tests := []struct {
		name, text string
		want       receiver.Counts
	}{
		{"wrong checksum", strings.Replace(good, ",12,", ",13,", 1), receiver.Counts{WrongChecksum: 1}},
		{"no hexadecimal", good[:len(good)-4] + "GG\r\n", receiver.Counts{WrongChecksum: 1}},
		{"no checksum", good[:len(good)-5] + "\r\n", receiver.Counts{CutShort: 1}},
		{"half, and a whole one", good[:30] + good, receiver.Counts{CutShort: 1, Sentences: 1}},
		{"half, a line's end, and a whole one", good[:30] + "\r\n" + good, receiver.Counts{CutShort: 1, Sentences: 1}},
		{"the second half", good[30:] + good, receiver.Counts{Sentences: 1}},
		{"binary before", "\xb5\x62\x01\x07\x00\x01$\x80\x00" + good, receiver.Counts{CutShort: 1, Sentences: 1}},
		{"a comment", "# today\r\n" + good, receiver.Counts{Sentences: 1}},
		{"a tag block", `\s:r3669961,c:1120959341*51\` + good, receiver.Counts{Sentences: 1}},
		{"endless", "$" + strings.Repeat("A", 1000) + good, receiver.Counts{TooLong: 1, Sentences: 1}},
		{"no line's end", strings.TrimSpace(good), receiver.Counts{Sentences: 1}},
		{"small digits", strings.ToLower(good[len(good)-4:]), receiver.Counts{}},
		{"time", summed("GPGGA,2460,4642.0,N,11712.0,W,4,12,0.6,100.0,M,0.0,M,,"), receiver.Counts{Sentences: 1, WrongFields: 1}},
		{"hour", summed("GPGGA,240000,4642.0,N,11712.0,W,4,12,0.6,100.0,M,0.0,M,,"), receiver.Counts{Sentences: 1, WrongFields: 1}},
		{"minutes", summed("GPGGA,120000,4662.0,N,11712.0,W,4,12,0.6,100.0,M,0.0,M,,"), receiver.Counts{Sentences: 1, WrongFields: 1}},
		{"north of the pole", summed("GPGGA,120000,9001.0,N,11712.0,W,4,12,0.6,100.0,M,0.0,M,,"), receiver.Counts{Sentences: 1, WrongFields: 1}},
		{"side", summed("GPGGA,120000,4642.0,X,11712.0,W,4,12,0.6,100.0,M,0.0,M,,"), receiver.Counts{Sentences: 1, WrongFields: 1}},
		{"quality", summed("GPGGA,120000,4642.0,N,11712.0,W,9,12,0.6,100.0,M,0.0,M,,"), receiver.Counts{Sentences: 1, WrongFields: 1}},
		{"few fields", summed("GPRMC,120000,A,4642.0,N"), receiver.Counts{Sentences: 1, WrongFields: 1}},
		{"no such day", summed("GPZDA,120000,31,02,2026,00,00"), receiver.Counts{Sentences: 1, WrongFields: 1}},
		{"no fix", summed("GPGGA,120000,,,,,0,00,99.9,,M,,M,,"), receiver.Counts{Sentences: 1, NoFix: 1}},
		{"void", summed("GPRMC,120000,V,,,,,,,040526,,,N"), receiver.Counts{Sentences: 1, NoFix: 1}},
		{"no time yet", summed("GPRMC,,V,,,,,,,,,,N"), receiver.Counts{Sentences: 1, NoFix: 1}},
		{"no system has a fix", summed("GNGNS,120000,,,,,NN,00,99.9,,,,"), receiver.Counts{Sentences: 1, NoFix: 1}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			n := receiver.NewNMEA()
			n.Feed([]byte(tt.text), noon)
			n.Break()
			got := n.Counts()
			require.Equal(t, int64(len(tt.text)), got.Bytes)
			got.Bytes, got.Epochs = 0, 0
			require.Equal(t, tt.want, got)
		})
	}
}

// one feeds sentences that make one epoch.
func one(t *testing.T, sentences ...string) receiver.Epoch {
	t.Helper()
	n := receiver.NewNMEA()
	n.Feed([]byte(strings.Join(sentences, "")), noon)
	got := n.Break()
	require.Len(t, got, 1)
	return got[0]
}

// What each sentence adds to an epoch.
func TestParts(t *testing.T) {
	gga, rmc, gns := sentence("GPGGA", noon, 0), sentence("GPRMC", noon, 100), sentence("GNGNS", noon, 200)
	vtg, hdt, gst := sentence("GPVTG", noon, 3), sentence("GPHDT", noon, 1), sentence("GPGST", noon, 0)
	within := func(n int, at geo.LonLat, why ...any) {
		t.Helper()
		require.InDelta(t, -(117 + (12.5-float64(n)*137e-7)/60), at.Lon, 1e-12, why...)
		require.InDelta(t, 46+42.1234567/60, at.Lat, 1e-12, why...)
	}

	e := one(t, gga)
	within(0, e.At)
	require.Equal(t, geo.Fixed, e.Quality)
	require.True(t, math.IsNaN(e.Speed) && !e.Heading.Known() && math.IsNaN(e.Error))

	e = one(t, rmc)
	within(100, e.At)
	require.Equal(t, geo.QualityUnknown, e.Quality)
	require.Equal(t, geo.InstantOf(noon), e.Time)
	require.InDelta(t, 4.25*1852/3600, e.Speed, 1e-12)
	require.Equal(t, geo.Bearing(88.0), e.Heading)

	e = one(t, rmc, gns)
	within(200, e.At)
	require.Equal(t, geo.Fixed, e.Quality, "the best of R, R and N")
	within(200, one(t, gns, rmc).At)
	within(0, one(t, gns, gga, rmc).At)
	within(0, one(t, gga, rmc, gns).At)
	within(100, one(t, rmc, sentence("GLRMC", noon, 7)).At, "of two sentences of one type the first counts")

	e = one(t, gga, vtg, hdt, gst)
	require.InDelta(t, 4.375*1852/3600, e.Speed, 1e-12)
	require.Equal(t, geo.Bearing(91.25), e.Heading, "a true heading goes before the course")
	require.InDelta(t, 0.02, e.Error, 1e-12, "0.012 and 0.016 m at right angles")
	require.Equal(t, geo.Bearing(88.0), one(t, hdt, rmc).Heading, "a heading before the first epoch belongs to none")
	require.InDelta(t, math.Hypot(0.02, 0.01), one(t, gga, summed("GPGST,120000.000,0.5,0.02,0.01,45.0,,,")).Error, 1e-12)
	require.True(t, math.IsNaN(one(t, gga, sentence("GPGST", noon.Add(time.Second), 0)).Error), "of another moment")
	require.InDelta(t, 0.02, one(t, gst, gga).Error, 1e-12)

	simulated := summed("GPGGA,120000,4642.0,N,11712.0,W,8,12,0.6,100.0,M,0.0,M,,")
	void := summed("GPRMC,120000,V,4642.0,N,11712.0,W,1.0,90.0,040526,,,S")
	require.Equal(t, geo.Simulated, one(t, simulated, void).Quality, "a simulator's RMC is void")
}

// GGA alone: the clock gives the date, the one that is nearest to it.
func TestNoDate(t *testing.T) {
	tests := []struct{ clock, now, want string }{
		{"120000", "2026-05-04T12:00:01Z", "2026-05-04T12:00:00Z"},
		{"235959", "2026-05-05T00:00:01Z", "2026-05-04T23:59:59Z"},
		{"000001", "2026-05-04T23:59:58Z", "2026-05-05T00:00:01Z"},
	}
	for _, tt := range tests {
		now, err := time.Parse(time.RFC3339, tt.now)
		require.NoError(t, err)
		n := receiver.NewNMEA()
		require.Empty(t, n.Feed([]byte(summed("GPGGA,"+tt.clock+",4642.0,N,11712.0,W,4,12,0.6,100.0,M,0.0,M,,")), now))
		due, ok := n.Due()
		require.True(t, ok)
		require.Empty(t, n.Tick(due), "held: a sentence may yet give the date")
		due, ok = n.Due()
		require.True(t, ok)
		require.Less(t, due.Sub(now), 3*time.Second)
		require.Empty(t, n.Tick(due.Add(-1)))
		got := n.Tick(due)
		require.Len(t, got, 1)
		require.Equal(t, tt.want, got[0].Time.Time().Format(time.RFC3339))
		_, ok = n.Due()
		require.False(t, ok)
	}
}

// Epochs before the first date get theirs from it, in order.
func TestDateComesLate(t *testing.T) {
	n := receiver.NewNMEA()
	wrong := noon.AddDate(-3, 0, 0) // the clock was never set
	log := drive("GPGGA GPRMC/10", noon, 100*time.Millisecond, 12)
	got := append([]receiver.Epoch(nil), n.Feed(log, wrong)...)
	got = append(got, n.Break()...)
	require.Len(t, got, 12)
	for i, e := range got {
		require.Equal(t, noon.Add(time.Duration(i)*100*time.Millisecond), e.Time.Time())
	}
}

// A receiver whose week number began again tells dates 1024 weeks too early:
// from the start, or from one second to the next.
func TestWeekNumberTurns(t *testing.T) {
	turned := func(at time.Time, turns int) string { return sentence("GPRMC", at.AddDate(0, 0, -turns*1024*7), 0) }
	for _, turns := range []int{1, 2} {
		e := func() receiver.Epoch {
			n := receiver.NewNMEA()
			n.Feed([]byte(turned(noon, turns)), noon.Add(300*time.Millisecond))
			return n.Break()[0]
		}()
		require.Equal(t, noon, e.Time.Time(), "%d turns", turns)
	}
	n := receiver.NewNMEA()
	midnight := time.Date(2038, 11, 21, 0, 0, 0, 0, time.UTC) // the week number begins again
	var got []receiver.Epoch
	for i := range 4 {
		at, turns := midnight.Add(time.Duration(i-2)*time.Second), 0
		if i >= 2 {
			turns = 1
		}
		got = append(got, n.Feed([]byte(turned(at, turns)), noon)...) // by a clock that was never set
	}
	got = append(got, n.Break()...)
	for i, e := range got {
		require.Equal(t, midnight.Add(time.Duration(i-2)*time.Second), e.Time.Time())
	}
	require.Len(t, got, 4)

	// The clock counts local time: its date may be another.
	for _, off := range []time.Duration{-20 * time.Hour, 20 * time.Hour} {
		n = receiver.NewNMEA()
		n.Feed([]byte(turned(noon, 1)), noon.Add(off))
		require.Equal(t, noon, n.Break()[0].Time.Time(), "clock off by %v", off)
	}

	// A clock that is 1024 weeks behind is no reason to doubt the receiver.
	n = receiver.NewNMEA()
	n.Feed([]byte(turned(noon, 0)), noon.AddDate(0, 0, -1024*7))
	require.Equal(t, noon, n.Break()[0].Time.Time())

	// A log of old, played again, keeps its dates.
	n = receiver.NewNMEA()
	old := time.Date(2011, 7, 3, 12, 0, 0, 0, time.UTC)
	n.Feed([]byte(turned(old, 0)), noon)
	require.Equal(t, old, n.Break()[0].Time.Time())
}

// The clock's date does not outlive a night without a signal.
func TestNoDateOverNight(t *testing.T) {
	n := receiver.NewNMEA()
	gga := func(at time.Time) []receiver.Epoch {
		n.Feed([]byte(sentence("GPGGA", at, 0)), at)
		return n.Tick(at.Add(3 * time.Second))
	}
	require.Equal(t, noon, gga(noon)[0].Time.Time())
	later := noon.Add(51 * time.Hour)
	require.Equal(t, later, gga(later)[0].Time.Time())
}

// Once the cycle is known, an epoch is told with its last sentence; until then
// after a short silence.
func TestToldEarly(t *testing.T) {
	for _, cycle := range []string{"GNGGA GNRMC GNVTG", "GNRMC GNGSA GNGSV GNGGA GNGST", "GNGGA", "GNHDT GNGGA GNVTG", "GPRMC GPGGA GLGGA"} {
		for _, hz := range []int{1, 5, 10, 20} {
			step := time.Second / time.Duration(hz)
			n := receiver.NewNMEA()
			n.Feed([]byte(sentence("GNZDA", noon.Add(-step), 0)), noon.Add(-step))
			for i := range 60 {
				at := noon.Add(time.Duration(i) * step)
				var told int
				for _, address := range strings.Fields(cycle) {
					told += len(n.Feed([]byte(sentence(address, at, i)), at))
				}
				if i > 25 {
					require.Equal(t, 1, told, "%s at %d Hz: epoch %d is told with its last sentence", cycle, hz, i)
					continue
				}
				if due, ok := n.Due(); ok && told == 0 {
					require.Less(t, due.Sub(at), step, "%s at %d Hz: epoch %d", cycle, hz, i)
					require.Len(t, n.Tick(due), 1)
				}
			}
			require.Zero(t, n.Counts().Late, "%s at %d Hz", cycle, hz)
		}
	}
}

// Sentences that come once a second, between fixes ten or twenty times as
// often, are never too late for their epoch.
func TestCycleMixedRates(t *testing.T) {
	for _, tt := range []struct {
		cycle string
		hz    int
	}{
		{"GNGGA GNVTG GNHDT/10", 10}, {"GNGGA GNRMC GNGST/20", 20}, {"GNGGA GNVTG/20 GNHDT", 20}, {"GNGGA GNRMC/5 GNVTG/10", 5},
	} {
		step := time.Second / time.Duration(tt.hz)
		got, counts := epochs(drive(tt.cycle, noon, step, 300), pace{"", func(*rand.Rand) int { return 30 }, step}, noon)
		require.Len(t, got, 300)
		require.Zero(t, counts.Late, tt.cycle)
	}
}

// A sentence that joins the cycle later is lost once, not for good.
func TestCycleGrows(t *testing.T) {
	n := receiver.NewNMEA()
	log := drive("GNZDA GNGGA", noon, time.Second, 40)
	log = append(log, drive("GNGGA GNVTG", noon.Add(40*time.Second), time.Second, 100)...)
	got := append([]receiver.Epoch(nil), n.Feed(log, noon)...)
	got = append(got, n.Break()...)
	require.Len(t, got, 140)
	require.Equal(t, 1, n.Counts().Late)
	for i, e := range got {
		require.Equal(t, i <= 40, math.IsNaN(e.Speed), "epoch %d", i)
	}
}

// A heading that came first and now comes last in its cycle goes with its own
// fix all the time.
func TestHeadingMoves(t *testing.T) {
	n := receiver.NewNMEA()
	var got []receiver.Epoch
	for i := range 200 {
		at := noon.Add(time.Duration(i) * tenth)
		hdt, rmc := sentence("GNHDT", at, i), sentence("GNRMC", at, i)
		cycle := hdt + rmc
		if i >= 60 {
			cycle = rmc + hdt
		}
		got = append(got, n.Feed([]byte(cycle), at)...)
		got = append(got, n.Tick(at.Add(60*time.Millisecond))...)
	}
	require.Len(t, got, 200)
	for i, e := range got[2:] {
		require.Equal(t, 91+geo.Bearing((i+2)%3)/4, e.Heading, "epoch %d", i+2)
	}
}

// Of headings that come more often than positions, each fix has the one that
// comes with it.
func TestHeadingFaster(t *testing.T) {
	for _, tt := range []struct {
		times int // as often as positions
		first bool
	}{{2, false}, {2, true}, {10, false}} {
		n := receiver.NewNMEA()
		var got []receiver.Epoch
		for i := range 100 * tt.times {
			at := noon.Add(time.Duration(i) * tenth / 2)
			cycle := summed(fmt.Sprintf("GNHDT,%.2f,T", float64(i%300)))
			if rmc := sentence("GNRMC", at, i); i%tt.times == 0 && tt.first {
				cycle += rmc
			} else if i%tt.times == 0 {
				cycle = rmc + cycle
			}
			got = append(got, n.Tick(at.Add(-time.Millisecond))...)
			got = append(got, n.Feed([]byte(cycle), at)...)
		}
		got = append(got, n.Break()...)
		require.Len(t, got, 100)
		for i, e := range got[3:] {
			require.Equal(t, geo.Bearing((i+3)*tt.times%300), e.Heading, "%+v, epoch %d", tt, i+3)
		}
	}
}

// A sentence that comes every fifth second is late twice, and from then on
// waited for.
func TestCycleLongerThanItSeems(t *testing.T) {
	n := receiver.NewNMEA()
	got := len(n.Feed(drive("GNRMC GNHDT/50", noon, tenth, 3000), noon)) + len(n.Break())
	require.Equal(t, 3000, got)
	require.Equal(t, 2, n.Counts().Late)
}

// A network that holds a piece of an epoch back for longer than the silence
// between epochs does not tear it: what usually comes is waited for.
func TestHiccup(t *testing.T) {
	n := receiver.NewNMEA()
	var got []receiver.Epoch
	for i := range 40 {
		at := noon.Add(time.Duration(i) * tenth)
		gga, rmc := sentence("GNGGA", at, i), sentence("GNRMC", at, i)
		got = append(got, n.Feed([]byte(gga), at)...)
		if i == 10 || i == 30 {
			got = append(got, n.Tick(at.Add(90*time.Millisecond))...)
			at = at.Add(95 * time.Millisecond)
		}
		got = append(got, n.Feed([]byte(rmc), at)...)
		got = append(got, n.Tick(at.Add(60*time.Millisecond))...)
	}
	require.Len(t, got, 40)
	for i, e := range got {
		require.False(t, math.IsNaN(e.Speed), "epoch %d", i)
	}
	require.Zero(t, n.Counts().Late)
}

// Epochs that wait for a date are bounded, too, where a log is fed at once.
func TestManyWithoutDate(t *testing.T) {
	n := receiver.NewNMEA()
	got := n.Feed(drive("GPGGA", noon, tenth, 5000), noon)
	require.GreaterOrEqual(t, len(got), 4096)
	require.Equal(t, noon, got[0].Time.Time())
}

// A heading or speed that comes first in its cycle belongs to the fix after
// it, which silence before it tells.
func TestHeadingFirst(t *testing.T) {
	n := receiver.NewNMEA()
	var got []receiver.Epoch
	for i := range 60 {
		at := noon.Add(time.Duration(i) * 100 * time.Millisecond)
		got = append(got, n.Tick(at.Add(-time.Millisecond))...)
		got = append(got, n.Feed([]byte(sentence("GNHDT", at, i)+sentence("GNVTG", at, i)+sentence("GNRMC", at, i)), at)...)
	}
	for i := 60; i < 80; i++ { // without a silence between them, as from a network that has caught up
		at, late := noon.Add(time.Duration(i)*tenth), noon.Add(80*tenth)
		got = append(got, n.Feed([]byte(sentence("GNHDT", at, i)+sentence("GNVTG", at, i)+sentence("GNRMC", at, i)), late)...)
	}
	got = append(got, n.Break()...)
	require.Len(t, got, 80)
	for i, e := range got[2:] {
		require.Equal(t, 91+geo.Bearing((i+2)%3)/4, e.Heading, "epoch %d", i+2)
	}
	require.Zero(t, n.Counts().Late)
}

// At 4800 baud a cycle fills most of its second; what stands between GGA and
// RMC does not part them.
func TestSlowPort(t *testing.T) {
	n := receiver.NewNMEA()
	const perByte = 10 * time.Second / 4800 // eight bits, a start and a stop
	data := drive("GPGGA GPGSA GPGSV GPGSV GPRMC GPVTG", noon, time.Second, 30)
	want := batch(t, data)
	var got []receiver.Epoch
	at, moment := noon, ""
	for _, line := range strings.SplitAfter(string(data), "\n") {
		if m := momentOf([]byte(line)); m != "" && m != moment {
			moment = m
			for begin := at.Truncate(time.Second).Add(time.Second); at.Before(begin); at = at.Add(time.Millisecond) {
				got = append(got, n.Tick(at)...)
			}
		}
		for i := range len(line) {
			got = append(got, n.Feed([]byte(line[i:i+1]), at)...)
			at = at.Add(perByte)
		}
	}
	got = append(got, n.Break()...)
	requireSame(t, want, got)
	require.Zero(t, n.Counts().Late)
}

// Steady work leaves nothing to the garbage collector.
func TestNoAllocation(t *testing.T) {
	n := receiver.NewNMEA()
	log := drive("GNGGA GNRMC GNVTG GNHDT GNGST GNZDA GNGSV", noon, 100*time.Millisecond, 50)
	n.Feed(log, noon)
	require.Zero(t, testing.AllocsPerRun(10, func() { n.Feed(log, noon) }))
}

func TestHeard(t *testing.T) {
	n := receiver.NewNMEA()
	n.Feed(drive("GNGGA GPGSV GLGSV/2", noon, time.Second, 4), noon)
	require.Equal(t, []receiver.Heard{{Address: "GNGGA", Count: 4}, {Address: "GPGSV", Count: 4}, {Address: "GLGSV", Count: 2}}, n.Heard())
	require.Equal(t, time.Second, n.Interval())
}

// checkEpoch holds the bounds of every epoch.
func checkEpoch(t *testing.T, e receiver.Epoch) {
	t.Helper()
	orNaN := func(v, least, below float64) bool { return math.IsNaN(v) || v >= least && v < below }
	if math.Abs(e.At.Lat) > 90 || math.Abs(e.At.Lon) > 180 || !orNaN(float64(e.Heading), 0, 360) || !orNaN(e.Speed, 0, math.Inf(1)) ||
		!orNaN(e.Error, 0, math.Inf(1)) || e.Quality > geo.Simulated || !e.At.Valid() {
		t.Errorf("%+v is out of bounds", e)
	}
	if year := e.Time.Time().Year(); year < 1970 || year > 2262 {
		t.Errorf("%+v is in the year %d", e, year)
	}
}

// Whatever comes, in whatever pieces: no panic, every epoch within its bounds,
// no more epochs than sentences, and the pieces make no difference.
func FuzzFeed(f *testing.F) {
	f.Add(string(drive("GNGGA GNRMC GNVTG GNZDA", noon, time.Second, 3)), uint64(1))
	f.Add(string(drive("GNHDT GNGNS GNGST", noon, time.Second, 3)), uint64(2))
	f.Add(summed("GPZDA,143308.00,09,12,2009,00,00")+summed("GPRMC,235960.999,A,4642.0,S,18000.0,E,,999,311299,,,"), uint64(3))
	f.Add("$GPGGA,$GPVTG,*\r\n$*00$"+summed("GPGGA,,,,,,0,,,,,,,,"), uint64(4))
	f.Add(summed("GPRMC,1200"+"00,A,4642.0,N,11712.0,W,-1e9,-0.0000000001,010180,,,"), uint64(5))
	f.Fuzz(func(t *testing.T, text string, seed uint64) {
		for _, body := range strings.FieldsFunc(text, func(r rune) bool { return r == '$' || r == '*' }) {
			text += summed(body) // so that what the fuzzer makes gets past the checksum
		}
		whole, counts := epochs([]byte(text), paces[0], noon)
		r := rand.New(rand.NewPCG(seed, 0))
		pieces, _ := epochs([]byte(text), pace{"", func(*rand.Rand) int { return 1 + r.IntN(20) }, 0}, noon)
		require.Equal(t, fmt.Sprint(whole), fmt.Sprint(pieces))
		require.LessOrEqual(t, len(whole), counts.Sentences)
		for _, e := range whole {
			checkEpoch(t, e)
		}
	})
}
