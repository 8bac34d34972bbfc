package taskdata

import (
	"encoding/binary"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
)

const (
	second = 1000 // ms
	hour   = 3600 * second
)

// reckoned decodes records that a header tells of.
func reckoned(t *testing.T, header string, records []byte) (*Log, []geo.Note) {
	t.Helper()
	h, err := readHeader("h", []byte(header))
	require.NoError(t, err)
	log, notes, err := decode("b", records, h)
	require.NoError(t, err)
	return log, append(h.notes, notes...)
}

func clockTimes(log *Log) (out []string) {
	for _, f := range log.Fixes {
		out = append(out, f.Time.Time().UTC().Format("02T15:04:05.000"))
	}
	return out
}

// twoClocks is a record by the log's clock and the receiver's, both on 2024-05-31, or
// none where the receiver's day is 0.
func twoClocks(clock, utc uint32, utcDay uint16) []byte {
	b := record{ms: clock, days: 16222, north: 517000000, east: -24000000}.append(nil)
	b = binary.LittleEndian.AppendUint32(b[:len(b)-1], utc)
	return append(binary.LittleEndian.AppendUint16(b, utcDay), 0)
}

// The last second of a day may be its 61st (2016 ended with one): from then on it is
// no time of day. Day 13514 is 2016-12-31: 7305 is 2000-01-01, and 17 years with five
// leap days come after it.
func TestLastSecondOfADay(t *testing.T) {
	for ms, want := range map[uint32]string{0: "2016-12-31T00:00:00.000", 86_399_999: "2016-12-31T23:59:59.999",
		86_400_000: "2017-01-01T00:00:00.000", 86_400_999: "2017-01-01T00:00:00.999", 86_401_000: "", 4_294_967_295: ""} {
		at, ok := instant(ms, 13514)
		assert.Equal(t, want != "", ok, ms)
		if ok {
			assert.Equal(t, want, at.Time().UTC().Format("2006-01-02T15:04:05.000"))
		}
	}
}

// A record without a time is at the time of the record before it.
func TestRecordWithoutTime(t *testing.T) {
	var b []byte
	for _, ms := range []uint32{10 * hour, 10*hour + 1*second, math.MaxUint32, 10*hour + 3*second, math.MaxUint32} {
		b = record{ms: ms, days: 16222, north: 517000000}.append(b)
	}
	log, notes := reckoned(t, headerText(), b)
	assert.Equal(t, []string{"31T10:00:00.000", "31T10:00:01.000", "31T10:00:01.000", "31T10:00:03.000", "31T10:00:03.000"}, clockTimes(log))
	require.Len(t, notes, 1)
	assert.Equal(t, 2, notes[0].Count)
}

// The log's clock is put right by the middle of its differences from the receiver's:
// here two hours and one second, of differences of 2 h, 2 h 0 min 1 s and 2 h 5 min. A
// receiver that gives day 0, or no time of day, does not know the time.
func TestClockPutRight(t *testing.T) {
	const header = `<TIM A="" D="4"><PTN A="" B="" H="" I=""/></TIM>`
	var b []byte
	b = append(b, twoClocks(14*hour, 5*second, 0)...)
	b = append(b, twoClocks(14*hour+301*second, 12*hour+1*second, 16222)...)
	b = append(b, twoClocks(14*hour+302*second, 12*hour+302*second, 16222)...)
	b = append(b, twoClocks(14*hour+303*second, 12*hour+302*second, 16222)...)
	b = append(b, twoClocks(14*hour+304*second, math.MaxUint32, 16222)...)
	log, notes := reckoned(t, header, b)
	assert.Equal(t, []string{"31T11:59:59.000", "31T12:05:00.000", "31T12:05:01.000", "31T12:05:02.000", "31T12:05:03.000"}, clockTimes(log))
	assert.False(t, log.Zoneless)
	require.Len(t, notes, 1)
	assert.Equal(t, 2, notes[0].Count)
	assert.Contains(t, notes[0].Text, "put right by -2h0m1s")

	log, _ = reckoned(t, header, append(twoClocks(14*hour, 0, 0), twoClocks(14*hour+second, 0, 0)...))
	assert.Equal(t, []string{"31T14:00:00.000", "31T14:00:01.000"}, clockTimes(log))
	assert.True(t, log.Zoneless, "no receiver ever knew the time")
	assert.Nil(t, log.UTC)
}

// Without a clock of its own a log has the receiver's time where all records have it,
// and none where one lacks it.
func TestReceiversTimeAlone(t *testing.T) {
	const header = `<TIM A="2024-05-31T14:00:00" D="4"><PTN A="" B="" H="" I=""/></TIM>`
	bare := func(utc uint32, day uint16) []byte { return twoClocks(0, utc, day)[clockSize:] }
	log, notes := reckoned(t, header, append(bare(12*hour, 16222), bare(12*hour+second, 16222)...))
	assert.Equal(t, []string{"31T12:00:00.000", "31T12:00:01.000"}, clockTimes(log))
	assert.False(t, log.NoClock || log.Zoneless)
	assert.Equal(t, "records without a time by the log's clock (TIM A)", notes[0].Text)

	log, _ = reckoned(t, header, append(bare(12*hour, 16222), bare(0, 0)...))
	assert.True(t, log.NoClock)
	assert.False(t, log.Zoneless)

	// Half of a receiver's time is none.
	for _, half := range []string{`H=""`, `I=""`} {
		size := map[string]int{`H=""`: 4, `I=""`: 2}[half]
		row := append(bare(12*hour, 16222)[:8+size:8+size], 0)
		log, _ = reckoned(t, `<TIM D="4"><PTN A="" B="" `+half+`/></TIM>`, append(row, row...))
		require.Len(t, log.Fixes, 2, half)
		assert.Nil(t, log.UTC)
	}
}

