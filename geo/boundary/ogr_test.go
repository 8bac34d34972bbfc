package boundary_test

import (
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/boundary"
)

// GDAL's ogrinfo counts the fields in files of every format, and measures
// their extent, as this reader does; ogr2ogr writes them.
func TestAgainstOGR(t *testing.T) {
	for _, tool := range []string{"ogrinfo", "ogr2ogr"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skip(tool + " of GDAL is not on this machine")
		}
	}
	source := `{"type":"FeatureCollection","features":[` + asGeoJSON() + `,` +
		feature(`{"name":"Long Acre"}`, `{"type":"Polygon","coordinates":[[[10.1,50.1],[10.12,50.1],[10.12,50.11],[10.1,50.1]]]}`) + `]}`
	inputs := map[string][]byte{"farm": []byte(source)}
	for _, set := range []string{"parcels-denmark", "parcels-finland", "parcels-nl-blocks"} {
		if data, ok := sharedIfThere(t, set+"/parcels.geojson"); ok {
			inputs[set] = data
		}
	}
	for name, data := range inputs {
		dir := t.TempDir()
		from := filepath.Join(dir, name+".geojson")
		require.NoError(t, os.WriteFile(from, data, 0o644))
		for _, c := range []struct{ file, format, driver string }{
			{from, "GeoJSON", ""},
			{filepath.Join(dir, name+".kml"), "KML", "KML"},
			{filepath.Join(dir, name+".shp"), "Shapefile", "ESRI Shapefile"},
			{filepath.Join(dir, name+".gpkg"), "GeoPackage", "GPKG"},
		} {
			t.Run(name+" "+c.format, func(t *testing.T) {
				if c.driver != "" {
					out, err := exec.Command("ogr2ogr", "-f", c.driver, c.file, from, "-nlt", "PROMOTE_TO_MULTI").CombinedOutput()
					require.NoError(t, err, string(out))
				}
				got, err := open(c.file)
				require.NoError(t, err)
				assert.Equal(t, c.format, got.Format)
				out, err := exec.Command("ogrinfo", "-ro", "-al", "-so", c.file).CombinedOutput()
				require.NoError(t, err, string(out))
				count := regexp.MustCompile(`Feature Count: (\d+)`).FindStringSubmatch(string(out))
				require.Len(t, count, 2, string(out))
				assert.Equal(t, count[1], strconv.Itoa(len(got.Boundaries)))
				extent := regexp.MustCompile(`Extent: \((\S+), (\S+)\) - \((\S+), (\S+)\)`).FindStringSubmatch(string(out))
				require.Len(t, extent, 5, string(out))
				for i, v := range extentOf(got) {
					want, err := strconv.ParseFloat(extent[i+1], 64)
					require.NoError(t, err)
					assert.InDelta(t, want, v, 0.6e-6, "ogrinfo prints 6 decimals")
				}
			})
		}
	}
}

// extentOf returns the least longitude and latitude of a file, and the greatest.
func extentOf(f *boundary.File) [4]float64 {
	west, south, east, north := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, b := range f.Boundaries {
		for _, part := range b.Parts {
			for _, p := range part.Shell {
				west, east = min(west, p.Lon), max(east, p.Lon)
				south, north = min(south, p.Lat), max(north, p.Lat)
			}
		}
	}
	return [4]float64{west, south, east, north}
}
