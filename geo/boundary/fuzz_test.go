package boundary_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/boundary"
)

// sane checks what holds of any text: an error is one line, and what is read
// is ground on the Earth, its rings wound as they should be.
func sane(t *testing.T, text string) {
	f, err := readAs("f", strings.NewReader(text))
	if err != nil {
		var syntax *boundary.SyntaxError
		require.True(t, errors.As(err, &syntax), "%v", err)
		assert.NotContains(t, err.Error(), "\n")
		assert.NotEmpty(t, syntax.Found)
		return
	}
	require.NotEmpty(t, f.Boundaries)
	for _, b := range f.Boundaries {
		require.NotEmpty(t, b.Parts)
		for _, p := range b.Parts {
			saneRing(t, p.Shell)
			for _, h := range p.Holes {
				saneRing(t, h)
			}
		}
	}
}

func saneRing(t *testing.T, r []geo.LonLat) {
	require.GreaterOrEqual(t, len(r), 3)
	for i, p := range r {
		next := r[(i+1)%len(r)]
		require.True(t, p.Valid(), "%v", p)
		require.NotEqual(t, p, next)
		require.LessOrEqual(t, max(p.Lon-next.Lon, next.Lon-p.Lon), 180.0)
	}
}

func FuzzGeoJSON(f *testing.F) {
	for _, s := range []string{
		asGeoJSON(), collection(feature(`{"id":1}`, polygon(square)), feature("null", "null")), polygon(square, square),
		polygon(`[0,0],[0.005,0.005],[0.01,0],[0.01,0.01],[0.005,0.005],[0,0.01],[0,0]`),
		polygon(`[0,0],[0.01,0],[0.02,0],[0.01,0],[0.01,0.01],[0,0.01]`),
		polygon(`[179.9,1],[-179.9,1],[-179.9,2]`), polygon("[0,0],[1,1],[1,0],[0,1]"),
		`{"type":"GeometryCollection","crs":{"properties":{"code":4326}},"geometries":[{"type":"Point"}]}`,
	} {
		f.Add(s)
	}
	f.Fuzz(sane)
}

func FuzzWKT(f *testing.F) {
	for _, s := range []string{
		"POLYGON((0 0,1 0,1 1,0 0))", "SRID=4326;MULTIPOLYGON Z(((0 0 1,1 0 1,1 1 1,0 0 1)),EMPTY)\nPOINT(1 1)",
		"GEOMETRYCOLLECTION M(POLYGON EMPTY)", "POLYGON((", "MULTIPOLYGON EMPTY", "GEOMETRYCOLLECTION(POINT M EMPTY,POLYGON((0 0,1 0,1 1,0 0)))",
	} {
		f.Add(s)
	}
	f.Fuzz(sane)
}

func FuzzKML(f *testing.F) {
	f.Add(asKML())
	f.Add("<kml><Placemark><Polygon><outerBoundaryIs><coordinates>0,0 1,<!-- -->0 1,1</coordinates></outerBoundaryIs></Polygon></Placemark></kml>")
	f.Add("<kml><Placemark><Polygon><innerBoundaryIs><coordinates/></innerBoundaryIs></Polygon><Point/></Placemark>")
	f.Fuzz(sane)
}

func FuzzShapefile(f *testing.F) {
	for _, kind := range []uint32{1, 5, 15, 25} {
		f.Add(string(asShapefile(kind)))
	}
	f.Fuzz(sane)
}

// FuzzTable reads tables and coordinate systems beside a shapefile.
func FuzzTable(f *testing.F) {
	f.Add(asTable(), wgs84)
	f.Add(asTable()[:70], dhdn)
	f.Fuzz(func(t *testing.T, table []byte, system string) {
		sane(t, zipped(t, "a.shp", string(asShapefile(5)), "a.dbf", string(table), "a.prj", system))
	})
}
