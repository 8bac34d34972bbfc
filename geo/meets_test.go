package geo_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"lapwing/geo"
)

// A box and a shape meet where another library finds a place that both have: shapes of small
// whole numbers, so that corners and edges fall together often.
func TestMeetsAgainstSimplefeatures(t *testing.T) {
	shapes := []geom.Geometry{}
	for _, wkt := range []string{
		"POLYGON((0 0,8 0,8 8,0 8,0 0),(2 2,2 6,6 6,6 2,2 2))", "POLYGON((0 0,8 0,0 8,0 0))", "POLYGON((1 4,4 1,7 4,4 7,1 4))",
		"MULTIPOLYGON(((0 0,3 0,3 3,0 3,0 0)),((5 5,8 5,8 8,5 8,5 5)))", "POLYGON((0 0,8 0,8 1,1 1,1 7,8 7,8 8,0 8,0 0))",
		"LINESTRING(0 0,8 8)", "LINESTRING(0 4,4 8,8 4)", "MULTILINESTRING((0 1,8 1),(1 3,1 8))",
	} {
		g, err := geom.UnmarshalWKT(wkt)
		require.NoError(t, err)
		shapes = append(shapes, g)
	}
	rapid.Check(t, func(t *rapid.T) {
		g := rapid.SampledFrom(shapes).Draw(t, "shape")
		half := rapid.Custom(func(t *rapid.T) float64 { return float64(rapid.IntRange(-2, 18).Draw(t, "half")) / 2 })
		box := geo.Extent{West: half.Draw(t, "west"), South: half.Draw(t, "south")}
		box.East, box.North = box.West+float64(rapid.IntRange(0, 8).Draw(t, "wide"))/2, box.South+float64(rapid.IntRange(0, 8).Draw(t, "high"))/2
		theirs := geom.Intersects(g, geom.NewEnvelope(geom.XY{X: box.West, Y: box.South}, geom.XY{X: box.East, Y: box.North}).AsGeometry())
		ours := box.MeetsLines(linesOf(g)) || box.MeetsGround(groundOf(g))
		assert.Equal(t, theirs, ours, "%s and %v", g.AsText(), box)
	})
}

func placesOf(s geom.Sequence) (out []geo.LonLat) {
	for i := range s.Length() {
		out = append(out, geo.LonLat{Lon: s.GetXY(i).X, Lat: s.GetXY(i).Y})
	}
	return out
}

func linesOf(g geom.Geometry) (out [][]geo.LonLat) {
	if strings.Contains(fmt.Sprint(g.Type()), "LineString") {
		for _, part := range g.Dump() {
			out = append(out, placesOf(part.MustAsLineString().Coordinates()))
		}
	}
	return out
}

func groundOf(g geom.Geometry) (out []geo.Polygon) {
	if !strings.Contains(fmt.Sprint(g.Type()), "Polygon") {
		return nil
	}
	for _, part := range g.Dump() {
		p := part.MustAsPolygon()
		polygon := geo.Polygon{Shell: placesOf(p.ExteriorRing().Coordinates())}
		for i := range p.NumInteriorRings() {
			polygon.Holes = append(polygon.Holes, placesOf(p.InteriorRingN(i).Coordinates()))
		}
		out = append(out, polygon)
	}
	return out
}
