package boundary_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/tidwall/geodesic"

	"lapwing/geo"
	"lapwing/geo/boundary"
	"lapwing/geo/plane"
)

// shared returns a file of the data that lies beside the repository.
func shared(t *testing.T, path string) []byte {
	t.Helper()
	data, ok := sharedIfThere(t, path)
	if !ok {
		t.Skipf("data file %s is not beside the repository", path)
	}
	return data
}

// sharedIfThere is shared for tests that can do without.
func sharedIfThere(t *testing.T, path string) ([]byte, bool) {
	t.Helper()
	dir, err := os.Getwd()
	require.NoError(t, err)
	for ; dir != filepath.Dir(dir); dir = filepath.Dir(dir) {
		if data, err := os.ReadFile(filepath.Join(dir, "shared", "data", path)); err == nil {
			return data, true
		}
	}
	return nil, false
}

func read(t *testing.T, text string) *boundary.File {
	t.Helper()
	f, err := readAs("field", strings.NewReader(text))
	require.NoError(t, err)
	return f
}

// onPlane returns the area of b on the plane around its middle, and the
// length of its rings, in metres.
func onPlane(t *testing.T, b boundary.Boundary) (area, length float64) {
	t.Helper()
	frame := geo.NewFrame(middle(b))
	lay := func(places []geo.LonLat) plane.Ring {
		var r plane.Ring
		for _, p := range places {
			q, ok := frame.ToPlane(p)
			require.True(t, ok, "%v lies outside the plane", p)
			r = append(r, q)
		}
		length += r.Length().Metres()
		return r
	}
	var sum plane.Area
	for _, p := range b.Parts {
		shell := lay(p.Shell).Area()
		assert.Positive(t, shell, "shell runs clockwise")
		sum += shell
		for _, h := range p.Holes {
			hole := lay(h).Area()
			assert.Negative(t, hole, "hole runs anticlockwise")
			sum += hole
		}
	}
	return sum.SquareMetres(), length
}

func middle(b boundary.Boundary) geo.LonLat {
	low, high := b.Parts[0].Shell[0], b.Parts[0].Shell[0]
	for _, p := range b.Parts {
		for _, q := range p.Shell {
			low = geo.LonLat{Lon: min(low.Lon, q.Lon), Lat: min(low.Lat, q.Lat)}
			high = geo.LonLat{Lon: max(high.Lon, q.Lon), Lat: max(high.Lat, q.Lat)}
		}
	}
	return geo.LonLat{Lon: (low.Lon + high.Lon) / 2, Lat: (low.Lat + high.Lat) / 2}
}

// onEllipsoid returns the area of b with geodesic edges between the places
// read, by C. Karney's algorithm. The places are so close to each other that
// the edges' shape is worth less than 1e-9 of the area.
func onEllipsoid(b boundary.Boundary) float64 {
	ring := func(places []geo.LonLat) float64 {
		p := geodesic.WGS84.PolygonInit(false)
		for _, q := range places {
			p.AddPoint(q.Lat, q.Lon)
		}
		var area float64
		p.Compute(false, true, &area, nil)
		return area
	}
	var sum float64
	for _, p := range b.Parts {
		sum += ring(p.Shell)
		for _, h := range p.Holes {
			sum += ring(h)
		}
	}
	return sum
}

// The grid's rounding moves each corner by half a tick at most, so an area by
// half a tick times the way round.
func tickError(length float64) float64 { return length * 0.05e-3 }

func polygon(rings ...string) string {
	for i, r := range rings {
		rings[i] = "[" + r + "]"
	}
	return `{"type":"Polygon","coordinates":[` + strings.Join(rings, ",") + `]}`
}

// Areas with edges straight in longitude and latitude, computed with
// GeographicLib 2.1.2 from rings cut into short pieces.
func TestAreasOfFields(t *testing.T) {
	outer := `[-117.20,46.70],[-117.19,46.70],[-117.19,46.71],[-117.20,46.71],[-117.20,46.70]`
	hole := `[-117.198,46.702],[-117.198,46.704],[-117.196,46.704],[-117.196,46.702],[-117.198,46.702]`
	for _, c := range []struct {
		name, text string
		want       float64 // m²
	}{
		{"outer", polygon(outer), 850_119.411},
		{"hole as a field", polygon(hole), 34_006.020},
		{"outer minus hole", polygon(outer, hole), 816_113.391},
		{"L", polygon(`[-117.20,46.70],[-117.19,46.70],[-117.19,46.705],[-117.195,46.705],[-117.195,46.71],[-117.20,46.71],[-117.20,46.70]`), 637_599.276},
		{"triangle", polygon(`[-117.20,46.70],[-117.19,46.70],[-117.19,46.71],[-117.20,46.70]`), 425_072.663},
		{"160 acres west", polygon(`[-117.2,46.7],[-117.189478752,46.699999516],[-117.189477345,46.707238050],[-117.2,46.707238533],[-117.2,46.7]`), 647_497.041},
		{"160 acres east", polygon(`[-105,49],[-104.989002976,48.999999476],[-104.989001382,49.007235097],[-105,49.007235621],[-105,49]`), 647_497.051},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := read(t, c.text)
			require.Len(t, f.Boundaries, 1)
			area, length := onPlane(t, f.Boundaries[0])
			// The two quarters' values are for geodesic edges; edge shape is worth 1e-5 of a quarter mile's area.
			tolerance := tickError(length) + 0.002
			if strings.HasPrefix(c.name, "160") {
				tolerance = 1e-5 * c.want
			}
			assert.InDelta(t, c.want, area, tolerance)
			assert.InDelta(t, onEllipsoid(f.Boundaries[0]), area, tickError(length))
		})
	}
}

