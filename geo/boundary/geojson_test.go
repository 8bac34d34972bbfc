package boundary_test

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/boundary"
)

// A field of 0.01 degree north-east of 0, 0, anticlockwise.
const square = `[0,0],[0.01,0],[0.01,0.01],[0,0.01],[0,0]`

func feature(properties, geometry string) string {
	return `{"type":"Feature","properties":` + properties + `,"geometry":` + geometry + `}`
}

func collection(features ...string) string {
	return `{"type":"FeatureCollection","features":[` + strings.Join(features, ",\n") + `]}`
}

func refused(t *testing.T, name, text string) *boundary.SyntaxError {
	t.Helper()
	_, err := readAs(name, strings.NewReader(text))
	var syntax *boundary.SyntaxError
	require.ErrorAs(t, err, &syntax)
	assert.NotContains(t, syntax.Error(), "\n")
	return syntax
}

func notes(f *boundary.File) (texts []string) {
	for _, n := range f.Notes {
		texts = append(texts, fmt.Sprintf("%d x %s", n.Count, n.Text))
	}
	return texts
}

func TestGeoJSONErrors(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"crossing", polygon("[0,0],[1,1],\n[1,0],[0,1],[0,0]"),
			"f:2: coordinates[0]: a ring that crosses itself at 0.500000, 0.500000 (lon, lat), want a ring that does not"},
		{"crossing at a corner", polygon(`[0,0],[0.01,0.01],[0.02,0.02],[0.02,0],[0.01,0.01],[0,0.02],[0,0]`),
			"f:1: coordinates[0]: a ring that crosses itself at 0.010000, 0.010000 (lon, lat), want a ring that does not"},
		{"one number", polygon("[0,0],\n[1],[1,0],[0,0]"),
			"f:2: coordinates[0][1]: a position of 1 numbers, want a position such as [-104.5, 49.1]"},
		{"null", collection(feature("{}", polygon(square)), feature("{}", polygon(square, "[0,0],[0,null]"))),
			"f:2: features[1].geometry.coordinates[1][1]: null in a position, want a position such as [-104.5, 49.1]"},
		{"too deep", polygon("[[0,0],[1,1]]"),
			"f:1: coordinates[0][0]: an array in a position, want a position such as [-104.5, 49.1]"},
		{"huge number", polygon("[0,1e999]"), "f:1: coordinates[0][0]: a number out of range, want a position such as [-104.5, 49.1]"},
		{"NaN", polygon("[0,NaN]"), "f:1: broken JSON: invalid character 'N' looking for beginning of value"},
		{"latitude", polygon("[0,0],[1,0],[1,90.5],[0,0],[-100,1]"), "f:1: coordinates[0][2]: latitude 90.5, want degrees within 90"},
		{"longitude", polygon("[0,0],[181,0],[1,1],[0,0]"), "f:1: coordinates[0][1]: longitude 181, want degrees within 180"},
		{"swapped", polygon("[49,-104],[49,-104.01],[49.01,-104.01],[49,-104]"),
			"f:1: coordinates[0][0]: latitude -104; latitude and longitude look swapped, want longitude first, within 180, then latitude, within 90"},
		{"pole", polygon("[0,89],[120,89],[-120,89],[0,89]"), "f:1: coordinates[0]: a ring around a pole, want a field boundary"},
		{"no polygon", `{"type":"Point","coordinates":[0,0]}`,
			"f:1: no polygon (Point left out: only polygons bound a field), want one at least"},
		{"only a line", polygon("[0,0],[1,1],[0,0]"),
			"f:1: no polygon (polygon without area left out (fewer than 3 distinct points)), want one at least"},
		{"empty collection", collection(), "f: no polygon, want one at least"},
		{"unknown type", `{"type":"Topology"}`, `f:1: type: type "Topology", want a Polygon, a MultiPolygon or a collection of them`},
		{"no type", `{}`, "f:1: an object without a type, want a GeoJSON object"},
		{"cut off", "{\n\"type\":", "f:2: broken JSON: the text ends early"},
		{"two values", "{}\n{}", "f:2: text after the end of the JSON value, want one value"},
		{"twice", `{"type":"Polygon","coordinates":[],"coordinates":[]}`, `f:1: coordinates: a second "coordinates" in one object, want one`},
		{"other system", `{"type":"Polygon","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::31467"}},"coordinates":[[` + square + `]]}`,
			`f:1: crs: coordinate system "EPSG:31467": datum "DHDN", which is not shifted to WGS 84 here, want WGS 84, or a datum within 2 m of it such as NAD83 or ETRS89`},
		{"nothing", "", "f: an empty file, want a field boundary"},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.Equal(t, c.want, refused(t, "f", c.text).Error())
		})
	}
}

