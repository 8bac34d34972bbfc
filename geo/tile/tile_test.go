package tile_test

import (
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/mvt"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/tile"
)

// The corners of WebMercatorQuad are 20,037,508.3427892 m from its middle, and a tile of zoom
// z is 2^-z of its width (OGC 17-083r4, annex D.1).
func TestBoxOfATile(t *testing.T) {
	const radius, edge = 6378137, 20037508.3427892
	for _, at := range []tile.Tile{{}, {Z: 1, X: 1, Y: 0}, {Z: 12, X: 927, Y: 1383}, {Z: 24, X: 1 << 23, Y: 5_600_000}} {
		require.True(t, at.Exists())
		wide := 2 * edge / math.Exp2(float64(at.Z))
		x, y, margin := -edge+wide*float64(at.X), edge-wide*float64(at.Y), wide/16
		box := at.Box()
		east := func(lon float64) float64 { return radius * lon * math.Pi / 180 }
		north := func(lat float64) float64 { return radius * math.Log(math.Tan(math.Pi/4+lat*math.Pi/360)) }
		assert.InDelta(t, max(x-margin, -edge), east(box.West), 1e-6*wide+1e-6)
		assert.InDelta(t, min(x+wide+margin, edge), east(box.East), 1e-6*wide+1e-6)
		assert.InDelta(t, y+margin, north(box.North), 1e-6*wide+1e-6)
		assert.InDelta(t, y-wide-margin, north(box.South), 1e-6*wide+1e-6)
	}
	for _, at := range []tile.Tile{{Z: -1}, {Z: 25}, {X: 1}, {Y: 1}, {Z: 3, X: 8}, {Z: 3, Y: -1}} {
		assert.False(t, at.Exists(), "%v", at)
	}
}

func square(west, south, size float64) []geo.LonLat {
	return []geo.LonLat{{Lon: west, Lat: south}, {Lon: west + size, Lat: south}, {Lon: west + size, Lat: south + size}, {Lon: west, Lat: south + size}, {Lon: west, Lat: south}}
}

func turned(ring []geo.LonLat) []geo.LonLat {
	out := make([]geo.LonLat, 0, len(ring))
	for i := range ring {
		out = append(out, ring[len(ring)-1-i])
	}
	return out
}

// decode reads the one layer of a tile.
func decode(t *testing.T, bytes []byte) *mvt.Layer {
	t.Helper()
	layers, err := mvt.Unmarshal(bytes)
	require.NoError(t, err)
	require.Len(t, layers, 1)
	return layers[0]
}

