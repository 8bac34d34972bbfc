package format_test

import (
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"runtime"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/format"
	"lapwing/geo/gnsslog"
	"lapwing/geo/source"
)

// A pipe gives the same bytes over and over, so many in all, and can be read
// once.
type pipe struct {
	again string
	left  int64
	read  int64
}

func (p *pipe) Read(to []byte) (int, error) {
	if p.left == 0 {
		return 0, io.EOF
	}
	at := int(p.read % int64(len(p.again)))
	n := copy(to, p.again[at:])
	n = int(min(int64(n), p.left))
	p.read, p.left = p.read+int64(n), p.left-int64(n)
	return n, nil
}

// What is no log and no boundary is refused by its first 64 KiB.
func TestKindIsToldFromTheBeginning(t *testing.T) {
	const much = 3 << 30
	for name, text := range map[string]string{"zeros": "\x00", "blanks": " \n"} {
		p := &pipe{again: text, left: much}
		_, err := everything.Log(format.Input{Name: "f", From: p}, gnsslog.Options{})
		require.Error(t, err, name)
		assert.LessOrEqual(t, p.read, int64(64<<10), name)
		p = &pipe{again: text, left: much}
		_, err = everything.Boundary(format.Input{Name: "f", From: p})
		require.Error(t, err, name)
		assert.LessOrEqual(t, p.read, int64(64<<10), name)
	}
	p := &pipe{again: "\x00", left: much}
	_, err := everything.Look(source.Files{Stdin: p}, source.Standard, "f", gnsslog.Options{})
	require.EqualError(t, err, "f: binary data, want a log, a boundary or a task set")
	assert.LessOrEqual(t, p.read, int64(64<<10))
	z := &pipe{again: "\x00", left: much}
	var packed bytes.Buffer
	pack := gzip.NewWriter(&packed)
	_, err = io.CopyN(pack, z, 4<<20)
	require.NoError(t, errors.Join(err, pack.Close()))
	_, err = read("f", packed.Bytes(), gnsslog.Options{})
	require.ErrorContains(t, err, "f: binary data")
}

// A log that comes from a pipe takes room for its fixes and for some pieces of
// its text, however long it is.
func TestLogsAreReadAsTheyCome(t *testing.T) {
	begin := map[string]string{
		"CSV":       "time,lat,lon\n2025-09-24T06:00:00Z,54.1,-1.2\n",
		"NMEA 0183": "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\n",
		"GPX 1.1":   "<gpx><trk><trkseg><trkpt lat='54.1' lon='-1.2'/>",
	}
	noFix := map[string]string{"CSV": "2025-09-24T06:00:00Z,,\n", "NMEA 0183": "# nothing came from the receiver\n", "GPX 1.1": "<desc>nothing</desc>\n"}
	for kind := range begin {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		in := io.MultiReader(strings.NewReader(begin[kind]), &pipe{again: noFix[kind], left: 48 << 20 / int64(len(noFix[kind])) * int64(len(noFix[kind]))})
		if kind == "GPX 1.1" {
			in = io.MultiReader(strings.NewReader(begin[kind]), &pipe{again: noFix[kind], left: 4 << 20 / int64(len(noFix[kind])) * int64(len(noFix[kind]))}, strings.NewReader("</trkseg></trk></gpx>"))
		}
		log, err := everything.Log(format.Input{Name: "f", From: in}, gnsslog.Options{})
		require.NoError(t, err, kind)
		runtime.ReadMemStats(&after)
		assert.Equal(t, kind, log.Format)
		assert.Len(t, log.Fixes, 1)
		if kind != "GPX 1.1" { // whose decoder makes strings of all it sees
			assert.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(16<<20), kind)
		}
	}
}

// What only a second look can tell is told of a pipe too: the order of dates,
// and that a column of times is empty.
func TestPipesAreReadTwice(t *testing.T) {
	early := strings.Repeat("4/5/2026 06:00:00,54.1,-1.2\n", 30_000) // more than a piece
	for name, c := range map[string]struct {
		text, first string
	}{
		"month first": {"time,lat,lon\n" + early + "4/13/2026 06:00:00,54.1,-1.2\n", "2026-04-05"},
		"day first":   {"time,lat,lon\n" + early + "13/5/2026 06:00:00,54.1,-1.2\n", "2026-05-04"},
	} {
		log, err := everything.Log(format.Input{Name: "f", From: io.MultiReader(strings.NewReader(c.text))}, gnsslog.Options{})
		require.NoError(t, err, name)
		assert.Equal(t, c.first, log.Fixes[0].Time.Time().Format("2006-01-02"), name)
		packed, err := read("f", packed(c.text), gnsslog.Options{})
		require.NoError(t, err, name)
		assert.Equal(t, log.Lines, packed.Lines, name)
		assert.Equal(t, log.Fixes[0].Time, packed.Fixes[0].Time, name)
	}
	text := "time,lat,lon\n" + strings.Repeat(",54.1,-1.2\n", 60_000)
	log, err := everything.Log(format.Input{Name: "f", From: io.MultiReader(strings.NewReader(text))}, gnsslog.Options{})
	require.NoError(t, err)
	assert.True(t, log.NoClock)
	assert.Len(t, log.Fixes, 60_000)
}

// However its text is written, a log longer than its beginning is the same.
func TestTextsAsTheyCome(t *testing.T) {
	plain := "time,lat,lon\n" + strings.Repeat("2025-09-24T06:00:00Z,54.1,-1.2\n", 20_000)
	little, big := []byte("\xff\xfe"), []byte("\xfe\xff")
	for _, c := range []byte(plain) {
		little, big = append(little, c, 0), append(big, 0, c)
	}
	for name, text := range map[string]string{
		"plain": plain, "byte-order mark": "\ufeff" + plain, "CRLF": strings.ReplaceAll(plain, "\n", "\r\n"),
		"CR": strings.ReplaceAll(plain, "\n", "\r"), "UTF-16": string(little), "UTF-16 of the other order": string(big),
	} {
		log, err := everything.Log(format.Input{Name: "f", From: io.MultiReader(strings.NewReader(text))}, gnsslog.Options{})
		require.NoError(t, err, name)
		require.Len(t, log.Fixes, 20_000, name)
		assert.EqualValues(t, 20_001, log.Lines[len(log.Lines)-1], name)
		assert.Empty(t, log.Notes, name)
	}
}

// A boundary may come from a pipe too, which is looked at as a log before.
func TestLookAtPipes(t *testing.T) {
	const kml = "<kml><Placemark><Polygon><outerBoundaryIs><LinearRing><coordinates>10,54 10.01,54 10,54.01 10,54</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></kml>"
	long := strings.Repeat(" ", 1<<20)
	for kind, text := range map[string]string{"GeoJSON": oneRing + long, "KML": kml + long} {
		files := source.Files{FS: fstest.MapFS{}, Stdin: io.MultiReader(strings.NewReader(text))}
		found, err := everything.Look(files, source.Standard, "f", gnsslog.Options{})
		require.NoError(t, err, kind)
		require.NotNil(t, found.Boundary, kind)
		assert.Equal(t, kind, found.Boundary.Format)
	}
}
