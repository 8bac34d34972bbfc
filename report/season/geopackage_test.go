package season_test

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"sync"
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
		require.NoError(t, gpkg.Write(path, s, shapes, ""))
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

// A GeoPackage that takes what is kept from the one before is the one that is made anew, to
// the byte, whatever number a field had there; and nothing is taken from one that is not
// what the book says of it.
func TestSeasonGeoPackageTakesWhatIsKept(t *testing.T) {
	s, shapes := season.BookOfSamples(t)
	s.Source = "0001"
	dir := t.TempDir()
	former := filepath.Join(dir, "former.gpkg")
	require.NoError(t, gpkg.Write(former, s, shapes, ""))
	whole, err := os.ReadFile(former)
	require.NoError(t, err)

	s.Source, s.Former = "0002", "0001"
	slices.Reverse(s.Entries)
	for i, entry := range s.Entries {
		entry.Number = i + 1
		entry.Kept = i != 1
	}
	s.Entries[1].Run = "of another log"
	isFormer := func(text []byte) bool { return gpkg.WasMade(s, bytes.NewReader(text), int64(len(text))) }
	assert.True(t, isFormer(whole))
	assert.False(t, isFormer(whole[:len(whole)-4096]))
	assert.False(t, isFormer(bytes.Replace(whole, []byte("made of 0001"), []byte("made of 0003"), 1)))
	s.Former = ""
	assert.False(t, isFormer(whole), "nothing is known of the book before")
	s.Former = "0001"

	// write writes the book, and says which coverage.geojson it read for it.
	path := filepath.Join(dir, "season.gpkg")
	write := func(former string) (text []byte, read []string) {
		_ = os.Remove(path)
		var mu sync.Mutex
		require.NoError(t, gpkg.Write(path, s, func(entry *season.Entry) (io.ReadCloser, error) {
			mu.Lock()
			defer mu.Unlock()
			read = append(read, entry.Dir)
			return shapes(entry)
		}, former))
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		return text, read
	}
	anew, read := write("")
	assert.Len(t, read, 3)
	taken, read := write(former)
	assert.Equal(t, []string{s.Entries[1].Dir}, read)
	assert.True(t, bytes.Equal(anew, taken))

	s.NoOperators = true
	anew, _ = write("")
	taken, read = write(former)
	assert.Len(t, read, 3, "the lines of passes have operators")
	assert.True(t, bytes.Equal(anew, taken))
	s.NoOperators = false

	for what, text := range map[string][]byte{
		"cut off":       whole[:len(whole)/2],
		"overwritten":   slices.Concat(whole[:len(whole)/4], bytes.Repeat([]byte{7}, len(whole)/2), whole[3*len(whole)/4:]),
		"no database":   []byte("none"),
		"other columns": bytes.ReplaceAll(whole, []byte("area_m2\" REAL"), []byte("area_m2\" TEXT")),
	} {
		broken := filepath.Join(dir, "broken.gpkg")
		require.NoError(t, os.WriteFile(broken, text, 0o644))
		_ = os.Remove(path)
		assert.Error(t, gpkg.Write(path, s, shapes, broken), what)
	}
}
