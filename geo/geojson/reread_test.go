package geojson_test

import (
	"bytes"
	"encoding/json"
	"io"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/geojson"
)

// A piece is what a reader finds of a feature.
type piece struct {
	properties string
	polygons   []geo.Polygon
	lines      [][]geo.LonLat
}

// reread reads a text the quick way; false where it is not one that a Writer
// wrote.
func reread(text []byte) (out []piece, ok bool) {
	ok = geojson.Reread(bytes.NewReader(text), func(f geojson.Written) bool {
		p := piece{properties: strings.TrimSpace(string(f.Properties))}
		ok := json.Valid(f.Properties)
		switch f.Type {
		case "Polygon", "MultiPolygon":
			polygons, read := f.Polygons()
			p.polygons, ok = polygons, ok && read
		default:
			lines, read := f.Lines()
			p.lines, ok = lines, ok && read
		}
		out = append(out, p)
		return ok
	})
	return out, ok
}

// parsed reads the same with Parse.
func parsed(t *testing.T, text []byte) (out []piece) {
	t.Helper()
	doc, err := geojson.Parse(text)
	require.NoError(t, err, "%s", text)
	_, more := doc.Rest()
	require.False(t, more, "%s", text)
	features, err := doc.Features()
	require.NoError(t, err)
	for f, err := range features {
		require.NoError(t, err, "%s", text)
		p := piece{properties: string(f.Properties.Text())}
		polygons, err := f.Geometry.Polygons()
		require.NoError(t, err, "%s", text)
		for _, rings := range polygons {
			one := geo.Polygon{Shell: rings[0].At}
			for _, r := range rings[1:] {
				one.Holes = append(one.Holes, r.At)
			}
			p.polygons = append(p.polygons, one)
		}
		p.lines, err = f.Geometry.Lines()
		require.NoError(t, err, "%s", text)
		out = append(out, p)
	}
	return out
}

// What a Writer wrote is read as Parse reads it, with holes, in parts, on both
// sides of the antimeridian, and where there is none.
func TestRereadIsParse(t *testing.T) {
	for _, centre := range []geo.LonLat{{Lon: 2.3125, Lat: 54.7125}, {Lon: 179.9999, Lat: -17}, {Lon: -104.25, Lat: 0.0001}} {
		_, _, _, text := written(t, centre)
		got, ok := reread(text)
		require.True(t, ok, "%s", text)
		require.NotEmpty(t, got)
		assert.Equal(t, parsed(t, text), got)
	}
	got, ok := reread([]byte("{\"type\":\"FeatureCollection\",\"features\":[\n]}\n"))
	assert.True(t, ok)
	assert.Empty(t, got)
}

// However much of a text comes at a time, it is read the same; one that cannot be read
// to its end is none.
func TestRereadInParts(t *testing.T) {
	_, _, _, text := written(t, geo.LonLat{Lon: 2.3125, Lat: 54.7125})
	count := func(r io.Reader) (n int, ok bool) {
		ok = geojson.Reread(r, func(geojson.Written) bool { n++; return true })
		return n, ok
	}
	want, ok := count(bytes.NewReader(text))
	require.True(t, ok)
	long := bytes.Replace(text, []byte("\n"), []byte("\n"+`{"type":"Feature","properties":{"kind":"`+strings.Repeat("x", 1<<20)+`"},"geometry":{"type":"Point","coordinates":[1,2]}},`+"\n"), 1)
	for name, r := range map[string]io.Reader{"bytes": iotest.OneByteReader(bytes.NewReader(text)), "halves": iotest.HalfReader(bytes.NewReader(text)), "the end with the last": iotest.DataErrReader(bytes.NewReader(text))} {
		n, ok := count(r)
		assert.True(t, ok, name)
		assert.Equal(t, want, n, name)
	}
	n, ok := count(bytes.NewReader(long))
	assert.True(t, ok, "a line longer than what is read at once")
	assert.Equal(t, want+1, n)
	_, ok = count(io.MultiReader(bytes.NewReader(text), iotest.ErrReader(io.ErrUnexpectedEOF)))
	assert.False(t, ok)
	_, ok = count(io.MultiReader(bytes.NewReader(text), strings.NewReader("\n")))
	assert.False(t, ok)
}

// However a text is changed by a byte: either it is said not to be a Writer's, or
// Parse reads the same.
func TestRereadTellsOthers(t *testing.T) {
	text := []byte("{\"type\":\"FeatureCollection\",\"run\":\"a\",\"features\":[\n" +
		"{\"type\":\"Feature\",\"properties\":{\"kind\":\"skip\",\"area_m2\":1.5},\"geometry\":{\"type\":\"MultiPolygon\",\"coordinates\":[[[[-1.000000001,2],[1.5,-2],[0,0.25],[-1.000000001,2]],[[0,1],[1,1],[1,0],[0,1]]]]}},\n" +
		"{\"type\":\"Feature\",\"properties\":{\"kind\":\"pass\"},\"geometry\":{\"type\":\"LineString\",\"coordinates\":[[179.5,-80],[-179.5,80.125]]}}\n" +
		"],\"left_out\":0}\n")
	_, ok := reread(text)
	require.True(t, ok)
	read, told := 0, 0
	check := func(changed []byte) {
		got, ok := reread(changed)
		if !ok {
			told++
			return
		}
		read++
		assert.Equal(t, parsed(t, changed), got, "%s", changed)
	}
	for at := range text {
		check(text[:at])
		check(append(append([]byte{}, text[:at]...), text[at+1:]...))
		for _, c := range []byte("07-.e,[]{}\": \n\\a") {
			changed := append([]byte{}, text...)
			changed[at] = c
			check(changed)
			check(append(append(append([]byte{}, text[:at]...), c), text[at:]...))
		}
	}
	t.Logf("%d read, %d not a Writer's", read, told)
	assert.Greater(t, read, 1000)
	assert.Greater(t, told, 10000)
}
