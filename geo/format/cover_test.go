package format_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/format"
	"lapwing/geo/geopackage/geopackagetest"
	"lapwing/geo/gnsslog"
	"lapwing/geo/source"
)

// What a sprayer wrote of the ground it covered is a log, as it is and as GDAL's
// ogr2ogr makes a GeoPackage and GeoJSON of it; a map of parcels is none.
func TestCoverPolygons(t *testing.T) {
	at := outside(t, "n-topdress-2016-middle-polygons", "applied-polygons.zip")
	keep := gnsslog.Options{Keep: func(name string) bool { return name == "vrappratev" }}
	look := func(path string) format.Found {
		found, err := everything.Look(source.Files{FS: os.DirFS(filepath.Dir(path))}, filepath.Base(path), filepath.Base(path), keep)
		require.NoError(t, err)
		return found
	}
	found := look(at)
	require.NotNil(t, found.Log)
	log := found.Log
	require.Len(t, log.Fixes, 5802)
	require.Len(t, log.Cover, 5802)
	assert.Len(t, log.Cover[2], 4, "of five corners the last is the first")
	assert.Equal(t, "2016-04-21T11:45:28Z", log.Fixes[2].Time.Time().Format(time.RFC3339))
	assert.Equal(t, "14.423489999999999", log.Columns[0].Distinct[log.Columns[0].Codes[2]])
	requireNote(t, log, "a datum without a name taken as WGS 84")
	assert.Equal(t, gnsslog.Meaning{Column: "polygon", As: "the ground that was worked"}, log.Understood[0])
	assert.NotNil(t, look(outside(t, "parcels-denmark", "original.zip")).Boundary)

	tool, err := exec.LookPath("ogr2ogr")
	if err != nil {
		t.Skip("ogr2ogr of GDAL is not on this machine")
	}
	for ending, driver := range map[string]string{".gpkg": "GPKG", ".geojson": "GeoJSON"} {
		made := filepath.Join(t.TempDir(), "applied"+ending)
		out, err := exec.Command(tool, "-f", driver, "-a_srs", "EPSG:32612", made, "/vsizip/"+at).CombinedOutput()
		require.NoError(t, err, string(out))
		again := look(made).Log
		require.NotNil(t, again)
		require.Len(t, again.Cover, 5802)
		for i := range log.Cover {
			require.Len(t, again.Cover[i], len(log.Cover[i]))
			require.Less(t, nearest(log.Cover[i][0], again.Cover[i]), 1e-3, "GRS 80 and WGS 84 differ by a tenth of a millimetre")
			require.Equal(t, log.Fixes[i].Time, again.Fixes[i].Time)
		}
	}
}

// Polygons are a log only with times, and where they are the ground of moments.
func TestPolygonsThatAreNoLog(t *testing.T) {
	square := func(lon, side float64) []byte {
		return geopackagetest.Polygon([]float64{lon, 51.7, lon + side, 51.7, lon + side, 51.7 + side, lon, 51.7 + side, lon, 51.7})
	}
	for want, c := range map[string]struct {
		columns string
		side    float64
		values  []string
	}{
		"no layer of points": {", name TEXT", 1e-4, []string{"Curlew Leys", "Long Acre"}},
		"no layer of points (layer \"fields\" left out: POLYGON, want points)": {`, "time" TEXT`, 1e-2, []string{"2026-05-04T06:00:00Z", "2026-05-04T06:00:01Z"}},
	} {
		p := geopackagetest.New(t)
		p.Layer("fields", "POLYGON", 4326, c.columns)
		for i, v := range c.values {
			p.Exec("INSERT INTO fields VALUES (NULL, ?, ?)", square(-2.4+float64(i)*0.02, c.side), v)
		}
		_, err := read("fields.gpkg", p.Bytes(), gnsslog.Options{})
		assert.ErrorContains(t, err, want)
	}
	p := geopackagetest.New(t)
	p.Layer("cover", "POLYGON", 4326, `, "time" TEXT`)
	for i, v := range []string{"2026-05-04T06:00:00Z", "2026-05-04T06:00:01Z", "2026-05-04T06:00:02Z"} {
		p.Exec("INSERT INTO cover VALUES (NULL, ?, ?)", square(-2.4+float64(i)*1e-4, 1e-4), v)
	}
	log, err := read("cover.gpkg", p.Bytes(), gnsslog.Options{})
	require.NoError(t, err)
	assert.Len(t, log.Cover, 3)
}
