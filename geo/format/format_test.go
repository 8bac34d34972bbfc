package format_test

import (
	"bytes"
	"compress/gzip"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/format"
	"lapwing/geo/format/gpkg"
	"lapwing/geo/gnsslog"
	"lapwing/geo/source"
)

// everything is the table of a program with a database.
var everything = append(format.Plain(), gpkg.Format)

func read(name string, data []byte, opt gnsslog.Options) (*gnsslog.Log, error) {
	return everything.Log(format.Input{Name: name, From: bytes.NewReader(data)}, opt)
}

func requireNote(t *testing.T, log *gnsslog.Log, text string) {
	t.Helper()
	var texts []string
	for _, note := range log.Notes {
		texts = append(texts, note.Text)
	}
	require.Contains(t, strings.Join(texts, "\n"), text)
}

func packed(text string) []byte {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	z.Write([]byte(text))
	z.Close()
	return b.Bytes()
}

const (
	oneFix  = "time,lat,lon\n2025-09-24T06:00:00Z,54.1,-1.2\n"
	oneRing = `{"type":"Polygon","coordinates":[[[10,54],[10.01,54],[10,54.01],[10,54]]]}`
)

// A file is told by what is in it, whatever it is called.
func TestLogsAreToldByContent(t *testing.T) {
	for want, text := range map[string]string{
		"CSV":       "[number],lat,lon\n1,54.1,-1.2\n", // no list of JSON
		"GPX 1.1":   "\n <gpx><trk><trkseg><trkpt lat='54.1' lon='-1.2'/></trkseg></trk></gpx>",
		"GeoJSON":   `{"type":"LineString","coordinates":[[-1.2,54.1],[-1.3,54.2]]}`,
		"NMEA 0183": "garbage\n$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\n",
	} {
		for _, data := range [][]byte{[]byte(text), packed(text)} {
			log, err := read("day.bin", data, gnsslog.Options{})
			require.NoError(t, err, want)
			assert.Equal(t, want, log.Format)
		}
	}
}

func TestBoundariesAreToldByContent(t *testing.T) {
	for want, text := range map[string]string{
		"GeoJSON": oneRing,
		"WKT":     "\n polygon((10 54,10.01 54,10 54.01,10 54))",
		"KML":     "\ufeff<kml><Placemark><Polygon><outerBoundaryIs><LinearRing><coordinates>10,54 10.01,54 10,54.01 10,54</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></kml>",
	} {
		for _, data := range [][]byte{[]byte(text), packed(text)} {
			file, err := everything.Boundary(format.Input{Name: "field.bin", From: bytes.NewReader(data)})
			require.NoError(t, err, want)
			assert.Equal(t, want, file.Format)
		}
	}
}

// What no reader takes is told what would do, and why it was not taken in a
// value that a program can ask for.
func TestRefusals(t *testing.T) {
	const logs = "want a log as CSV, GPX, NMEA 0183, GeoJSON, a shapefile or a GeoPackage"
	for _, c := range []struct {
		name, text, want string
		reason           error
	}{
		{"empty", " \n", "f: the file is empty, " + logs, geo.ErrFormat},
		{"binary", "\x7fELF\x00\x01", "f: binary data, " + logs, geo.ErrFormat},
		{"a wrong sentence amid binary records", "\xb5b\x01\x00\n$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*48\n", "f: binary data, " + logs, geo.ErrFormat},
		{"other XML", "<kml/>", `f:1: XML whose outer element is "kml", ` + logs, geo.ErrFormat},
		{"zip", "PK\x03\x04...", "f: a damaged zip archive, " + logs, geo.ErrNothing},
		{"polygons", string(shapes(5)), "f: a shapefile of type 5, want points: 1, 11 or 21", geo.ErrNothing},
		{"a list", "[1, 2]", "f:1: an array, want an object", nil},
		{"cut gzip", "\x1f\x8b\x08\x00\x00\x00\x00\x00\x00\xff\xca", "f: damaged gzip data", nil},
	} {
		_, err := read("f", []byte(c.text), gnsslog.Options{})
		require.EqualError(t, err, c.want, c.name)
		var wrong *geo.SyntaxError
		require.ErrorAs(t, err, &wrong)
		assert.Equal(t, c.reason, wrong.Reason, c.name)
	}
	for _, c := range []struct {
		name, text, want string
		reason           error
	}{
		{"empty", "\ufeff \n", "f: an empty file, want a field boundary", geo.ErrFormat},
		{"words", "hello", "f: a kind of file not known, want GeoJSON, KML, KMZ, well-known text, a shapefile or a GeoPackage", geo.ErrFormat},
		{"UTF-16", "\xff\xfe{\x00", "f: UTF-16 text, want UTF-8", geo.ErrFormat},
		{"point", `{"type":"Point","coordinates":[10,54]}`, "f:1: no polygon (Point left out: only polygons bound a field), want one at least", geo.ErrNothing},
	} {
		_, err := everything.Boundary(format.Input{Name: "f", From: strings.NewReader(c.text)})
		require.EqualError(t, err, c.want, c.name)
		assert.ErrorIs(t, err, c.reason, c.name)
	}
}

