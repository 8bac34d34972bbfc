package geojson

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/plane"
)

// The shapes that an Earth gives are those that a Writer writes: with a hole, across
// the antimeridian, and too narrow to show.
func TestEarthGivesWhatIsWritten(t *testing.T) {
	square := func(x, y, size plane.Length) plane.Ring {
		return plane.Ring{{X: x, Y: y}, {X: x + size, Y: y}, {X: x + size, Y: y + size}, {X: x, Y: y + size}}
	}
	const m = plane.Metre
	hole := square(-50*m, -50*m, 20*m)
	for i, j := 0, len(hole)-1; i < j; i, j = i+1, j-1 {
		hole[i], hole[j] = hole[j], hole[i]
	}
	polygons := []plane.Polygon{
		{Shell: square(-100*m, -100*m, 200*m), Holes: []plane.Ring{hole}},
		{Shell: square(300*m, 0, 9*m)},
		{Shell: plane.Ring{{X: 400 * m, Y: 0}, {X: 400*m + 1, Y: 0}, {X: 400*m + 1, Y: 1}}},
	}
	line := []plane.Point{{X: -500 * m, Y: 0}, {X: 500 * m, Y: 30 * m}}
	for _, lon := range []float64{-98.4, 180, -179.9999} {
		frame := geo.NewFrame(geo.LonLat{Lon: lon, Lat: 54})
		var b bytes.Buffer
		w := NewWriter(&b, frame, nil)
		for range 2 {
			w.Feature(w.Polygons(polygons), nil)
			w.Feature(w.Line(line), nil)
		}
		require.NoError(t, w.Close(nil))
		var wantShapes [][]geo.Polygon
		var wantLines [][][]geo.LonLat
		require.True(t, Reread(bytes.NewReader(b.Bytes()), func(f Written) bool {
			if p, ok := f.Polygons(); ok {
				wantShapes = append(wantShapes, p)
			} else if l, ok := f.Lines(); ok {
				wantLines = append(wantLines, l)
			}
			return true
		}))
		earth := NewEarth(frame)
		require.Len(t, wantShapes, 2)
		require.Len(t, wantLines, 2)
		assert.Equal(t, wantShapes[0], earth.Polygons(polygons...), "%v", lon)
		assert.Equal(t, wantLines[0], earth.Line(line), "%v", lon)
	}
}
