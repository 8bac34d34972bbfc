package inspect

import (
	"fmt"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// GDAL's ogr2ogr cuts the names of columns to what a .dbf has room for. The log
// says the same of the machine as before, and every column that is not understood
// is listed.
func TestNamesCutByOGR(t *testing.T) {
	tool, err := exec.LookPath("ogr2ogr")
	if err != nil {
		t.Skip("ogr2ogr of GDAL is not on this machine")
	}
	var text strings.Builder
	text.WriteString("timestamp_utc,latitude,longitude,implement_status,section_states,ground_speed_mps,heading_degrees,machine_name,application_comment,fuel_consumption\n")
	for i := range 60 {
		fmt.Fprintf(&text, "2026-05-04T06:00:%02dZ,%.6f,-2.4,%d,%s,2.5,0,red drill,dry,%d\n", i, 51.7+float64(i)*2.2e-5, min(i/10, 1), []string{"0011", "1111"}[i/30], i)
	}
	dir := folder(t, map[string]string{"day.csv": text.String()})
	csvAt, shpAt := filepath.Join(dir, "day.csv"), filepath.Join(dir, "cut.shp")
	out, err := exec.Command(tool, "-f", "ESRI Shapefile", shpAt, csvAt, "-oo", "X_POSSIBLE_NAMES=longitude", "-oo", "Y_POSSIBLE_NAMES=latitude", "-a_srs", "EPSG:4326").CombinedOutput()
	require.NoError(t, err, string(out))
	want, err := File(disk(nil), csvAt, nil)
	require.NoError(t, err)
	got, err := File(disk(nil), shpAt, nil)
	require.NoError(t, err)
	assert.Equal(t, want.Log.Working, got.Log.Working)
	assert.Equal(t, 50, got.Log.Working)
	assert.Equal(t, want.Log.Sections, got.Log.Sections)
	assert.Equal(t, []string{"red drill"}, got.Log.Machines)
	assert.Equal(t, want.Log.From, got.Log.From)
	as := map[string]string{}
	for _, m := range got.Log.Columns {
		as[m.Column] = m.As
	}
	assert.Equal(t, map[string]string{
		"longitude": "longitude", "latitude": "latitude", "timestamp_": "time",
		"implement_": "whether the machine works (its name is cut)", "section_st": "which sections are open, from left to right (its name is cut)",
		"ground_spe": "speed in m/s (its name is cut)", "heading_de": "heading in degrees (its name is cut)", "machine_na": "which machine it is (its name is cut)",
		"applicatio": "", "fuel_consu": "",
	}, as)
}