// What a tile has: places in its units, rings wound as MVT 2.1 wants them whichever way they
// came, attributes of each type; and what it has not.
func TestEncode(t *testing.T) {
	at := tile.Tile{Z: 2, X: 2, Y: 1} // 0 to 90 east, the equator to 66.5 north
	for _, way := range []func([]geo.LonLat) []geo.LonLat{turned, func(r []geo.LonLat) []geo.LonLat { return r }} {
		bytes, err := tile.Encode("fields", at, []tile.Feature{
			{ID: 7, Polygons: []geo.Polygon{{Shell: way(square(10, 10, 20)), Holes: [][]geo.LonLat{way(square(15, 15, 5)), way(square(21, 21, 0.01))}}},
				Properties: map[string]any{"field": "Näs", "last_year": int64(2026), "area_m2": 2.5, "mistake": true}},
			{ID: 8, Polygons: []geo.Polygon{{Shell: square(40, 40, 0.02)}}},                                     // too small
			{ID: 9, Polygons: []geo.Polygon{{Shell: square(-40, -40, 5)}}},                                      // elsewhere
			{ID: 10, Lines: [][]geo.LonLat{{{Lon: 80, Lat: 20}, {Lon: 85, Lat: 20.0001}, {Lon: 170, Lat: 20}}}}, // out of it
			{ID: 11, Lines: [][]geo.LonLat{{{Lon: 50, Lat: 50}, {Lon: 50.0001, Lat: 50}}}},                      // too small
			{ID: 12, At: &geo.LonLat{Lon: 45, Lat: 1}}, {ID: 13, At: &geo.LonLat{Lon: 45.001, Lat: 1}},          // of one cell
			{ID: 14, At: &geo.LonLat{Lon: 89, Lat: 1}}, {ID: 15, At: &geo.LonLat{Lon: 91, Lat: 1}}, {ID: 16, At: &geo.LonLat{Lon: -1, Lat: 1}},
		})
		require.NoError(t, err)
		l := decode(t, bytes)
		assert.Equal(t, "fields", l.Name)
		assert.EqualValues(t, 2, l.Version)
		var ids []float64
		for _, f := range l.Features {
			ids = append(ids, f.ID.(float64))
		}
		require.Equal(t, []float64{7, 10, 12, 14}, ids)
		assert.EqualValues(t, map[string]any{"field": "Näs", "last_year": 2026., "area_m2": 2.5, "mistake": true}, l.Features[0].Properties)
		p := l.Features[0].Geometry.(orb.Polygon)
		require.Len(t, p, 2, "the hole that is seen")
		assert.Equal(t, []orb.Orientation{orb.CCW, orb.CW}, []orb.Orientation{p[0].Orientation(), p[1].Orientation()})
		assert.InDelta(t, 10./90*tile.Units, p.Bound().Min[0], 1)
		assert.InDelta(t, 30./90*tile.Units, p.Bound().Max[0], 1)
		line := l.Features[1].Geometry.(orb.LineString)
		assert.Len(t, line, 2, "simplified")
		assert.EqualValues(t, tile.Units+tile.Margin, line.Bound().Max[0], "cut at the margin")
	}
	bytes, err := tile.Encode("fields", at, nil)
	require.NoError(t, err)
	assert.Empty(t, bytes)
}

// GDAL reads what is drawn: https://gdal.org/en/latest/drivers/vector/mvt.html.
func TestAgainstOGR(t *testing.T) {
	ogrinfo, err := exec.LookPath("ogrinfo")
	if err != nil {
		require.NotEqual(t, "all", os.Getenv("LAPWING_STRANGERS"), "no ogrinfo: install gdal-bin")
		t.Skip("no ogrinfo (Debian's gdal-bin): it was not asked")
	}
	bytes, err := tile.Encode("skips", tile.Tile{Z: 2, X: 2, Y: 1}, []tile.Feature{
		{ID: 7, Polygons: []geo.Polygon{{Shell: square(10, 10, 20), Holes: [][]geo.LonLat{square(15, 15, 5)}}}, Properties: map[string]any{"cause": "turn", "area_m2": 2.5}}})
	require.NoError(t, err)
	dir := filepath.Join(t.TempDir(), "2", "2") // z, x and y.pbf: so it knows where the tile is
	require.NoError(t, os.MkdirAll(dir, 0o755))
	path := filepath.Join(dir, "1.pbf")
	require.NoError(t, os.WriteFile(path, bytes, 0o644))
	out, err := exec.Command(ogrinfo, "-al", "MVT:"+path).CombinedOutput()
	require.NoError(t, err, "%s", out)
	for _, want := range []string{"Layer name: skips", "Feature Count: 1", "cause (String) = turn", "area_m2 (Real) = 2.5", "POLYGON (("} {
		assert.Contains(t, string(out), want)
	}
	assert.NotContains(t, string(out), "ERROR")
	west := regexp.MustCompile(`Extent: \(([0-9.]+),`).FindSubmatch(out)
	require.NotNil(t, west, "%s", out)
	x, err := strconv.ParseFloat(string(west[1]), 64)
	require.NoError(t, err)
	assert.InDelta(t, 20037508.3427892/18, x, 20037508.3427892/2/tile.Units, "10 degrees, within a unit")
}
