package geopackage_test

import (
	"bytes"
	"encoding/binary"
	"encoding/hex"
	"math"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/twpayne/go-geom"
	"github.com/twpayne/go-geom/encoding/wkb"

	"lapwing/geo/feature"
	"lapwing/geo/geopackage"
	"lapwing/geo/geopackage/geopackagetest"
	"lapwing/geo/projection"
)

var (
	square = []float64{-2.4, 51.7, -2.39, 51.7, -2.39, 51.71, -2.4, 51.71, -2.4, 51.7}
	hole   = []float64{-2.398, 51.702, -2.396, 51.704, -2.396, 51.702, -2.398, 51.702}
)

func open(t testing.TB, data []byte) *geopackage.File {
	f, err := geopackage.Open(data)
	require.NoError(t, err)
	t.Cleanup(f.Close)
	return f
}

func TestLayers(t *testing.T) {
	p := geopackagetest.New(t)
	p.Layer("it's \"odd\"", "POLYGON", 4326, "")
	p.Exec(`DROP TABLE "it's ""odd"""`)
	t.Run("no table", func(t *testing.T) {
		_, err := geopackage.Open(p.Bytes())
		assert.EqualError(t, err, `layer it's "odd": no plain table of this name, want a table of features`)
	})

	p = geopackagetest.New(t)
	p.Layer("Curlew Leys", "POLYGON", 4326, ", name TEXT, area REAL, crop INTEGER, photo BLOB, twice AS (crop * 2)")
	p.Layer("marks", "POINT", 32630, "")
	p.Exec(`INSERT INTO "Curlew Leys" (geom, name, area, crop, photo) VALUES (?, 'long field', 2.5, 7, x'0102'), (NULL, NULL, NULL, NULL, NULL)`, geopackagetest.Polygon(square, hole))
	f := open(t, p.Bytes())
	require.Len(t, f.Layers, 2)
	l := &f.Layers[0]
	assert.Equal(t, []string{"name", "area", "crop", "photo"}, l.Columns, "computed columns are left out")
	system, err := l.Projection()
	require.NoError(t, err)
	assert.Equal(t, "WGS 84", system.Name)
	system, err = f.Layers[1].Projection()
	require.NoError(t, err)
	assert.Equal(t, "WGS 84 / UTM zone 30N", system.Name)
	var rows []string
	require.NoError(t, f.Each(l, func(r geopackage.Row) error {
		polygons, other, err := geopackage.Polygons(r.Geometry)
		require.NoError(t, err)
		assert.Empty(t, other)
		if polygons != nil {
			assert.Equal(t, projection.XY{X: -2.4, Y: 51.7}, polygons[0][0][0])
			assert.Len(t, polygons[0], 2)
		}
		rows = append(rows, string(bytes.Join(texts(r.Values), []byte("|"))))
		return nil
	}))
	assert.Equal(t, []string{"long field|2.5|7|", "|||"}, rows)
	for i, want := range []bool{true, false} {
		filled, err := f.Filled(&f.Layers[i])
		require.NoError(t, err)
		assert.Equal(t, want, filled)
	}
}

func texts(values []feature.Value) (out [][]byte) {
	for _, v := range values {
		out = append(out, v.Text)
	}
	return out
}

func TestWrongDatabases(t *testing.T) {
	view := geopackagetest.New(t)
	view.Layer("fields", "POLYGON", 4326, "")
	view.Exec("DROP TABLE fields")
	view.Exec("CREATE VIEW fields AS WITH RECURSIVE r(fid) AS (SELECT 1 UNION ALL SELECT fid + 1 FROM r) SELECT fid, x'00' AS geom FROM r")
	bare := geopackagetest.New(t)
	bare.Exec("DROP TABLE gpkg_contents")
	whole := geopackagetest.New(t).Bytes()
	for _, test := range []struct {
		name string
		data []byte
		want string
	}{
		{"no database", []byte("hello"), "no SQLite database, want a GeoPackage"},
		{"another database", bare.Bytes(), "an SQLite database without the table gpkg_contents, want a GeoPackage"},
		{"cut short", whole[:len(whole)/2], "that cannot be read ("},
		{"a view without end", view.Bytes(), "layer fields: no plain table of this name"},
	} {
		t.Run(test.name, func(t *testing.T) {
			_, err := geopackage.Open(test.data)
			require.ErrorContains(t, err, test.want)
			assert.NotContains(t, err.Error(), "\n")
			var fault *geopackage.Fault
			assert.ErrorAs(t, err, &fault)
		})
	}
}

// Geometries are read as go-geom, an independent library, reads them.
func TestPolygonsAgainstLibrary(t *testing.T) {
	for name, blob := range map[string][]byte{
		"polygon":       geopackagetest.Polygon(square, hole),
		"multi-polygon": geopackagetest.MultiPolygon([][]float64{square, hole}, [][]float64{square}),
	} {
		ours, _, err := geopackage.Polygons(blob)
		require.NoError(t, err, name)
		theirs, err := wkb.Unmarshal(blob[8:])
		require.NoError(t, err)
		var want [][][]projection.XY
		add := func(p *geom.Polygon) {
			var rings [][]projection.XY
			for _, ring := range p.Coords() {
				var r []projection.XY
				for _, c := range ring {
					r = append(r, projection.XY{X: c[0], Y: c[1]})
				}
				rings = append(rings, r)
			}
			want = append(want, rings)
		}
		switch g := theirs.(type) {
		case *geom.Polygon:
			add(g)
		case *geom.MultiPolygon:
			for i := range g.NumPolygons() {
				add(g.Polygon(i))
			}
		}
		assert.Equal(t, want, ours, name)
	}
}

