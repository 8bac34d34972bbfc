package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
)

// validByGEOS asserts that GEOS, which answers through GDAL, finds the field in a
// coverage.geojson valid; where GDAL is not, nobody is asked.
func validByGEOS(t *testing.T, path string) {
	t.Helper()
	ogrinfo, err := exec.LookPath("ogrinfo")
	if err != nil {
		require.NotEqual(t, "all", os.Getenv("LAPWING_STRANGERS"), "no ogrinfo: install Debian's gdal-bin")
		return
	}
	out, err := exec.Command(ogrinfo, "-q", "-ro", path, "-dialect", "sqlite", "-sql",
		"SELECT ST_IsValidReason(geometry) AS says FROM coverage WHERE kind = 'field'").CombinedOutput()
	require.NoError(t, err, string(out))
	require.Contains(t, string(out), "says (String) = Valid Geometry\n")
}

// groundOf assesses a field and reads its ground, the features of kind field,
// back from coverage.geojson. They are valid, do not overlap, and are in sum what
// summary.json says. It is nil of a job that is refused.
func groundOf(t *testing.T, args ...string) []geom.Geometry {
	t.Helper()
	dir := t.TempDir()
	var out, errs bytes.Buffer
	status := run(context.Background(), append([]string{"assess", "--json", "--out", dir}, args...), strings.NewReader(""), &out, &errs)
	if status == wrongInput {
		return nil
	}
	require.Equal(t, done, status, errs.String())
	var summary struct {
		Field struct {
			Area      float64 `json:"area_m2"`
			Perimeter float64 `json:"perimeter_m"`
			Lon, Lat  float64
		}
	}
	require.NoError(t, json.Unmarshal(out.Bytes(), &summary))
	path := filepath.Join(dir, "coverage.geojson")
	validByGEOS(t, path)
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	var file struct {
		Features []struct {
			Properties struct {
				Kind string
				Area float64 `json:"area_m2"`
			}
			Geometry json.RawMessage
		}
	}
	require.NoError(t, json.Unmarshal(text, &file))
	var ground []geom.Geometry
	var said, measured, edge float64
	frame := geo.NewFrame(geo.LonLat{Lon: summary.Field.Lon, Lat: summary.Field.Lat})
	flat := func(at geom.XY) geom.XY {
		x, y := frame.Metres(geo.LonLat{Lon: at.X, Lat: at.Y})
		return geom.XY{X: x, Y: y}
	}
	for _, f := range file.Features {
		if f.Properties.Kind != "field" {
			continue
		}
		g, err := geom.UnmarshalGeoJSON(f.Geometry) // which validates
		require.NoError(t, err)
		require.Empty(t, ground, "the field is one feature")
		ground = append(ground, g.Dump()...)
		said += f.Properties.Area
		plain := g.TransformXY(flat)
		measured += plain.Area()
		edge += plain.Boundary().Length()
	}
	require.InDelta(t, summary.Field.Area, said, 1e-6, "area_m2")
	// Half of the ninth decimal of a degree, 0.06 mm, to either side, and the bow of
	// long edges, 1 mm at most.
	require.InDelta(t, summary.Field.Area, measured, 1.2e-3*edge, "the ground in the file")
	return ground
}

// The field in coverage.geojson is the ground that was measured, whatever its
// boundary is made of.
func TestFieldReadBack(t *testing.T) {
	frame := geo.NewFrame(origin)
	box := func(x0, y0, x1, y1 float64) string {
		var at []string
		for _, c := range [][2]float64{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}} {
			p := frame.FromMetres(c[0], c[1])
			at = append(at, fmt.Sprintf("[%.9f,%.9f]", p.Lon, p.Lat))
		}
		return "[" + strings.Join(at, ",") + "]"
	}
	dir := t.TempDir()
	log := "time,lat,lon,working\n"
	for i := range 61 {
		p := frame.FromMetres(float64(5*i), 25)
		log += fmt.Sprintf("2025-04-02T09:%02d:%02dZ,%.9f,%.9f,1\n", i/60, i%60, p.Lat, p.Lon)
	}
	track := filepath.Join(dir, "day.csv")
	require.NoError(t, os.WriteFile(track, []byte(log), 0o644))
	for _, tc := range []struct {
		name         string
		polygons     []string // each its rings
		parts, holes int
		area         float64 // m²
	}{
		{"parts that overlap", []string{box(0, 0, 200, 60), box(150, 30, 300, 100)}, 1, 0, 12000 + 10500 - 1500},
		{"a part within a part", []string{box(0, 0, 200, 60), box(50, 10, 100, 50)}, 1, 0, 12000},
		{"a part over a hole", []string{box(0, 0, 200, 60) + "," + box(50, 10, 100, 50), box(60, 20, 80, 40)}, 2, 1, 12000 - 2000 + 400},
		{"holes within holes", []string{box(0, 0, 200, 60) + "," + box(50, 10, 100, 50) + "," + box(60, 20, 80, 40)}, 1, 1, 10000},
		{"holes that overlap", []string{box(0, 0, 200, 60) + "," + box(50, 10, 100, 50) + "," + box(90, 20, 120, 40)}, 1, 1, 12000 - 2000 - 400},
		{"a hole outside", []string{box(0, 0, 200, 60) + "," + box(300, 10, 340, 50)}, 1, 0, 12000},
		{"a hole over the edge", []string{box(0, 0, 200, 60) + "," + box(180, 10, 240, 50)}, 1, 0, 12000 - 800},
		{"a hole that parts the field", []string{box(0, 0, 200, 60) + "," + box(80, -10, 120, 70)}, 2, 0, 12000 - 2400},
	} {
		t.Run(tc.name, func(t *testing.T) {
			path := filepath.Join(dir, "boundary.geojson")
			text := `{"type":"MultiPolygon","coordinates":[[` + strings.Join(tc.polygons, "],[") + `]]}`
			require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
			ground := groundOf(t, "--boundary", path, "--track", track, "--width", "10 m")
			assert.Len(t, ground, tc.parts)
			holes, area := 0, 0.0
			for _, g := range ground {
				p := g.MustAsPolygon()
				holes += p.NumInteriorRings()
				area += g.TransformXY(func(at geom.XY) geom.XY {
					x, y := frame.Metres(geo.LonLat{Lon: at.X, Lat: at.Y})
					return geom.XY{X: x, Y: y}
				}).Area()
			}
			assert.Equal(t, tc.holes, holes)
			assert.InDelta(t, tc.area, area, 0.5, "m², by hand")
		})
	}
}

// The same of every case that is a job, the hard ones too. Some of those are
// refused; then there is no map.
func TestFieldsOfCasesReadBack(t *testing.T) {
	for _, folder := range []string{"cases", "hard"} {
		jobs, err := filepath.Glob(filepath.Join(repository, "testdata", folder, "*", "job.yaml"))
		require.NoError(t, err)
		for _, path := range jobs {
			t.Run(folder+"/"+filepath.Base(filepath.Dir(path)), func(t *testing.T) {
				if groundOf(t, path) == nil {
					assert.Equal(t, "hard", folder, "refused")
				}
			})
		}
	}
}
