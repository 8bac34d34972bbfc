package format_test

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/format"
	"lapwing/geo/geopackage/geopackagetest"
	"lapwing/geo/gnsslog"
)

// pointsOf is a drill's morning, in a layer beside an empty one.
func pointsOf(t testing.TB) *geopackagetest.Package {
	p := geopackagetest.New(t)
	p.Layer("marks", "POINT", 4326, "")
	p.Layer("drilling", "POINT", 4326, `, "time" DATETIME, "Speed(km/h)" REAL, implement_status INTEGER, note TEXT, lat REAL`)
	for i := range 3 {
		p.Exec(`INSERT INTO drilling (geom, "time", "Speed(km/h)", implement_status, note, lat) VALUES (?, ?, ?, ?, ?, 99)`,
			geopackagetest.Point(-2.4, 51.7+float64(i)*1e-5), fmt.Sprintf("2026-10-03T08:00:0%d.000Z", i), 9.0, i%2, "wet, \"heavy\"\nsoil")
	}
	return p
}

func TestGeoPackage(t *testing.T) {
	p := pointsOf(t)
	p.Exec(`INSERT INTO drilling ("time") VALUES ('2026-10-03T08:00:09Z')`)
	log, err := read("day.gpkg", p.Bytes(), gnsslog.Options{Keep: func(string) bool { return true }})
	require.NoError(t, err)
	assert.Equal(t, "GeoPackage", log.Format)
	require.Len(t, log.Fixes, 3)
	assert.Equal(t, geo.LonLat{Lon: -2.4, Lat: 51.70002}, log.Fixes[2].At, "the geometry, not the attribute lat")
	assert.Equal(t, "2026-10-03T08:00:02Z", log.Fixes[2].Time.Time().Format(time.RFC3339))
	assert.InDelta(t, 2.5, log.Fixes[0].Speed, 1e-12)
	assert.Equal(t, []int32{1, 2, 3}, log.Lines, "the numbers of features")
	assert.Zero(t, log.Zoneless)
	assert.False(t, log.NoClock)
	values := map[string]string{}
	for _, c := range log.Columns {
		values[c.Name] = c.Distinct[c.Codes[1]]
	}
	assert.Equal(t, "1", values["implement_status"])
	assert.Equal(t, `wet, "heavy" soil`, values["note"])
	require.Len(t, log.Notes, 1, "a feature without a place is counted")
	assert.Equal(t, 1, log.Notes[0].Count)
	assert.Equal(t, 4, log.Notes[0].Line)
}

func TestGeoPackageErrors(t *testing.T) {
	undefined := geopackagetest.New(t)
	undefined.Layer("drilling", "POINT", 0, "")
	undefined.Exec("INSERT INTO drilling (geom) VALUES (?)", geopackagetest.Point(1, 2))
	two := pointsOf(t)
	two.Exec("INSERT INTO marks (geom) VALUES (?)", geopackagetest.Point(-2.4, 51.7))
	polygons := geopackagetest.New(t)
	polygons.Layer("fields", "POLYGON", 4326, "")
	polygons.Exec("INSERT INTO fields (geom) VALUES (NULL)")
	mixed := geopackagetest.New(t)
	mixed.Layer("things", "GEOMETRY", 4326, "")
	mixed.Exec("INSERT INTO things (geom) VALUES (?)", geopackagetest.Polygon([]float64{0, 0, 1, 0, 1, 1, 0, 0}))
	for want, file := range map[string]*geopackagetest.Package{
		`day.gpkg: layer drilling: coordinate system NONE:0 ("Undefined geographic SRS"), want one that is known by number or has a definition`: undefined,
		`day.gpkg: several layers of points: "marks" and "drilling", want one`:                                                                  two,
		`day.gpkg: no layer of points (layer "fields" left out: POLYGON, want points), want a log with fixes`:                                   polygons,
		`day.gpkg: layer things, feature 1: a Polygon, want a Point`:                                                                            mixed,
		`day.gpkg: no layer of points, want a log with fixes`:                                                                                   geopackagetest.New(t),
	} {
		_, err := read("day.gpkg", file.Bytes(), gnsslog.Options{})
		assert.EqualError(t, err, want)
	}
}

// A CSV log and what GDAL's ogr2ogr makes a GeoPackage of it give the same fixes.
func TestGeoPackageAgainstOGR(t *testing.T) {
	tool, err := exec.LookPath("ogr2ogr")
	if err != nil {
		t.Skip("ogr2ogr of GDAL is not on this machine")
	}
	text := "x,y,time,working\n"
	for i := range 200 {
		text += fmt.Sprintf("%.7f,%.7f,2026-10-03T08:%02d:%02dZ,%d\n", -2.4+float64(i)*1.37e-5, 51.7, i/60, i%60, i/50%2)
	}
	dir := t.TempDir()
	in, out := filepath.Join(dir, "day.csv"), filepath.Join(dir, "day.gpkg")
	require.NoError(t, os.WriteFile(in, []byte(text), 0o644))
	made, err := exec.Command(tool, "-a_srs", "EPSG:4326", "-oo", "X_POSSIBLE_NAMES=x", "-oo", "Y_POSSIBLE_NAMES=y", "-oo", "KEEP_GEOM_COLUMNS=NO",
		"-oo", "AUTODETECT_TYPE=YES", out, in).CombinedOutput()
	require.NoError(t, err, string(made))
	file, err := os.Open(out)
	require.NoError(t, err)
	defer file.Close()
	keep := gnsslog.Options{Keep: func(name string) bool { return name == "working" }}
	got, err := everything.Log(format.Input{Name: out, From: file}, keep)
	require.NoError(t, err)
	want, err := read(in, bytes.Replace([]byte(text), []byte("x,y"), []byte("lon,lat"), 1), keep)
	require.NoError(t, err)
	require.Len(t, got.Fixes, len(want.Fixes))
	for i := range want.Fixes {
		assert.Equal(t, want.Fixes[i].At, got.Fixes[i].At)
		assert.Equal(t, want.Fixes[i].Time, got.Fixes[i].Time)
		assert.Equal(t, want.Columns[0].Distinct[want.Columns[0].Codes[i]], got.Columns[0].Distinct[got.Columns[0].Codes[i]])
	}
}