func TestGeometries(t *testing.T) {
	bytesOf := func(text string) []byte {
		b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
		require.NoError(t, err)
		return b
	}
	const gp = "4750 00 01 e6100000"
	for _, test := range []struct{ name, text, want string }{
		{"not of a GeoPackage", "0101000000000000000000000000000000000000000", ""},
		{"no order", gp + "07 03000000", "byte order 7 in a geometry, want 0 or 1"},
		{"a count that lies", gp + "01 03000000 01000000 ffffffff", "a geometry that ends 68719476720 bytes early, want whole well-known binary"},
		{"rings that lie", gp + "01 03000000 ffffffff", "a geometry that ends 4 bytes early"},
		{"collections in collections", gp + strings.Repeat("01 07000000 01000000", 20), "collections nested too deep, want a polygon"},
		{"unknown", gp + "01 63000000", "geometry type 99, want a simple feature"},
		{"extended", "4750 00 21 e6100000", "a geometry of an extended kind, want a plain one"},
		{"no room for the envelope", "4750 00 09 e6100000", "a geometry of 8 bytes with envelope 4, want envelope 0 to 4 and the bytes for it"},
	} {
		t.Run(test.name, func(t *testing.T) {
			text := strings.ReplaceAll(test.text, " ", "")
			_, _, err := geopackage.Polygons(bytesOf(text[:len(text)/2*2]))
			assert.ErrorContains(t, err, test.want)
			assert.Error(t, err)
		})
	}
	p, ok, err := geopackage.Point(geopackagetest.Point(-2.4, 51.7))
	assert.True(t, ok && err == nil && p == projection.XY{X: -2.4, Y: 51.7})
	_, ok, err = geopackage.Point(geopackagetest.Point(math.NaN(), math.NaN()))
	assert.True(t, !ok && err == nil, "an empty point")
	_, _, err = geopackage.Point(geopackagetest.Polygon(square))
	assert.EqualError(t, err, "a Polygon, want a Point")

	// Big-endian, with height and measure, behind an envelope.
	big := bytesOf("4750 00 02 000010e6" + strings.Repeat("00", 32) + "00 00000bb9")
	for _, x := range []float64{-2.4, 51.7, 90, 1} {
		big = binary.BigEndian.AppendUint64(big, math.Float64bits(x))
	}
	p, ok, err = geopackage.Point(big)
	assert.True(t, ok && err == nil && p == projection.XY{X: -2.4, Y: 51.7})
}

// What the tests write, GDAL's ogrinfo reads in the same way.
func TestAgainstOGR(t *testing.T) {
	tool, err := exec.LookPath("ogrinfo")
	if err != nil {
		t.Skip("ogrinfo of GDAL is not on this machine")
	}
	p := geopackagetest.New(t)
	p.Layer("fields", "POLYGON", 4326, ", name TEXT")
	p.Exec("INSERT INTO fields (geom, name) VALUES (?, 'long field'), (NULL, 'nowhere')", geopackagetest.Polygon(square, hole))
	p.Bytes()
	out, err := exec.Command(tool, "-ro", "-al", p.Path).CombinedOutput()
	require.NoError(t, err, string(out))
	for _, want := range []string{"Feature Count: 2", "name (String) = long field",
		"POLYGON ((-2.4 51.7,-2.39 51.7,-2.39 51.71,-2.4 51.71,-2.4 51.7),(-2.398 51.702,-2.396 51.704,-2.396 51.702,-2.398 51.702))"} {
		assert.Contains(t, string(out), want)
	}
}

func FuzzPolygons(f *testing.F) {
	f.Add(geopackagetest.Polygon(square, hole))
	f.Add(geopackagetest.MultiPolygon([][]float64{square}, [][]float64{square, hole}))
	f.Add(geopackagetest.Point(1, 2))
	f.Add([]byte("GP\x00\x11\xe6\x10\x00\x00"))
	f.Fuzz(func(t *testing.T, blob []byte) {
		polygons, _, err := geopackage.Polygons(blob)
		places := 0
		for _, p := range polygons {
			for _, r := range p {
				places += len(r)
			}
		}
		if places*16 > len(blob) {
			t.Fatalf("%d places in %d bytes", places, len(blob))
		}
		if err != nil && strings.Contains(err.Error(), "\n") {
			t.Fatalf("not one line: %q", err)
		}
		geopackage.Point(blob)
	})
}

// FuzzOpen reads databases with some bytes changed.
func FuzzOpen(f *testing.F) {
	p := geopackagetest.New(f)
	p.Layer("fields", "POLYGON", 4326, ", name TEXT")
	p.Exec("INSERT INTO fields (geom, name) VALUES (?, 'long field'), (NULL, 'nowhere')", geopackagetest.Polygon(square, hole))
	whole := p.Bytes()
	f.Add(uint32(100), []byte{1, 2, 3})
	f.Add(uint32(4096), []byte{0x0d})
	f.Fuzz(func(t *testing.T, at uint32, change []byte) {
		data := bytes.Clone(whole)
		copy(data[min(int(at)%len(data), len(data)):], change)
		file, err := geopackage.Open(data)
		if err != nil {
			if strings.Contains(err.Error(), "\n") {
				t.Fatalf("not one line: %q", err)
			}
			return
		}
		defer file.Close()
		for i := range file.Layers {
			file.Each(&file.Layers[i], func(r geopackage.Row) error {
				geopackage.Polygons(r.Geometry)
				return nil
			})
		}
	})
}
