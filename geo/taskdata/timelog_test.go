package taskdata

import (
	"encoding/hex"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"lapwing/geo"
)

func bytesOf(t testing.TB, text string) []byte {
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	require.NoError(t, err)
	return b
}

func decodeText(t testing.TB, header, records string) (*Log, []geo.Note) {
	h, err := readHeader("TLG00001.XML", []byte(header))
	require.NoError(t, err)
	log, notes, err := decode("TLG00001.BIN", bytesOf(t, records), h)
	require.NoError(t, err)
	return log, append(h.notes, notes...)
}

// The records stand for 14:30:15.250 on 2024-05-31 at 46.7 N 117.2 W, put
// together by hand from the layout (source: "ISO 11783-10 time log layout as
// coded in open readers"). 46.7 is to be met exactly: multiplying by 1e-7
// gives 46.699999999999996.
func TestRecordBytes(t *testing.T) {
	at := time.Date(2024, 5, 31, 14, 30, 15, 250e6, time.UTC)

	t.Run("north and east", func(t *testing.T) {
		log, notes := decodeText(t, headerText("008D DET1"),
			"d2 bd 1c 03 5e 3f c0 da d5 1b 00 b3 24 ba 01 00 01 00 00 00")
		assert.Empty(t, notes)
		require.Len(t, log.Fixes, 1)
		assert.Equal(t, geo.LonLat{Lon: -117.2, Lat: 46.7}, log.Fixes[0].At)
		assert.Equal(t, at, log.Fixes[0].Time.Time())
		assert.Equal(t, geo.QualityUnknown, log.Fixes[0].Quality)
		assert.True(t, math.IsNaN(log.Fixes[0].Speed) && !log.Fixes[0].Heading.Known())
		assert.True(t, log.Zoneless)
		assert.Nil(t, log.UTC)
		raw, ok := log.Values[0].At(0)
		assert.True(t, ok)
		assert.Equal(t, int32(1), raw)
	})
	t.Run("whole position", func(t *testing.T) {
		log, notes := decodeText(t, `<TIM A="" D="4"><PTN A="" B="" C="" D="" E="" F="" G="" H="" I=""/>`+
			`<DLV A="008D" B="" C="DET1"/><DLV A="0043" B="" C="DET1"/></TIM>`,
			"d2 bd 1c 03 5e 3f c0 da d5 1b 00 b3 24 ba e0 e6 0b 00 04 0c 00 08 00 12 d2 bd 1c 03 5e 3f 02 00 01 00 00 00 01 4b 40 00 00")
		assert.Empty(t, notes)
		require.Len(t, log.Fixes, 1)
		assert.Equal(t, geo.LonLat{Lon: -117.2, Lat: 46.7}, log.Fixes[0].At)
		assert.Equal(t, geo.Fixed, log.Fixes[0].Quality)
		assert.Equal(t, at, log.UTC[0].Time())
		assert.False(t, log.Zoneless)
		raw, _ := log.Values[1].At(0)
		assert.Equal(t, int32(16459), raw) // 54 ft is 16,459.2 mm
	})
}

// Days since 1980-01-01, by the calendar.
func TestDays(t *testing.T) {
	for days, want := range map[uint16]string{0: "1980-01-01", 7305: "2000-01-01", 16222: "2024-05-31", 16223: "2024-06-01",
		16541: "2025-04-15", 16911: "2026-04-20"} {
		at, ok := instant(0, days)
		assert.True(t, ok)
		assert.Equal(t, want, at.Time().Format(time.DateOnly))
	}
	at, ok := instant(0, 65535) // all ones: not available
	assert.False(t, ok)
	assert.Equal(t, "2159-06-06", at.Time().Format(time.DateOnly))
}

