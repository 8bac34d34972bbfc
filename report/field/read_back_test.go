package field

import (
	"bytes"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A general library for GeoJSON, which knows nothing of this program, reads
// coverage.geojson: every feature is there, rings close, shells run
// anticlockwise and holes clockwise (RFC 7946 3.1.6).
func TestGeoJSONIsReadByAnIndependentLibrary(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, small().GeoJSON(&b))
	fc, err := geojson.UnmarshalFeatureCollection(b.Bytes())
	require.NoError(t, err)
	kinds := map[string]int{}
	polygon := func(p orb.Polygon) {
		for i, ring := range p {
			assert.True(t, ring.Closed())
			want := orb.CCW
			if i > 0 {
				want = orb.CW
			}
			assert.Equal(t, want, ring.Orientation())
		}
	}
	for _, f := range fc.Features {
		kinds[f.Properties.MustString("kind")]++
		switch g := f.Geometry.(type) {
		case orb.Polygon:
			polygon(g)
		case orb.MultiPolygon:
			for _, p := range g {
				polygon(p)
			}
		case orb.LineString:
			assert.Contains(t, []string{"pass", "open"}, f.Properties.MustString("kind"))
			assert.Greater(t, len(g), 1)
		default:
			t.Errorf("found a %T", g)
		}
	}
	for _, kind := range []string{"field", "once", "overlap", "skip", "pass"} {
		assert.Positive(t, kinds[kind], kind)
	}
}