// A square of 0.01 degree; GeographicLib 2.1.2, geodesic edges. An east-west
// geodesic bows poleward of the parallel by up to L² tan(lat)/(8R) in its
// middle: two thirds of that times L, top and bottom, nearly cancel.
func TestAreasOfCells(t *testing.T) {
	for _, c := range []struct {
		lon, lat, want float64
	}{
		{0, 0, 1_230_907.205}, {-100, 30, 1_069_521.174}, {-100, 40, 948_099.212}, {-117, 46, 860_937.979},
		{-110, 47, 845_442.791}, {-105, 49, 813_660.846}, {-106, 52, 764_077.618}, {148, -33, 1_036_495.427},
		{179.995, 51, 780_853.801}, // across the antimeridian
	} {
		east := math.Remainder(c.lon+0.01, 360)
		f := read(t, polygon(fmt.Sprintf("[%v,%v],[%v,%v],[%v,%v],[%v,%v],[%v,%v]",
			c.lon, c.lat, east, c.lat, east, c.lat+0.01, c.lon, c.lat+0.01, c.lon, c.lat)))
		area, length := onPlane(t, f.Boundaries[0])
		assert.InDelta(t, c.want, area, tickError(length)+0.01, "cell at %v, %v", c.lon, c.lat)
		assert.Empty(t, f.Notes)
	}
}

// Official parcels of three countries; the property geodesic_area_m2 is PROJ's
// area with geodesic edges, rounded to 0.01 m² or to 6 figures.
func TestAreasOfParcels(t *testing.T) {
	for _, set := range []string{"parcels-denmark", "parcels-finland", "parcels-nl-blocks"} {
		t.Run(set, func(t *testing.T) {
			data := shared(t, set+"/parcels.geojson")
			var in struct {
				Features []struct {
					Properties struct {
						Area float64 `json:"geodesic_area_m2"`
					}
					Geometry struct{ Coordinates [][][]float64 }
				}
			}
			require.NoError(t, json.Unmarshal(data, &in))
			f, err := readAs(set, bytes.NewReader(data))
			require.NoError(t, err)
			require.Equal(t, len(in.Features), len(f.Boundaries))
			for i, b := range f.Boundaries {
				area, length := onPlane(t, b)
				assert.InDelta(t, onEllipsoid(b), area, tickError(length), "parcel %d", i)
				want := in.Features[i].Properties.Area
				between := 0.0 // ground between geodesic and straight edges
				for _, ring := range in.Features[i].Geometry.Coordinates {
					between += betweenEdges(ring)
				}
				assert.InDelta(t, want, area, between+tickError(length)+1e-6*want+0.01, "parcel %d", i)
			}
		})
	}
}

// betweenEdges bounds the ground between a ring's edges straight in longitude
// and latitude and geodesic ones. The curves part by L E tan(lat)/(8R), E = √(e² + 4n²),
// L = e for an edge that goes e east and n north; the lens between is two
// thirds of that times the edge's length.
func betweenEdges(ring [][]float64) (area float64) {
	const radius, rad = 6_371_000, math.Pi / 180
	for i := 1; i < len(ring); i++ {
		lat := ring[i][1] * rad
		e := (ring[i][0] - ring[i-1][0]) * rad * math.Cos(lat) * radius
		n := (ring[i][1] - ring[i-1][1]) * rad * radius
		area += 2. / 3 * math.Hypot(e, n) * math.Abs(e) * math.Hypot(e, 2*n) * math.Tan(math.Abs(lat)) / (8 * radius)
	}
	return 1.01 * area // the radius of a sphere is within 1 % of the ellipsoid's
}

// Outlines of two fields; their areas are PROJ's, of geodesic edges, the
// second to the nearest 10 m².
func TestAreasOfWholeFields(t *testing.T) {
	for _, c := range []struct {
		file, name  string
		want, digit float64
	}{
		{"barley-harvest-2015/boundary.geojson", "sec1east", 797_421.21, 0.005},
		{"oats-harvest-2017/boundary.geojson", "millview", 732_190, 5},
	} {
		data := shared(t, c.file)
		var in struct {
			Features []struct {
				Geometry struct{ Coordinates [][][]float64 }
			}
		}
		require.NoError(t, json.Unmarshal(data, &in))
		f, err := readAs(c.file, bytes.NewReader(data))
		require.NoError(t, err)
		require.Len(t, f.Boundaries, 1)
		assert.Equal(t, c.name, f.Boundaries[0].Name)
		area, length := onPlane(t, f.Boundaries[0])
		between := betweenEdges(in.Features[0].Geometry.Coordinates[0])
		assert.InDelta(t, c.want, area, between+c.digit+tickError(length))
	}
}
