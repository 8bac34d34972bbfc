package gpkg_test

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/book"
	"lapwing/coverage/book/booktest"
	"lapwing/coverage/book/gpkg"
	"lapwing/geo/geopackage/geopackagetest"
)

func TestBook(t *testing.T) {
	booktest.Run(t, func(t *testing.T) func(*testing.T) book.Store {
		path := filepath.Join(t.TempDir(), "a book?.gpkg")
		return func(t *testing.T) book.Store { return open(t, path) }
	})
}

func open(t testing.TB, path string) book.Store {
	t.Helper()
	b, err := gpkg.Open(t.Context(), path)
	require.NoError(t, err)
	return b
}

// A book is a GeoPackage that GDAL opens without a word: all layers with their features,
// also those that it finds by place, and what GDAL writes is found by place again.
func TestAgainstOGR(t *testing.T) {
	for _, name := range []string{"ogrinfo", "ogr2ogr"} {
		if _, err := exec.LookPath(name); err != nil {
			require.NotEqual(t, "all", os.Getenv("LAPWING_STRANGERS"), "no %s: install gdal-bin", name)
			t.Skipf("no %s (Debian's gdal-bin): it was not asked", name)
		}
	}
	path := filepath.Join(t.TempDir(), "book.gpkg")
	b := open(t, path)
	parts := booktest.Sample(t, b)
	require.NoError(t, b.Close())
	info := func(args ...string) string {
		t.Helper()
		var said, wrong bytes.Buffer
		c := exec.Command("ogrinfo", append([]string{"-ro"}, args...)...)
		c.Stdout, c.Stderr = &said, &wrong
		require.NoError(t, c.Run(), wrong.String())
		require.Empty(t, wrong.String())
		return said.String()
	}
	count := func(text string) string {
		return regexp.MustCompile(`Feature Count: (\d+)`).FindStringSubmatch(text)[1]
	}
	want := map[string]int{"fields": 2, "assessments": 2, "machines": 2, "operators": 2}
	for _, p := range parts {
		want["skips"] += len(p.Skips)
		want["overlaps"] += len(p.Overlaps)
		want["passes"] += len(p.Passes)
	}
	require.NotZero(t, want["skips"])
	require.NotZero(t, want["overlaps"])
	for layer, n := range want {
		text := info("-so", path, layer)
		assert.Equal(t, fmt.Sprint(n), count(text), text)
	}
	text := info("-so", path, "skips")
	for _, says := range []string{"Geometry: Multi Polygon", `ID["EPSG",4326]`, "cause: String", "area_m2: Real", "Geometry Column = geom"} {
		assert.Contains(t, text, says)
	}
	at := parts[0].Boundary[0].Shell[0] // of North, a side of a mile from South
	place := []string{"-spat", fmt.Sprint(at.Lon - 0.001), fmt.Sprint(at.Lat - 0.001), fmt.Sprint(at.Lon + 0.001), fmt.Sprint(at.Lat + 0.001)}
	assert.Equal(t, "1", count(info(append(append([]string{"-so"}, place...), path, "assessments")...)))
	assert.Contains(t, info("-q", path, "-sql", "SELECT HasSpatialIndex('skips', 'geom')"), "(Integer) = 1")

	// A field that somebody moves in a GIS is where it was moved to.
	out, err := exec.Command("ogrinfo", path, "-sql", "UPDATE fields SET geom = ST_GeomFromText('MULTIPOLYGON(((1 1,2 1,2 2,1 1)))', 4326) WHERE name = 'South'").CombinedOutput()
	require.NoError(t, err, string(out))
	assert.Equal(t, "1", count(info("-so", "-spat", "0", "0", "3", "3", path, "fields")), string(out))
	b = open(t, path)
	defer b.Close()
	booktest.Sample(t, b)
}