func TestGeoJSONRepairs(t *testing.T) {
	hole := `[0.002,0.002],[0.002,0.004],[0.004,0.004],[0.004,0.002],[0.002,0.002]`
	wrong := "1 x ring wound the wrong way; turned (RFC 7946 3.1.6: shells anticlockwise, holes clockwise)"
	cell := 1_230_907.205 // m², GeographicLib 2.1.2
	for _, c := range []struct {
		name, text string
		parts      int
		holes      int // of the first part
		area       float64
		notes      []string
	}{
		{"as it should be", polygon(square, hole), 1, 1, 0.96 * cell, nil},
		{"open", polygon(`[0,0],[0.01,0],[0.01,0.01],[0,0.01]`), 1, 0, cell, []string{"1 x ring not closed; closed"}},
		{"repeated points", polygon(`[0,0],[0,0],[0.01,0],[0.01,0.01],[0.01,0.01],[0.01,0.01],[0,0.01],[0,0],[0,0]`), 1, 0, cell,
			[]string{"4 x repeated point removed"}},
		{"spikes", polygon(`[0,0],[0.01,0],[0.02,0],[0.01,0],[0.01,0.01],[0.01,0.015],[0.01,0.01],[0,0.01],[0,0]`), 1, 0, cell,
			[]string{"2 x spike without area removed"}},
		{"spike at the start", polygon(`[-0.01,0],[0,0],[0.01,0],[0.01,0.01],[0,0.01],[0,0],[-0.01,0]`), 1, 0, cell,
			[]string{"1 x spike without area removed"}},
		{"wrong way", polygon(`[0,0],[0,0.01],[0.01,0.01],[0.01,0],[0,0]`), 1, 0, cell, []string{wrong}},
		{"hole the wrong way", polygon(square, `[0.002,0.002],[0.004,0.002],[0.004,0.004],[0.002,0.004],[0.002,0.002]`), 1, 1, 0.96 * cell,
			[]string{wrong}},
		{"hole without area", polygon(square, `[0.002,0.002],[0.002,0.004],[0.002,0.002]`), 1, 0, cell,
			[]string{"1 x hole without area left out (fewer than 3 distinct points)"}},
		{"hole that touches the shell", polygon(square, `[0,0],[0.002,0.004],[0.004,0.002],[0,0]`), 1, 1, 0.94 * cell, nil},
		{"hole outside", polygon(square, `[0.02,0],[0.02,0.01],[0.03,0.01],[0.03,0],[0.02,0]`), 1, 0, cell,
			[]string{"1 x hole lies outside its polygon, wholly or in part"}},
		// slit from a corner to a hole
		{"slit", polygon(`[0,0],[0.01,0],[0.01,0.01],[0,0.01],[0,0],` + hole + `,[0,0]`), 1, 1, 0.96 * cell,
			[]string{"1 x ring touches itself; split"}},
		// two triangles that meet at a point   |>·<|
		{"pinch", polygon(`[0,0],[0.005,0.005],[0.01,0],[0.01,0.01],[0.005,0.005],[0,0.01],[0,0]`), 2, 0, 0.5 * cell,
			[]string{"1 x ring touches itself; split"}},
		{"corner on an edge", polygon(`[0,0],[0.01,0],[0.01,0.01],[0.005,0],[0,0.01],[0,0]`), 2, 0, 0.5 * cell,
			[]string{"1 x ring touches itself; split"}},
		// The mouth of a notch, carried past itself by 2 cm: it shuts, and the notch is a hole.
		{"neck that rounding has crossed", polygon(`[0,0],[0.01,0],[0.01,0.01],[0.005,0.01],[0.006,0.005],[0.004,0.005],[0.0050002,0.01],[0,0.01],[0,0]`), 1, 1, 0.95 * cell,
			[]string{"1 x ring crosses itself by less than 5 cm, as rounding makes it; repaired"}},
		{"the end past the beginning", polygon(`[0,0],[0.01,0],[0.01,0.01],[0,0.01],[0.0000003,-0.0000002],[0,0]`), 1, 0, cell,
			[]string{"1 x ring crosses itself by less than 5 cm, as rounding makes it; repaired"}},
		// Five digits are a metre, so that a metre may be rounding. The sides of the notch
		// meet a fourteenth of its depth below its mouth.
		{"few digits", polygon(`[0,0],[0.01,0],[0.01,0.01],[0.005,0.01],[0.00512,0.00501],[0.00499,0.00501],[0.00501,0.01],[0,0.01],[0,0]`), 1, 1, (1 - 0.5*0.00013*0.00499*(13.0/14)/1e-4) * cell,
			[]string{"1 x ring crosses itself by less than 2.3 m, as rounding makes it; repaired"}},
		{"holes that overlap", polygon(square, `[0.002,0.002],[0.002,0.004],[0.004,0.004],[0.004,0.002],[0.002,0.002]`, `[0.003,0.003],[0.003,0.005],[0.005,0.005],[0.005,0.003],[0.003,0.003]`), 1, 1, 0.93 * cell,
			[]string{"1 x holes of one polygon overlap; their ground is left out once"}},
		{"parts overlap", `{"type":"MultiPolygon","coordinates":[[[` + square + `]],[[[0.005,0.005],[0.015,0.005],[0.015,0.015],[0.005,0.015],[0.005,0.005]]]]}`,
			1, 0, 1.75 * cell, []string{"1 x polygons of one boundary overlap; their ground counts once"}},
		{"same part twice", `{"type":"MultiPolygon","coordinates":[[[` + square + `]],[[` + square + `]]]}`,
			1, 0, cell, []string{"1 x polygons of one boundary overlap; their ground counts once"}},
		{"a hole that lies in another part takes nothing from that", `{"type":"MultiPolygon","coordinates":[[[` + square + `],[[0.009,0.002],[0.02,0.002],[0.02,0.004],[0.009,0.004],[0.009,0.002]]],` +
			`[[[0.008,0],[0.018,0],[0.018,0.01],[0.008,0.01],[0.008,0]]]]}`,
			1, 0, 1.8 * cell, []string{wrong, "1 x hole lies outside its polygon, wholly or in part", "1 x polygons of one boundary overlap; their ground counts once"}},
		{"part in the hole of another", `{"type":"MultiPolygon","coordinates":[[[` + square + `],[` + hole + `]],[[[0.002,0.002],[0.004,0.002],[0.004,0.004],[0.002,0.004],[0.002,0.002]]]]}`,
			2, 1, cell, nil},
		{"collection", `{"type":"GeometryCollection","geometries":[{"type":"Point","coordinates":[1,1]},` + polygon(square) + `]}`,
			1, 0, cell, []string{"1 x Point left out: only polygons bound a field"}},
		{"heights", polygon(`[0,0,510],[0.01,0,511],[0.01,0.01,510.5],[0,0.01,509],[0,0,510]`), 1, 0, cell, nil},
		{"old crs member", `{"crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:OGC:1.3:CRS84"}},` + polygon(square)[1:], 1, 0, cell, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := read(t, c.text)
			assert.Equal(t, c.notes, notes(f))
			require.Len(t, f.Boundaries, 1)
			b := f.Boundaries[0]
			require.Len(t, b.Parts, c.parts)
			assert.Len(t, b.Parts[0].Holes, c.holes)
			area, _ := onPlane(t, b)
			// Squares and triangles of a cell near the equator are fractions of it to 1e-5.
			assert.InDelta(t, c.area, area, 2e-5*cell)
		})
	}
}

