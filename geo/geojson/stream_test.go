package geojson_test

import (
	"bytes"
	"errors"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/geojson"
	"lapwing/geo/plane"
)

func square(x, y, side plane.Length) plane.Ring {
	return plane.Ring{{X: x, Y: y}, {X: x + side, Y: y}, {X: x + side, Y: y + side}, {X: x, Y: y + side}}
}

func TestWriter(t *testing.T) {
	var b bytes.Buffer
	g := geojson.NewWriter(&b, geo.NewFrame(geo.LonLat{}), func(m *geojson.Members) { m.Text("run", `a "quoted" <é>`) })
	g.Feature(g.Polygon(plane.Polygon{Shell: square(0, 0, plane.Metre), Holes: []plane.Ring{square(2000, 2000, 1000).Reversed()}}), func(m *geojson.Members) {
		m.Text("kind", "skip")
		m.Integer("id", -7)
		m.Truth("headland", true)
		m.Integers("passes", []int{1, 20})
		m.Integers("none", nil)
		m.Append("area_m2", func(b []byte) []byte { return append(b, "1.5"...) })
	})
	g.Feature(g.Line([]plane.Point{{}}), func(*geojson.Members) { t.Error("a point is no line") })
	g.Feature(g.Polygon(plane.Polygon{Shell: square(0, 0, 0)}), func(*geojson.Members) { t.Error("nothing is left of the square") })
	g.Feature(g.Line([]plane.Point{{}, {X: plane.Metre}}), nil)
	g.Feature(g.Point(plane.Point{Y: -plane.Metre}), nil)
	require.NoError(t, g.Close(func(m *geojson.Members) { m.Integer("left_out", g.Lost()) }))
	// A metre on the equator is 8.983153 microdegrees of longitude, and 9.043695 of latitude.
	want := `{"type":"FeatureCollection","run":"a \"quoted\" \u003cé\u003e","features":[
{"type":"Feature","properties":{"kind":"skip","id":-7,"headland":true,"passes":[1,20],"none":[],"area_m2":1.5},"geometry":{"type":"Polygon","coordinates":` +
		`[[[0,0],[0.000008983,0],[0.000008983,0.000009044],[0,0.000009044],[0,0]],` +
		`[[0.000001797,0.000002713],[0.000002695,0.000002713],[0.000002695,0.000001809],[0.000001797,0.000001809],[0.000001797,0.000002713]]]}},
{"type":"Feature","properties":{},"geometry":{"type":"LineString","coordinates":[[0,0],[0.000008983,0]]}},
{"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[0,-0.000009044]}}
],"left_out":2}
`
	assert.Equal(t, want, b.String())
}

func TestWriteErrorStays(t *testing.T) {
	full := errors.New("the disk is full")
	g := geojson.NewWriter(failing{full}, geo.NewFrame(geo.LonLat{}), nil)
	assert.ErrorIs(t, g.Close(nil), full)
}

type failing struct{ err error }

func (f failing) Write([]byte) (int, error) { return 0, f.err }

// written are polygons and lines around a place, and the file they make.
func written(t *testing.T, centre geo.LonLat) (frame geo.Frame, polygons []plane.Polygon, lines [][]plane.Point, text []byte) {
	t.Helper()
	rng := rand.New(rand.NewPCG(8, 3))
	for range 60 {
		x, y := plane.Length(rng.IntN(4e6))-2e6, plane.Length(rng.IntN(4e6))-2e6
		side := plane.Length(9000 + rng.IntN(1e6))
		polygons = append(polygons, plane.Polygon{Shell: square(x, y, side), Holes: []plane.Ring{square(x+side/3, y+side/3, side/4).Reversed()}})
		lines = append(lines, []plane.Point{{X: x, Y: y}, {X: y, Y: x}, {X: -x, Y: y}})
	}
	frame = geo.NewFrame(centre)
	var b bytes.Buffer
	g := geojson.NewWriter(&b, frame, nil)
	for i, p := range polygons {
		g.Feature(g.Polygon(p), func(m *geojson.Members) { m.Integer("id", i) })
	}
	for _, l := range lines {
		g.Feature(g.Line(l), nil)
	}
	require.NoError(t, g.Close(nil))
	require.Zero(t, g.Lost())
	return frame, polygons, lines, b.Bytes()
}

// What is written and read lies on the same ticks, or the next: the ninth
// decimal is as large as a tick.
func TestWriteThenRead(t *testing.T) {
	frame, polygons, lines, text := written(t, geo.LonLat{Lon: -103.9, Lat: 48.2})
	// Long edges are cut up, so that more places may come back.
	near := func(want []plane.Point, got []geo.LonLat) {
		t.Helper()
		for _, at := range got {
			q, ok := frame.ToPlane(at)
			require.True(t, ok)
			if p := want[0]; max(p.X-q.X, q.X-p.X, p.Y-q.Y, q.Y-p.Y) <= plane.Tick {
				if want = want[1:]; len(want) == 0 {
					return
				}
			}
		}
		require.Empty(t, want, "did not come back")
	}
	all, faults := features(t, string(text))
	require.Empty(t, faults)
	require.Len(t, all, len(polygons)+len(lines))
	for i, p := range polygons {
		id, ok := all[i].Properties.Member("id").Number()
		require.True(t, ok)
		require.Equal(t, float64(i), id)
		read, err := all[i].Geometry.Polygons()
		require.NoError(t, err)
		require.Len(t, read, 1)
		for k, ring := range p.Rings() {
			near(append(ring[:len(ring):len(ring)], ring[0]), read[0][k].At)
		}
	}
	for i, l := range lines {
		read, err := all[len(polygons)+i].Geometry.Lines()
		require.NoError(t, err)
		near(l, read[0])
	}
}

// GDAL reads what is written, and GEOS behind it finds all of it valid; so
// across the antimeridian, where shapes are cut.
func TestAgainstOGR(t *testing.T) {
	if _, err := exec.LookPath("ogrinfo"); err != nil {
		t.Skip("ogrinfo of GDAL is not on this machine")
	}
	for name, centre := range map[string]geo.LonLat{"plain": {Lon: -103.9, Lat: 48.2}, "antimeridian": {Lon: 179.9999, Lat: -17.2}} {
		t.Run(name, func(t *testing.T) {
			_, _, _, text := written(t, centre)
			path := filepath.Join(t.TempDir(), "shapes.geojson")
			require.NoError(t, os.WriteFile(path, text, 0o644))
			out, err := exec.Command("ogrinfo", "-q", path, "-dialect", "sqlite", "-sql",
				"SELECT count(*) AS n, sum(ST_IsValid(geometry)) AS valid, max(ST_MaxX(geometry) - ST_MinX(geometry)) AS wide FROM shapes WHERE ST_Area(geometry) > 0").CombinedOutput()
			require.NoError(t, err, string(out))
			assert.Contains(t, string(out), "n (Integer) = 60")
			assert.Contains(t, string(out), "valid (Integer) = 60")
			out, err = exec.Command("ogrinfo", "-ro", "-al", "-so", path).CombinedOutput()
			require.NoError(t, err, string(out))
			assert.Contains(t, string(out), "Feature Count: 120")
			assert.Equal(t, name == "antimeridian", strings.Contains(string(text), "MultiPolygon"))
		})
	}
}