// What is no book of this program is left as it is, with a line.
func TestRefuses(t *testing.T) {
	dir := t.TempDir()
	text := filepath.Join(dir, "notes.txt")
	require.NoError(t, os.WriteFile(text, bytes.Repeat([]byte("no database\n"), 99), 0o644))
	other := geopackagetest.New(t)
	other.Bytes() // whole from here on
	newer := filepath.Join(dir, "newer.gpkg")
	b := open(t, newer)
	booktest.Sample(t, b)
	require.NoError(t, b.Close())
	migrate(t, newer, 1<<20)
	for path, want := range map[string]string{
		text:                               "notes.txt: found a file that is no database, want a book or no file",
		other.Path:                         "found a database that is no book, want a book or no file",
		newer:                              "found a book of version 1048576, want 4 at most: a newer lapwing has used it",
		filepath.Join(dir, "none", "x.gp"): "x.gp: found no way to open or make it",
		dir:                                "found no way to open or make it",
	} {
		before, _ := os.ReadFile(path)
		_, err := gpkg.Open(t.Context(), path)
		require.ErrorContains(t, err, want)
		after, _ := os.ReadFile(path)
		assert.True(t, bytes.Equal(before, after), path)
	}
}

// Books of all versions that were ever released are opened, with all that is in them; what
// has columns since then is told of what was put before.
func TestOldVersions(t *testing.T) {
	packed, err := filepath.Glob("testdata/version-*.gpkg.gz")
	require.NoError(t, err)
	require.NotEmpty(t, packed)
	fresh := open(t, filepath.Join(t.TempDir(), "book.gpkg"))
	defer fresh.Close()
	booktest.Sample(t, fresh)
	want := answers(t, fresh)
	for _, name := range packed {
		path := unpack(t, name)
		b := open(t, path)
		c, err := b.Holds(t.Context())
		require.NoError(t, err)
		assert.Equal(t, book.Contents{Fields: 2, Assessments: 2, Machines: 2, Operators: 2, First: 2026, Last: 2026}, c, name)
		assert.Equal(t, want, answers(t, b), name)
		require.NoError(t, b.Close())
	}
}

// answers are what a book says over years.
func answers(t *testing.T, b book.Store) (all []any) {
	t.Helper()
	y, is := b.(book.Years)
	require.True(t, is)
	wasted, err := y.Wasted(t.Context())
	require.NoError(t, err)
	require.NotEmpty(t, wasted)
	hours, err := y.Hours(t.Context())
	require.NoError(t, err)
	require.Positive(t, hours[0].InField)
	widths, err := y.Widths(t.Context())
	require.NoError(t, err)
	return append(all, wasted, hours, len(widths))
}

func unpack(t *testing.T, name string) string {
	t.Helper()
	f, err := os.Open(name)
	require.NoError(t, err)
	defer f.Close()
	r, err := gzip.NewReader(f)
	require.NoError(t, err)
	data, err := io.ReadAll(r)
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "book.gpkg")
	require.NoError(t, os.WriteFile(path, data, 0o644))
	return path
}

// A book in a file keeps people apart as one in a server does.
func TestPeople(t *testing.T) {
	booktest.RunServed(t, func(t *testing.T) (book.Owned, func() book.Served) {
		path := filepath.Join(t.TempDir(), "book.gpkg")
		owner, err := gpkg.Open(t.Context(), path)
		require.NoError(t, err)
		return owner, func() book.Served {
			b, err := gpkg.Serve(t.Context(), path, "")
			require.NoError(t, err)
			return b
		}
	})
}

func TestMapOfManyFields(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.gpkg")
	owner, err := gpkg.Open(t.Context(), path)
	require.NoError(t, err)
	defer owner.Close()
	booktest.ManyFields(t, os.Getenv("LAPWING_LONG") != "", owner, func() book.Served {
		b, err := gpkg.Serve(t.Context(), path, "")
		require.NoError(t, err)
		return b
	})
	info, err := os.Stat(path)
	require.NoError(t, err)
	t.Logf("the book takes %.0f MB", float64(info.Size())/1e6)
}