func TestGeoJSONNames(t *testing.T) {
	for properties, want := range map[string]string{
		`{"name":"Ketelbroek","id":7}`: "Ketelbroek",
		`{"field":"Long Acre"}`:        "Long Acre",
		`{"Name":"Hoge Kamp"}`:         "Hoge Kamp",
		`{"id":7}`:                     "7",
		`{"name":" ","id":"n7"}`:       "n7",
		`{"name":null}`:                "",
		`null`:                         "",
	} {
		f := read(t, collection(feature(properties, polygon(square))))
		assert.Equal(t, want, f.Boundaries[0].Name, properties)
	}
}

func TestPackedAndMarked(t *testing.T) {
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	_, err := z.Write([]byte("\xef\xbb\xbf" + polygon(square)))
	require.NoError(t, err)
	require.NoError(t, z.Close())
	assert.Len(t, read(t, packed.String()).Boundaries, 1)
	assert.Equal(t, "damaged gzip data", refused(t, "f", packed.String()[:40]).Found)
}

// RFC 7946 3.1.9: ground across the antimeridian comes cut in two, or as one
// ring that jumps. GeographicLib 2.1.2 gives 780,853.801 m² for it.
func TestAcrossTheAntimeridian(t *testing.T) {
	for _, text := range []string{
		polygon(`[179.995,51],[-179.995,51],[-179.995,51.01],[179.995,51.01],[179.995,51]`),
		`{"type":"MultiPolygon","coordinates":[[[[179.995,51],[180,51],[180,51.01],[179.995,51.01],[179.995,51]]],
			[[[-180,51],[-179.995,51],[-179.995,51.01],[-180,51.01],[-180,51]]]]}`,
	} {
		f := read(t, text)
		assert.Empty(t, f.Notes)
		area, length := onPlane(t, f.Boundaries[0])
		assert.InDelta(t, 780_853.801, area, tickError(length)+0.01)
		for _, p := range f.Boundaries[0].Parts {
			for i, q := range p.Shell {
				assert.InDelta(t, 180, q.Lon, 0.006, "place %d", i)
			}
		}
	}
}