// Statuses up to 8 are those of GGA (source: "ISO 11783-10 time log layout as
// coded in open readers"); 14 and 15 are from memory.
func TestStatus(t *testing.T) {
	for status, want := range map[int]geo.Quality{-1: geo.QualityUnknown, 0: geo.NoFix, 1: geo.Single, 2: geo.Differential, 3: geo.PPS,
		4: geo.Fixed, 5: geo.Float, 6: geo.Estimated, 7: geo.Manual, 8: geo.Simulated, 9: geo.QualityUnknown, 14: geo.NoFix, 15: geo.QualityUnknown} {
		assert.Equal(t, want, qualityOf(status), "status %d", status)
	}
}

// Source: "ISO 11783-11 data dictionary export" for two bits a section; that
// the first section has the lowest bits is from memory.
func TestCondensed(t *testing.T) {
	letters := func(raw int32) string {
		var b strings.Builder
		for _, s := range Condensed(raw) {
			b.WriteByte("-1E."[s])
		}
		return b.String()
	}
	assert.Equal(t, "1111111111111111", letters(1431655765))
	assert.Equal(t, "11111111........", letters(-43691))
	assert.Equal(t, "11-1----........", letters(-65467))
	assert.Equal(t, "----------------", letters(0))
}

// Source: "ISO 11783-11 data dictionary export" for units and resolutions; the
// conversions are arithmetic: 100 lb/ac is 11,208.51 mg/m², 10 gal/ac is
// 9,353.956 mm³/m², 200 L/ha is a raw 2,000,000.
func TestDictionary(t *testing.T) {
	value := func(ddi DDI, raw float64) float64 {
		q, ok := ddi.Meaning()
		require.True(t, ok)
		return raw * q.Resolution
	}
	const (
		lbPerAcre  = 0.45359237e6 / 4046.8564224 // mg/m²
		galPerAcre = 3785411.784 / 4046.8564224  // mm³/m²
		lPerHa     = 100.0                       // mm³/m²
	)
	assert.InDelta(t, 100*lbPerAcre, value(6, 11209), 0.5)
	assert.InDelta(t, 10*galPerAcre, value(1, 935396), 0.005)
	assert.InDelta(t, 200*lPerHa, value(2, 2_000_000), 1e-6)
	assert.InDelta(t, 54*304.8, value(ActualWidth, 16459), 0.5)
	assert.InDelta(t, 7.5, value(12, 7500), 1e-9)
	q, _ := DDI(176).Meaning()
	assert.Equal(t, "actual condensed work state 241-256", q.Name)
	_, ok := DDI(0xEA60).Meaning()
	assert.False(t, ok, "an entry of a maker's own")
}

// A value that a record does not list keeps its last value.
func TestValuesLast(t *testing.T) {
	var b []byte
	for i, values := range [][]value{nil, {{0, 5}}, nil, {{0, 5}, {1, -7}}, {{0, 6}}, nil} {
		b = record{ms: uint32(i) * 1000, days: 16222, north: 517000000, east: -24000000, values: values}.append(b)
	}
	h, err := readHeader("h", []byte(headerText("0043 DET1", "0086 DET1")))
	require.NoError(t, err)
	log, _, err := decode("b", b, h)
	require.NoError(t, err)
	of := func(v int) (out []int32) {
		for i := range log.Fixes {
			raw, ok := log.Values[v].At(i)
			if !ok {
				raw = 99
			}
			out = append(out, raw)
		}
		return out
	}
	assert.Equal(t, []int32{99, 5, 5, 5, 6, 6}, of(0))
	assert.Equal(t, []int32{99, 99, 99, -7, -7, -7}, of(1))
	assert.Equal(t, []int32{1, 4}, log.Values[0].Records, "only changes are kept")
}

