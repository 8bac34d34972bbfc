package boundary_test

import (
	"bytes"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/boundary"
	"lapwing/geo/geopackage/geopackagetest"
)

var (
	packSquare = []float64{-2.4, 51.7, -2.399, 51.7, -2.399, 51.701, -2.4, 51.701, -2.4, 51.7}
	packHole   = []float64{-2.3998, 51.7002, -2.3996, 51.7004, -2.3996, 51.7002, -2.3998, 51.7002}
	packBow    = []float64{-2.4, 51.7, -2.399, 51.701, -2.399, 51.7, -2.4, 51.701, -2.4, 51.7}
	packEast   = []float64{-2.39, 51.7, -2.389, 51.7, -2.389, 51.701, -2.39, 51.7}
)

func readPackage(t *testing.T, p *geopackagetest.Package) (*boundary.File, error) {
	return readAs("farm.gpkg", bytes.NewReader(p.Bytes()))
}

func TestGeoPackage(t *testing.T) {
	p := geopackagetest.New(t)
	p.Layer("fields", "POLYGON", 4326, ", area REAL, Name TEXT")
	p.Layer("blocks", "MULTIPOLYGON", 4326, "")
	p.Layer("stones", "POINT", 32630, "")
	p.Exec("INSERT INTO fields (geom, name) VALUES (?, 'Curlew Leys'), (NULL, 'nowhere'), (?, 'a stone')",
		geopackagetest.Polygon(packSquare, packHole), geopackagetest.Point(-2.4, 51.7))
	p.Exec("INSERT INTO blocks (geom) VALUES (?)", geopackagetest.MultiPolygon([][]float64{packSquare}, [][]float64{packEast}))
	f, err := readPackage(t, p)
	require.NoError(t, err)
	assert.Equal(t, "GeoPackage", f.Format)
	require.Len(t, f.Boundaries, 2)
	assert.Equal(t, "Curlew Leys", f.Boundaries[0].Name)
	assert.Equal(t, geo.LonLat{Lon: -2.4, Lat: 51.7}, f.Boundaries[0].Parts[0].Shell[0])
	assert.Len(t, f.Boundaries[0].Parts[0].Holes, 1)
	assert.Len(t, f.Boundaries[1].Parts, 2)
	var notes []string
	for _, n := range f.Notes {
		assert.Equal(t, 1, n.Count)
		notes = append(notes, n.Text)
	}
	assert.Equal(t, []string{"feature without a geometry left out", "Point left out: only polygons bound a field",
		"layer stones left out: POINT; only polygons bound a field"}, notes)
}

func TestGeoPackageErrors(t *testing.T) {
	one := func(kind string, system int, blob []byte) *geopackagetest.Package {
		p := geopackagetest.New(t)
		p.Layer("fields", kind, system, "")
		p.Exec("INSERT INTO fields (geom) VALUES (?)", blob)
		return p
	}
	for _, test := range []struct {
		name string
		file *geopackagetest.Package
		want string
	}{
		{"of no system", one("POLYGON", -1, geopackagetest.Polygon(packSquare)),
			`farm.gpkg: layer fields: coordinate system NONE:-1 ("Undefined Cartesian SRS"), want one that is known by number or has a definition`},
		{"out of reach", one("POLYGON", 32630, geopackagetest.Polygon([]float64{0, 0, 1e9, 0, 1e9, 1e9})),
			`farm.gpkg: layer fields, feature 1, polygon 1, ring 1: coordinates 1000000000, 0, want coordinates within reach of WGS 84 / UTM zone 30N`},
		{"crossing", one("POLYGON", 4326, geopackagetest.Polygon(packBow)),
			"farm.gpkg: layer fields, feature 1, polygon 1, ring 1: a ring that crosses itself at -2.399500, 51.700500 (lon, lat), want a ring that does not"},
		{"no geometry", one("POLYGON", 4326, []byte("hello")),
			`farm.gpkg: layer fields, feature 1: a geometry that begins 68656c6c6f, want a GeoPackage geometry ("GP")`},
		{"no layer", geopackagetest.New(t), "farm.gpkg: no polygon, want one at least"},
		{"nothing but points", one("POINT", 4326, geopackagetest.Point(1, 2)),
			"farm.gpkg: no polygon (layer fields left out: POINT; only polygons bound a field), want one at least"},
	} {
		t.Run(test.name, func(t *testing.T) {
			_, err := readPackage(t, test.file)
			assert.EqualError(t, err, test.want)
		})
	}
}

// Official parcels put into longitude and latitude by GDAL's ogr2ogr, against
// the sizes of the parcels as PROJ put them.
func TestGeoPackageAgainstOGR(t *testing.T) {
	tool, err := exec.LookPath("ogr2ogr")
	if err != nil {
		t.Skip("ogr2ogr of GDAL is not on this machine")
	}
	want, err := readAs("parcels.geojson", bytes.NewReader(shared(t, "parcels-finland/parcels.geojson")))
	require.NoError(t, err)
	dir := t.TempDir()
	in, out := filepath.Join(dir, "in.gpkg"), filepath.Join(dir, "out.gpkg")
	require.NoError(t, os.WriteFile(in, shared(t, "parcels-finland/original.gpkg"), 0o644))
	text, err := exec.Command(tool, "-t_srs", "EPSG:4326", out, in).CombinedOutput()
	require.NoError(t, err, string(text))
	got, err := open(out)
	require.NoError(t, err)
	require.Len(t, got.Boundaries, len(want.Boundaries))
	for i := range want.Boundaries {
		a, b := onEllipsoid(got.Boundaries[i]), onEllipsoid(want.Boundaries[i])
		assert.LessOrEqual(t, math.Abs(a-b), 1+1e-4*b, "parcel %d: places there have 8 decimals, 1 mm", i)
	}
}