// star is a ring of n corners around 0, 0.
func star(n int, radius func(i int) float64) string {
	var b strings.Builder
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		fmt.Fprintf(&b, "[%.9f,%.9f],", radius(i)*cos, radius(i)*sin)
	}
	fmt.Fprintf(&b, "[%.9f,0]", radius(0))
	return polygon(b.String())
}

// soon is seconds on an idle machine, with room for a busy one.
const soon = 2 * time.Minute

// Rings that take long to check, or that would take much memory, end soon.
func TestLargeRings(t *testing.T) {
	for name, text := range map[string]string{
		"round, 10,000 points": star(10_000, func(int) float64 { return 0.01 }),
		"star, 10,000 points":  star(10_000, func(i int) float64 { return 0.01 - 0.009*float64(i%2) }),
	} {
		start := time.Now()
		f := read(t, text)
		assert.Less(t, time.Since(start), soon, name)
		assert.Empty(t, f.Notes, name)
	}
	deep := strings.Repeat(`{"type":"GeometryCollection","geometries":[`, 3000) + strings.Repeat("]}", 3000)
	assert.Contains(t, refused(t, "f", deep).Error(), "nested more than 8 deep")
	assert.Contains(t, refused(t, "f", strings.Repeat("[", 3_000_000)).Error(), "exceeded max depth")
	assert.Equal(t, "more than 64 MiB", refused(t, "f", `{"type": "Polygon",`+strings.Repeat(" ", 65<<20)).Found)
	assert.Equal(t, "a file that begins with blanks alone", refused(t, "f", strings.Repeat(" ", 65<<20)).Found)
}

// A ring whose edges nearly all lie beside each other is given up.
func TestTangledRing(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	start := time.Now()
	tangle := star(100_000, func(i int) float64 { return 0.01 - 0.009*float64(i%2) })
	assert.Equal(t, "a ring of 100001 points too tangled to check", refused(t, "f", tangle).Found)
	assert.Less(t, time.Since(start), soon)
}

func TestReadError(t *testing.T) {
	broken := errors.New("the disk is gone")
	_, err := readAs("f", failing{broken})
	assert.ErrorIs(t, err, broken)
}

type failing struct{ err error }

func (f failing) Read([]byte) (int, error) { return 0, f.err }
