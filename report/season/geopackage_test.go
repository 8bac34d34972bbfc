package season_test

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/geopackage"
	"lapwing/report/season"
	"lapwing/report/season/gpkg"
)

// The GeoPackage is read back by our reader and, where it is installed, by
// GDAL.
func TestSeasonGeoPackage(t *testing.T) {
	s, shapes := season.BookOfSamples(t)
	write := func() string {
		path := filepath.Join(t.TempDir(), "season.gpkg")
		require.NoError(t, gpkg.Write(path, s, shapes))
		return path
	}
	path := write()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	again, err := os.ReadFile(write())
	require.NoError(t, err)
	assert.True(t, bytes.Equal(data, again), "the same season gives the same bytes")

	f, err := geopackage.Open(data)
	require.NoError(t, err)
	defer f.Close()
	rows := map[string]int{}
	for i := range f.Layers {
		l := &f.Layers[i]
		system, err := l.Projection()
		require.NoError(t, err)
		assert.Equal(t, "WGS 84", system.Name)
		require.NoError(t, f.Each(l, func(row geopackage.Row) error {
			rows[l.Name]++
			if l.Name == "fields" && rows["fields"] == 1 {
				polygons, other, err := geopackage.Polygons(row.Geometry)
				require.NoError(t, err)
				require.Empty(t, other)
				require.Len(t, polygons, 1)
				assert.Len(t, polygons[0], 2, "the pond is a hole")
				assert.Equal(t, s.Entries[0].Name(), string(row.Values[2].Text))
			}
			return nil
		}))
	}
	assert.Equal(t, 3, rows["fields"])
	assert.Equal(t, 12, rows["passes"])
	assert.Greater(t, rows["ground"], 20)

	ogrinfo, err := exec.LookPath("ogrinfo")
	if err != nil {
		t.Skip("no ogrinfo (Debian's gdal-bin): GDAL was not asked")
	}
	out, err := exec.Command(ogrinfo, "-ro", "-al", "-so", path).CombinedOutput()
	require.NoError(t, err, "%s", out)
	for _, want := range []string{"Layer name: fields", "Layer name: ground", "Layer name: passes", "Layer name: machines",
		"Geometry: Multi Polygon", "Geometry: Multi Line String", "Feature Count: 12", "area_m2: Real"} {
		assert.Contains(t, string(out), want)
	}
	assert.NotContains(t, string(out), "ERROR")
	assert.NotContains(t, string(out), "Warning")
	sum, err := exec.Command(ogrinfo, "-ro", "-q", "-sql", "SELECT SUM(area_m2) AS total FROM ground WHERE kind = 'skip' AND sheet = 1", path).CombinedOutput()
	require.NoError(t, err, "%s", sum)
	total := regexp.MustCompile(`total \(Real\) = ([0-9.]+)`).FindSubmatch(sum)
	require.NotNil(t, total, "%s", sum)
	v, err := strconv.ParseFloat(string(total[1]), 64)
	require.NoError(t, err)
	assert.InDelta(t, s.Entries[0].Ground.Skip.Float(), v, 1e-6)
}
