package geopackage

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/twpayne/go-geom"
	"github.com/twpayne/go-geom/encoding/wkb"

	"lapwing/geo"
)

// What is written of a geometry is, after the GeoPackage's own header, what
// go-geom writes; and the envelope is the bounds that go-geom finds.
func TestGeometryIsGoGeoms(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 14))
	places := func() []geo.LonLat {
		out := make([]geo.LonLat, 2+rng.IntN(6))
		for i := range out {
			out[i] = geo.LonLat{Lon: rng.Float64()*360 - 180, Lat: rng.Float64()*180 - 90}
		}
		return out
	}
	flat := func(places []geo.LonLat) (out []float64) {
		for _, p := range places {
			out = append(out, p.Lon, p.Lat)
		}
		return out
	}
	check := func(got Geometry, want geom.T) {
		t.Helper()
		text, err := wkb.Marshal(want, wkb.NDR)
		require.NoError(t, err)
		left, err := unpack(got.blob)
		require.NoError(t, err)
		require.Equal(t, text, left)
		require.Equal(t, text, got.WKB())
		require.Equal(t, len(got.blob), cap(got.blob), "its size was known before")
		b := want.Bounds()
		assert.Equal(t, box{b.Min(0), b.Min(1), b.Max(0), b.Max(1)}, got.box)
		head := append([]byte("GP\x00\x03"), 0xe6, 0x10, 0, 0) // version 1, west to north and the least byte first; 4326
		for _, v := range []float64{b.Min(0), b.Max(0), b.Min(1), b.Max(1)} {
			head = binary.LittleEndian.AppendUint64(head, math.Float64bits(v))
		}
		assert.Equal(t, head, got.blob[:len(got.blob)-len(left)])
	}
	for parts := range 4 {
		var polygons []geo.Polygon
		var lines [][]geo.LonLat
		areas, ways := geom.NewMultiPolygon(geom.XY), geom.NewMultiLineString(geom.XY)
		for range parts {
			p := geo.Polygon{Shell: places()}
			all := flat(p.Shell)
			ends := []int{len(all)}
			for range rng.IntN(3) {
				hole := places()
				p.Holes = append(p.Holes, hole)
				all = append(all, flat(hole)...)
				ends = append(ends, len(all))
			}
			polygons = append(polygons, p)
			require.NoError(t, areas.Push(geom.NewPolygonFlat(geom.XY, all, ends)))
			line := places()
			lines = append(lines, line)
			require.NoError(t, ways.Push(geom.NewLineStringFlat(geom.XY, flat(line))))
		}
		check(MultiPolygon(polygons), areas)
		check(MultiLine(lines), ways)
		readBackLines(t, lines, MultiLine(lines).Blob())
	}
}

// readBackLines reads what was written of lines; cut short it is an error, and other shapes
// are told by name.
func readBackLines(t *testing.T, lines [][]geo.LonLat, blob []byte) {
	t.Helper()
	read, other, err := Lines(blob)
	require.NoError(t, err)
	require.Empty(t, other)
	require.Len(t, read, len(lines))
	for i, l := range lines {
		for k, p := range l {
			assert.Equal(t, p, geo.LonLat{Lon: read[i][k].X, Lat: read[i][k].Y})
		}
	}
	for n := geometryHead - 4; n < len(blob); n++ {
		_, _, err := Lines(blob[:n])
		require.Error(t, err, "%d bytes of %d", n, len(blob))
	}
	_, other, err = Lines(MultiPolygon(nil).Blob())
	require.NoError(t, err)
	assert.Equal(t, "MultiPolygon", other)
	read, other, err = Lines(nil)
	require.NoError(t, err)
	assert.Empty(t, other)
	assert.Empty(t, read)
}
