package boundary

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
)

// A ring that crosses itself by more than rounding makes is refused as before: by 1 m
// where it has seven digits, and a bow that is as wide as itself.
func TestCrossingsThatAreMeant(t *testing.T) {
	for _, ring := range []string{
		`[0,0],[0.01,0],[0.01,0.01],[0.005,0.01],[0.006,0.005],[0.0040001,0.005],[0.00501,0.01],[0,0.01],[0,0]`,
		`[0,0],[0.01,0.01],[0.01,0],[0,0.01],[0,0]`,
	} {
		_, err := ReadGeoJSON("field.geojson", []byte(`{"type":"Polygon","coordinates":[[`+ring+`]]}`))
		assert.ErrorContains(t, err, "a ring that crosses itself at", ring)
	}
}

// Rings with corners nearer to each other than the last digit are rounded to it, as
// files are written: whatever crosses then is repaired, to the area that it had, but
// for half a unit along its edges.
func TestRoundingIsRepaired(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 15))
	crossed := 0
	for n := range 300 {
		// A comb of slanting teeth, each and the gaps between them about a unit of the
		// last digit wide.
		const unit = 1e-6
		var at []geo.LonLat
		for x := 0.0; x < 200*unit; x += (1 + rng.Float64()) * unit {
			t := 0.5 + rng.Float64()
			at = append(at, geo.LonLat{Lon: x, Lat: 300 * unit}, geo.LonLat{Lon: x + 40*t*unit, Lat: (300 + 200*t) * unit}, geo.LonLat{Lon: x + 0.8*unit, Lat: 300 * unit})
		}
		at = append(at, geo.LonLat{Lon: 260 * unit, Lat: 0}, geo.LonLat{Lon: -unit, Lat: 0})
		exact, length := 0.0, 0.0
		var text []string
		for i, p := range at {
			q := at[(i+1)%len(at)]
			exact -= (p.Lon*q.Lat - q.Lon*p.Lat) / 2 // clockwise
			length += abs(q.Lon-p.Lon) + abs(q.Lat-p.Lat)
			text = append(text, fmt.Sprintf("[%.6f,%.6f]", p.Lon, p.Lat))
		}
		text = append(text, text[0])
		f, err := ReadGeoJSON("field.geojson", []byte(`{"type":"Polygon","coordinates":[[`+strings.Join(text, ",")+`]]}`))
		require.NoError(t, err, "%d: %s", n, text)
		got := 0.0
		for _, part := range f.Boundaries[0].Parts {
			for _, ring := range append([][]geo.LonLat{part.Shell}, part.Holes...) {
				for i, p := range ring {
					q := ring[(i+1)%len(ring)]
					got += (p.Lon*q.Lat - q.Lon*p.Lat) / 2
				}
			}
		}
		assert.InDelta(t, exact, got, length*unit)
		for _, note := range f.Notes {
			if strings.Contains(note.Text, "crosses itself by less than 23 cm") {
				crossed++
			}
		}
	}
	assert.Greater(t, crossed, 30, "rings that rounding has crossed")
}

func abs(x float64) float64 { return max(x, -x) }

// Of rings in no order a hole that rounding has carried across its shell's edge by a
// unit is a hole still, and a neighbour that reaches in by one no hole.
func TestNestAfterRounding(t *testing.T) {
	box := func(x0, y0, x1, y1 float64) (r ring) {
		for _, p := range [][2]float64{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}} {
			r.at = append(r.at, vertex{LonLat: geo.LonLat{Lon: p[0], Lat: p[1]}})
		}
		return r
	}
	outlines, err := newDraft("field.shp").nest([]ring{box(-1e-9, 0.004, 0.003, 0.006), box(0, 0, 0.01, 0.01), box(0.01-1e-9, 0, 0.02, 0.01)})
	require.NoError(t, err)
	require.Len(t, outlines, 2)
	assert.Len(t, outlines[0], 2, "the shell and its hole")
	assert.Len(t, outlines[1], 1)
}
