package inspect

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/job"
	"lapwing/geo"
	"lapwing/geo/format"
	"lapwing/geo/format/gpkg"
	"lapwing/geo/gnsslog"
	"lapwing/geo/source/sourcetest"
)

// disk are the files of this computer, and what "-" means.
func disk(stdin io.Reader) job.Inputs {
	return job.Inputs{Files: sourcetest.Disk(stdin), Formats: append(format.Plain(), gpkg.Format)}
}

// csv writes a log with a header and one fix a row, a second apart.
func csv(header string, rows ...string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "time,lat,lon%s\n", header)
	for i, row := range rows {
		fmt.Fprintf(&b, "2026-03-02T09:00:%02dZ,%.6f,10.001%s\n", i, 54.001+float64(i)*1e-5, row)
	}
	return b.String()
}

// folder writes files into a folder.
func folder(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
	return dir
}

func TestInspectLog(t *testing.T) {
	log := `time,lat,lon,speed_mps,working,sections,machine,moisture,seed rate (lb/ac)
2026-03-02T09:00:00Z,54.001,10.001,2,1,0011,red drill,12,90
2026-03-02T09:00:01Z,54.002,10.002,2,1,0011,red drill,12,90
2026-03-02T09:00:02Z,54.003,10.001,2,0,0011,blue drill,12,90
2026-03-02T09:00:12Z,54.003,10.001,2,1,0011,blue drill,12,90
2026-03-02T09:00:13Z,54.003,10.001,2,1,0011,blue drill,12,90
2026-03-02T09:00:53Z,54.003,10.001,2,1,0011,blue drill,12,90
`
	got, err := File(disk(strings.NewReader(log)), "-", nil)
	require.NoError(t, err)
	nine := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	assert.Equal(t, "standard input", got.File)
	assert.Equal(t, "CSV", got.Format)
	assert.Equal(t, geo.Extent{West: 10.001, East: 10.002, South: 54.001, North: 54.003}, got.Extent)
	assert.Empty(t, got.Boundaries)
	require.NotNil(t, got.Log)
	assert.Equal(t, 6, got.Log.Fixes)
	assert.Equal(t, nine, got.Log.From)
	assert.Equal(t, nine.Add(53*time.Second), got.Log.To)
	assert.Equal(t, time.Second, got.Log.Interval)
	assert.Equal(t, []Silence{
		{From: nine.Add(13 * time.Second), Duration: 40 * time.Second, Line: 7},
		{From: nine.Add(2 * time.Second), Duration: 10 * time.Second, Line: 5},
	}, got.Log.Silences)
	assert.Equal(t, []string{"blue drill", "red drill"}, got.Log.Machines)
	assert.Equal(t, 4, got.Log.Sections)
	assert.Equal(t, 5, got.Log.Working)
	assert.Contains(t, got.Log.Columns, gnsslog.Meaning{Column: "working", As: "whether the machine works"})
	assert.Contains(t, got.Log.Columns, gnsslog.Meaning{Column: "moisture"})
	assert.Contains(t, got.Log.Columns, gnsslog.Meaning{Column: "seed rate (lb/ac)", As: "what was put down of seed, in lb/ac"})
	assert.Contains(t, got.Log.Columns, gnsslog.Meaning{Column: "speed_mps", As: "speed in m/s"})
}

func TestInspectDoubtfulLog(t *testing.T) {
	got, err := File(disk(strings.NewReader(csv(",status", ",1", ",raised"))), "-", nil)
	require.NoError(t, err)
	assert.Equal(t, -1, got.Log.Working)
	require.Len(t, got.Warnings, 1)
	assert.Equal(t, 3, got.Warnings[0].Line)
	assert.Equal(t, `column "status": found "raised", want 1 or 0, true or false, on or off, yes or no`, got.Warnings[0].Text)
}

func TestInspectBoundary(t *testing.T) {
	// 0.01 degrees each way from longitude -117.20, latitude 46.70, with a hole
	// of 0.002: 816,113.391 m² with edges straight in longitude and latitude,
	// computed with GeographicLib 2.1.2.
	dir := folder(t, map[string]string{"outer.geojson": `{"type":"Feature","properties":{"name":"Outer"},"geometry":{"type":"Polygon","coordinates":[
[[-117.20,46.70],[-117.19,46.70],[-117.19,46.71],[-117.20,46.71],[-117.20,46.70]],
[[-117.198,46.702],[-117.198,46.704],[-117.196,46.704],[-117.196,46.702],[-117.198,46.702]]]}}`})
	got, err := File(disk(nil), filepath.Join(dir, "outer.geojson"), nil)
	require.NoError(t, err)
	assert.Equal(t, "GeoJSON", got.Format)
	assert.Nil(t, got.Log)
	require.Len(t, got.Boundaries, 1)
	b := got.Boundaries[0]
	assert.Equal(t, "Outer", b.Name)
	assert.Equal(t, [2]int{1, 1}, [2]int{b.Parts, b.Holes})
	// A corner is off by 0.07 mm at most on the grid; times the 4.3 km of edge.
	assert.InDelta(t, 816113.391, b.Area, 0.3)
	// Twice 0.01 and twice 0.002 degrees each way at 111,165 m and 76,481 m a
	// degree, computed; the parallels differ by 1 in 5000 over the field.
	assert.InDelta(t, 2*0.012*(111164.988+76480.659), b.Perimeter, 1)
	assert.InDelta(t, -117.20, got.Extent.West, 1e-9)
	assert.InDelta(t, 46.71, got.Extent.North, 1e-9)
}

// A file that is neither is told what it looks most like.
func TestInspectRefuses(t *testing.T) {
	polygons := append([]byte("\x00\x00\x27\x0a"), make([]byte, 96)...)
	polygons[32] = 5
	polygons[42], polygons[43] = 0x70, 0x40 // a west edge at 256, which is no degree
	for name, c := range map[string]struct{ text, found, want string }{
		"words.txt":    {"barley\nand rape\n", `found columns "barley"`, "a header with columns lat and lon"},
		"open.geojson": {`{"type":"Polygon","coordinates":[[[10,54]]]}`, "", ""},
		"ring.wkt":     {"POLYGON((10 54))", "", ""},
		"sizes.csv":    {"id,polygon\n1,2\n", `found columns "id", "polygon"`, "a header with columns lat and lon"},
		"other.xml":    {"<run><a>POLYGON((0 0,1 0,1 1,0 0))</a></run>", `XML whose outer element is "run"`, "a log, a boundary or a task set"},
		"empty.csv":    {"", "the file is empty", "a log, a boundary or a task set"},
		"point.kml":    {"<kml><Placemark><Point/></Placemark></kml>", "no polygon (Point left out: only polygons bound a field)", "one at least"},
		"metres.shp":   {string(polygons), "no .prj file, and coordinates that are no degrees", "the .prj file that belongs to it, or longitude and latitude on WGS 84"},
	} {
		dir := folder(t, map[string]string{name: c.text})
		_, err := File(disk(nil), filepath.Join(dir, name), nil)
		var wrong *job.InputError
		require.ErrorAs(t, err, &wrong, name)
		assert.Equal(t, filepath.Join(dir, name), wrong.File)
		if c.found != "" {
			assert.Equal(t, [2]string{c.found, c.want}, [2]string{wrong.Found, wrong.Want}, name)
		}
	}
	_, err := File(disk(nil), filepath.Join(t.TempDir(), "none.csv"), nil)
	assert.ErrorContains(t, err, "no such file, want a log or a boundary")
}
