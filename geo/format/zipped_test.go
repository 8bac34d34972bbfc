package format_test

import (
	"archive/zip"
	"bytes"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/format"
	"lapwing/geo/gnsslog"
)

// zipped packs names and contents in turn.
func zipped(t testing.TB, files ...string) string {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := 0; i < len(files); i += 2 {
		w, err := z.Create(files[i])
		require.NoError(t, err)
		_, err = w.Write([]byte(files[i+1]))
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return b.String()
}

// A GeoPackage is found in an archive wherever it lies, and in one within it. The
// map of parcels is as Finland's agency gave it out.
func TestZippedGeoPackages(t *testing.T) {
	data, err := os.ReadFile(outside(t, "parcels-finland", "original.gpkg"))
	require.NoError(t, err)
	want, err := everything.Boundary(format.Input{Name: "parcels", From: bytes.NewReader(data)})
	require.NoError(t, err)
	for _, text := range []string{
		zipped(t, "parcels.gpkg", string(data)),
		zipped(t, "read me.txt", "", "a/b/c/d/e/f/Parcels.GPKG", string(data)),
		zipped(t, "a/b.zip", zipped(t, "c/d.zip", zipped(t, "e.gpkg", string(data)))),
	} {
		got, err := everything.Boundary(format.Input{Name: "parcels.zip", From: strings.NewReader(text)})
		require.NoError(t, err)
		assert.Equal(t, want.Boundaries, got.Boundaries)
	}
	day := string(pointsOf(t).Bytes())
	for _, text := range []string{zipped(t, "x/day.gpkg", day), zipped(t, "x/y.zip", zipped(t, "z/day.gpkg", day))} {
		log, err := read("day.zip", []byte(text), gnsslog.Options{})
		require.NoError(t, err)
		assert.Equal(t, "GeoPackage", log.Format)
		assert.Len(t, log.Fixes, 3)
	}
	deep := day
	for range 6 {
		deep = zipped(t, "x.zip", deep)
	}
	bomb := zipped(t, "a.zip", zipped(t, "day.gpkg", "SQLite format 3\x00"+strings.Repeat("\x00", 100<<20)))
	for want, text := range map[string]string{
		"day.zip: archives more than 4 deep in each other":                   deep,
		"day.zip/a.zip/day.gpkg: an archive that unpacks to too much":        bomb,
		"day.zip/a.zip: a damaged zip archive":                               zipped(t, "a.zip", "PK\x03\x04"),
		"day.zip: a zip archive without a shapefile or a GeoPackage":         zipped(t, "a.zip", zipped(t), "b.zip", zipped(t)),
		"day.zip: a zip archive whose .gpkg file is no GeoPackage":           zipped(t, "day.gpkg", "hello"),
		"day.zip: an archive with several logs: a/day.gpkg and b/c/day.gpkg": zipped(t, "a/day.gpkg", day, "b/c/day.gpkg", day),
	} {
		_, err := read("day.zip", []byte(text), gnsslog.Options{})
		assert.ErrorContains(t, err, want)
	}
}