// The log's clock and the receiver's are kept apart: here the former is two
// hours ahead, and one record does not know the latter.
func TestTwoClocks(t *testing.T) {
	const header = `<TIM A="" D="4"><PTN A="" B="" H="" I=""/></TIM>`
	row := func(ms uint32, utc uint32, days uint16) []byte {
		b := record{ms: ms, days: 16222, north: 517000000, east: -24000000}.append(nil)
		b = b[:len(b)-1]
		b = append(b, byte(utc), byte(utc>>8), byte(utc>>16), byte(utc>>24), byte(days), byte(days>>8))
		return append(b, 0)
	}
	h, err := readHeader("h", []byte(header))
	require.NoError(t, err)
	const hour = 3_600_000
	whole := append(row(14*hour, 12*hour, 16222), row(14*hour+1000, 12*hour+1000, 16222)...)
	log, notes, err := decode("b", whole, h)
	require.NoError(t, err)
	assert.Empty(t, notes)
	assert.Equal(t, "2024-05-31T12:00:01Z", log.Fixes[1].Time.Time().Format(time.RFC3339))
	assert.Equal(t, "2024-05-31T14:00:01Z", log.Clock[1].Time().Format(time.RFC3339))
	assert.False(t, log.Zoneless)

	log, notes, err = decode("b", append(whole, row(14*hour+2000, math.MaxUint32, math.MaxUint16)...), h)
	require.NoError(t, err)
	assert.Equal(t, "2024-05-31T12:00:02Z", log.Fixes[2].Time.Time().Format(time.RFC3339))
	require.Len(t, notes, 1)
	assert.Equal(t, "record without the receiver's time; all times are by the log's clock, put right by -2h0m0s", notes[0].Text)
}

// What is written is read: any choice of attributes, any values.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var header strings.Builder
		header.WriteString(`<TIM A="" D="4"><PTN A="" B=""`)
		extra := 0
		for part := up; part < positionParts; part++ {
			if rapid.Bool().Draw(t, "has") {
				header.WriteString(" " + string(rune('A'+part)) + `=""`)
				extra += positionSize[part]
			}
		}
		header.WriteString("/>")
		ddis := rapid.SliceOfN(rapid.Uint16(), 0, 20).Draw(t, "ddis")
		for _, d := range ddis {
			header.WriteString(`<DLV A="` + hex.EncodeToString([]byte{byte(d >> 8), byte(d)}) + `" B="" C="DET1"/>`)
		}
		header.WriteString("</TIM>")

		type state struct {
			raw   int32
			known bool
		}
		now := make([]state, len(ddis))
		var want [][]state
		var b []byte
		n := rapid.IntRange(1, 30).Draw(t, "records")
		for i := range n {
			r := record{ms: uint32(i) * 100, days: 16541, north: rapid.Int32Range(-9e8, 9e8).Draw(t, "north"), east: rapid.Int32Range(-18e8, 18e8).Draw(t, "east")}
			head := r.append(nil)
			head = append(head[:len(head)-1], make([]byte, extra)...)
			var values []value
			for k := range ddis {
				if rapid.Bool().Draw(t, "listed") {
					now[k] = state{rapid.Int32().Draw(t, "raw"), true}
					values = append(values, value{uint8(k), now[k].raw})
				}
			}
			want = append(want, append([]state(nil), now...))
			b = append(b, appendValues(head, values)...)
		}
		h, err := readHeader("h", []byte(header.String()))
		if err != nil {
			t.Fatal(err)
		}
		log, _, err := decode("b", b, h)
		if err != nil {
			t.Fatal(err)
		}
		if len(log.Fixes) != n {
			t.Fatalf("%d records, want %d", len(log.Fixes), n)
		}
		for i := range want {
			for k, w := range want[i] {
				if raw, ok := log.Values[k].At(i); ok != w.known || ok && raw != w.raw {
					t.Fatalf("record %d, value %d: %d %v, want %v", i, k, raw, ok, w)
				}
			}
		}
	})
}

func BenchmarkDecode(b *testing.B) {
	const records, values = 500_000, 20
	header := make([]string, values)
	for i := range header {
		header[i] = "0043 DET1"
	}
	var data []byte
	for i := range records {
		r := record{ms: uint32(i) * 100, days: 16541, north: 517000000 + int32(i), east: -24000000}
		for v := range values {
			r.values = append(r.values, value{uint8(v), int32(i / 50)})
		}
		data = r.append(data)
	}
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		h, err := readHeader("h", []byte(headerText(header...)))
		require.NoError(b, err)
		log, _, err := decode("b", data, h)
		if err != nil || len(log.Fixes) != records {
			b.Fatal(err)
		}
	}
}