// What a header gives as a value is the same in all records: here all are fixed, work
// and 6 m wide, and no record says so.
func TestConstantsOfTheHeader(t *testing.T) {
	header := `<TIM A="" D="4"><PTN A="" B="" D="4"/><DLV A="008D" B="1" C="DET2"/><DLV A="0043" B="6000" C="DET2"/><DLV A="0086" B="x" C="DET2"/></TIM>`
	set := newSheaf(t).set(barleyField, drill, oneTask).log("TLG00001", header, rows(nil, nil, nil)).read()
	track := set.Tracks(&set.Tasks[0], nil)[0]
	assert.Equal(t, []bool{true, true, true}, track.Working)
	assert.Equal(t, []int32{6000}, track.Widths.Raw)
	for _, f := range track.Fixes {
		assert.Equal(t, geo.Fixed, f.Quality)
	}
	assert.Equal(t, -1.0, track.Bar.X)
	assert.Equal(t, []string{`value "x" is no whole number of 32 bits; left out`}, noteTexts(set))

	_, err := readHeader("h", []byte(`<TIM A="" D="4"><PTN A="" B="" D="best"/></TIM>`))
	assert.EqualError(t, err, `h:1: PTN: D="best", want a status from 0 to 15`)
	h, err := readHeader("h", []byte(`<TIM A="" D="4"><PTN A="" B="" C="5"/><PTN A="" B="" D="4"/></TIM>`))
	require.NoError(t, err)
	assert.Equal(t, 6+4+4, h.size, "of two positions the first counts, and a constant takes no room")
	assert.Equal(t, -1, h.status)
}

// Statuses that there are not are counted, and the first of them is named.
func TestStatusesThatAreNone(t *testing.T) {
	var b []byte
	statuses := []byte{4, 8, 14, 15, 0, 13, 9, 1}
	for _, status := range statuses {
		b = record{days: 16222, north: 517000000}.append(b)
		b = append(b[:len(b)-1], status, 0)
	}
	log, notes := reckoned(t, `<TIM A="" D="4"><PTN A="" B="" D=""/></TIM>`, b)
	require.Len(t, log.Fixes, 8)
	var got []geo.Quality
	for _, f := range log.Fixes {
		got = append(got, f.Quality)
	}
	assert.Equal(t, []geo.Quality{geo.Fixed, geo.Simulated, geo.NoFix, geo.QualityUnknown, geo.NoFix, geo.QualityUnknown, geo.QualityUnknown, geo.Single}, got)
	require.Len(t, notes, 1)
	assert.Equal(t, geo.Note{File: "b", Count: 2, Text: "position status 13, want 0 to 8, 14 or 15; taken as unknown"}, notes[0])
}

// Values past those of the header are counted, the first named, and do not shift the
// others of their record.
func TestValuesPastTheHeader(t *testing.T) {
	log, notes := reckoned(t, headerText("0043 DET1", "0086 DET1"), rows([]value{{0, 10}, {2, 20}, {1, 30}}, []value{{9, 40}, {0, 50}}))
	require.Len(t, notes, 1)
	assert.Equal(t, geo.Note{File: "b", Count: 2, Text: "value 2, which the header does not have; left out"}, notes[0])
	assert.Equal(t, []int32{10, 50}, log.Values[0].Raw)
	assert.Equal(t, []int32{30}, log.Values[1].Raw)
}

// A record tells 256 values apart, as its index is a byte.
func TestMostValues(t *testing.T) {
	for n, want := range map[int][]string{256: nil, 257: {"257 values; a record can tell only 256 apart"}} {
		values := make([]string, n)
		for i := range values {
			values[i] = fmt.Sprintf("0043 DET%d", i)
		}
		log, notes := reckoned(t, headerText(values...), rows([]value{{255, 7}}))
		var texts []string
		for _, note := range notes {
			texts = append(texts, note.Text)
		}
		assert.Equal(t, want, texts)
		assert.Len(t, log.Values, 256)
		assert.Equal(t, []int32{7}, log.Values[255].Raw)
	}
}

// A clock without a zone is put into the zone given to the nanosecond; the receiver's
// time needs none.
func TestZoneOfReceiver(t *testing.T) {
	zone := time.FixedZone("UTC-6", -6*3600)
	const header = `<TIM A="" D="4"><PTN A="" B="" H="" I=""/></TIM>`
	set := newSheaf(t).set(oneTask).log("TLG00001", header, twoClocks(6*hour+250, 12*hour+250, 16222)).read()
	assert.Equal(t, "2024-05-31T12:00:00.25Z", set.Tracks(&set.Tasks[0], zone)[0].Fixes[0].Time.Time().UTC().Format(time.RFC3339Nano))

	set = newSheaf(t).set(oneTask).log("TLG00001", headerText(), record{ms: 6*hour + 250, days: 16222, north: 517000000}.append(nil)).read()
	for in, want := range map[*time.Location]string{zone: "12:00:00.25", time.UTC: "06:00:00.25"} {
		got := set.Tracks(&set.Tasks[0], in)[0].Fixes[0].Time.Time().UTC().Format(time.RFC3339Nano)
		assert.True(t, strings.HasSuffix(got, "T"+want+"Z"), got)
	}
}