// A program without the database reads all else, and says of the rest that it
// does not.
func TestWithoutDatabase(t *testing.T) {
	p := pointsOf(t)
	_, err := format.Plain().Log(format.Input{Name: "day.gpkg", From: bytes.NewReader(p.Bytes())}, gnsslog.Options{})
	require.EqualError(t, err, "day.gpkg: binary data, want a log as CSV, GPX, NMEA 0183, GeoJSON or a shapefile")
	_, err = format.Plain().Boundary(format.Input{Name: "day.gpkg", From: bytes.NewReader(p.Bytes())})
	require.EqualError(t, err, "day.gpkg: a kind of file not known, want GeoJSON, KML, KMZ, well-known text or a shapefile")
}

// No more is read, or unpacked, than a file may hold.
func TestLimits(t *testing.T) {
	log := func(data []byte, most int64) error {
		_, err := everything.Log(format.Input{Name: "f", From: bytes.NewReader(data), Most: most}, gnsslog.Options{})
		return err
	}
	require.NoError(t, log([]byte(oneFix), int64(len(oneFix))))
	require.EqualError(t, log([]byte(oneFix), 10), "f: more than 10 bytes, want a log of fixes")
	bomb := packed("lat,lon\n" + strings.Repeat("54.1,-1.2"+strings.Repeat(" ", 512<<10)+"\n", 200))
	require.Less(t, len(bomb), 1<<20)
	require.EqualError(t, log(bomb, 0), "f: more than 64 MiB, want a log of fixes")
	_, err := everything.Boundary(format.Input{Name: "f", From: strings.NewReader(oneRing), Most: 10})
	require.EqualError(t, err, "f: more than 10 bytes, want a field boundary")
}

// A file is looked at as a set, a log and a boundary; the error is that of the
// reader that came nearest.
func TestLook(t *testing.T) {
	files := source.Files{FS: fstest.MapFS{
		"day.csv":          {Data: []byte(oneFix)},
		"field":            {Data: []byte(oneRing)},
		"set/taskdata.xml": {Data: []byte(`<ISO11783_TaskData VersionMajor="4"/>`)},
		"words":            {Data: []byte("barley\n")},
		"none":             {Data: []byte("\x00\x01")},
		"open.geojson":     {Data: []byte(`{"type":"Polygon","coordinates":[[[10,54]]]}`)},
		"field.shp":        {Data: shapes(5)},
		"folder/words":     {Data: []byte("barley\n")},
	}}
	for path, is := range map[string]func(format.Found) bool{
		"day.csv": func(f format.Found) bool { return f.Log != nil },
		"./field": func(f format.Found) bool { return f.Boundary != nil },
		"set":     func(f format.Found) bool { return f.Set != nil },
	} {
		found, err := everything.Look(files, path, path, gnsslog.Options{})
		require.NoError(t, err, path)
		assert.True(t, is(found), path)
	}
	for path, want := range map[string]string{
		"words":        `words:1: header: found columns "barley", want a header with columns lat and lon`,
		"none":         "none: binary data, want a log, a boundary or a task set",
		"open.geojson": "open.geojson:1: no polygon (polygon without area left out (fewer than 3 distinct points)), want one at least",
		"field.shp":    "field.shp: no polygon (no .prj file: coordinates taken as longitude and latitude on WGS 84), want one at least",
		"elsewhere":    "no such file",
		"folder":       "a directory",
	} {
		_, err := everything.Look(files, path, path, gnsslog.Options{})
		assert.EqualError(t, err, want)
	}
}

// Each row says what it is for.
func TestRows(t *testing.T) {
	for _, f := range everything {
		assert.NotEmpty(t, f.Name)
		assert.NotEmpty(t, f.Noun, f.Name)
		assert.NotEmpty(t, f.Endings, f.Name)
		assert.True(t, f.HoldsFixes() || f.HoldsBoundaries(), f.Name)
	}
}
