package geojson_test

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	orbjson "github.com/paulmach/orb/geojson"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"lapwing/geo"
	"lapwing/geo/geojson"
)

func parse(t testing.TB, text string) *geojson.Document {
	t.Helper()
	doc, err := geojson.Parse([]byte(text))
	require.NoError(t, err)
	return doc
}

// features reads all features of a text, and the faults of those that are none.
func features(t testing.TB, text string) (all []geojson.Feature, faults []string) {
	t.Helper()
	walk, err := parse(t, text).Features()
	if err != nil {
		return nil, []string{err.Error()}
	}
	for f, err := range walk {
		if err != nil {
			faults = append(faults, err.Error())
			continue
		}
		all = append(all, f)
	}
	return all, faults
}

func TestParse(t *testing.T) {
	for _, c := range []struct {
		name, text, fault string
		rest              int // the line of what follows
	}{
		{"one value", " {\"a\": [1, \"}\"]} \n", "", 0},
		{"another follows", "{}\n\n{}", "", 3},
		{"ends in a string", "{\n\"typ", "line 2: broken JSON: unexpected EOF", 0},
		{"ends after a colon", "{\n\"type\":", "line 2: broken JSON: unexpected EOF", 0},
		{"ends in a number", "[1.", "line 1: broken JSON: unexpected EOF", 0},
		{"ends in a word", "[\n\nnul", "line 3: broken JSON: unexpected EOF", 0},
		{"no number", "[1,\nNaN]", "line 2: broken JSON: invalid character 'N' looking for beginning of value", 0},
		{"a blank in a number", "[1. ", "line 1: broken JSON: invalid character ' ' after decimal point in numeric literal", 0},
		{"a bracket too many", "[1}", "line 1: broken JSON: invalid character '}' after array element", 0},
		{"too deep", strings.Repeat("[", 3_000_000), "line 1: broken JSON: invalid character '[' exceeded max depth", 0},
		{"nothing", "", "line 1: broken JSON: unexpected EOF", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			doc, err := geojson.Parse([]byte(c.text))
			if c.fault != "" {
				require.EqualError(t, err, c.fault)
				assert.Equal(t, strings.HasSuffix(c.fault, "EOF"), errors.Is(err, io.ErrUnexpectedEOF))
				return
			}
			require.NoError(t, err)
			line, some := doc.Rest()
			assert.Equal(t, c.rest, line)
			assert.Equal(t, c.rest > 0, some)
		})
	}
}

func TestValues(t *testing.T) {
	doc := parse(t, `{"b": "sl\u0061sh \\ \" é", "a": [ -1.5e2 , {"c": [[]]}, null ],
		"twice": 1, "twice": true, "": 1e999}`)
	var names []string
	for name := range doc.Root.Members() {
		names = append(names, name)
	}
	assert.Equal(t, []string{"b", "a", "twice", "twice", ""}, names, "in the order of the file")
	word, ok := doc.Root.Member("b").Word()
	assert.True(t, ok)
	assert.Equal(t, `slash \ " é`, word)
	list := slices.Collect(doc.Root.Member("a").Elements())
	require.Len(t, list, 3)
	x, ok := list[0].Number()
	assert.True(t, ok)
	assert.Equal(t, -150.0, x)
	assert.Equal(t, "-1.5e2", string(list[0].Text()))
	assert.True(t, list[2].IsNull())
	inner := slices.Collect(list[1].Member("c").Elements())
	require.Len(t, inner, 1)
	assert.Equal(t, "a[1].c[0]", inner[0].Where())
	assert.Equal(t, "true", string(doc.Root.Member("twice").Text()), "the last of two")
	assert.Equal(t, 2, doc.Root.Member("twice").Line())
	_, ok = doc.Root.Member("").Number()
	assert.False(t, ok)
	assert.True(t, doc.Root.Member("").IsNumber())
	assert.EqualError(t, doc.Root.Once(), `line 2: twice: a second "twice" in one object, want one`)

	none := doc.Root.Member("none")
	assert.False(t, none.Exists())
	assert.Empty(t, none.Text())
	assert.Empty(t, slices.Collect(none.Member("x").Elements()))
	assert.EqualError(t, none.Fault("nothing", "something"), "nothing, want something")
}

// Lines are right in whatever order they are asked for.
func TestLines(t *testing.T) {
	text := "[" + strings.Repeat("1,\n", 10_000) + "1]"
	all := slices.Collect(parse(t, text).Root.Elements())
	for i := range all {
		require.Equal(t, i+1, all[i].Line())
	}
	for i := range all {
		k := i * 7919 % len(all)
		require.Equal(t, k+1, all[k].Line())
	}
}

const line2 = `[[0,0],[1,1]]`

func TestFeatures(t *testing.T) {
	for _, c := range []struct {
		name, text string
		types      []string // of each feature and its geometry
		faults     []string
	}{
		{"collection", `{"type":"FeatureCollection","features":[{"type":"Feature","geometry":{"type":"Point"}},{"type":"Feature","geometry":null}]}`,
			[]string{"Feature Point", "Feature "}, nil},
		{"feature", `{"geometry":{"type":"Point"},"type":"Feature"}`, []string{"Feature Point"}, nil},
		{"geometry", `{"type":"LineString","coordinates":` + line2 + `}`, []string{"LineString LineString"}, nil},
		{"geometries for features", `{"features":[{"type":"LineString","coordinates":` + line2 + `}]}`, []string{"LineString LineString"}, nil},
		{"foreign features", `{"type":"Point","features":[{"type":"Feature"}]}`, []string{"Point Point"}, nil},
		{"no type", `{"features":[{"geometry":{"type":"Point"}},{"type":null}]}`, []string{" Point", " "}, nil},
		{"no collection", `{"type":"FeatureCollection"}`, nil, []string{"line 1: a FeatureCollection without features"}},
		{"no list", `{"type":"FeatureCollection","features":{}}`, nil, []string{"line 1: features: an object, want an array"}},
		{"no object", "\n[1]", nil, []string{"line 2: an array, want an object"}},
		{"not all are features", `{"features":[5,{"type":"Feature","geometry":"x"},` + "\n" + `{"type":6},{"geometry":{"type":[]}},{"type":"Feature"}]}`,
			[]string{"Feature "}, []string{"line 1: features[0]: 5, want an object", `line 1: features[1].geometry: "x", want an object`,
				`line 2: features[2].type: 6, want "Feature"`, "line 2: features[3].geometry.type: type an array, want a type of geometry"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			all, faults := features(t, c.text)
			var types []string
			for _, f := range all {
				types = append(types, f.Type+" "+f.Geometry.Type)
			}
			assert.Equal(t, c.types, types)
			assert.Equal(t, c.faults, faults)
		})
	}
}

func TestPolygons(t *testing.T) {
	all, faults := features(t, `{"type":"FeatureCollection","features":[{"type":"Feature"},
{"type":"Feature","geometry":{"type":"MultiPolygon","coordinates":[[[[0,1],
 [2,3,4]]],[[[5,
6]],[]]]}}]}`)
	require.Empty(t, faults)
	polygons, err := all[1].Geometry.Polygons()
	require.NoError(t, err)
	assert.Equal(t, []geojson.Polygon{
		{{Where: "features[1].geometry.coordinates[0][0]", Line: 2, At: []geo.LonLat{{Lon: 0, Lat: 1}, {Lon: 2, Lat: 3}}, Lines: []int32{2, 3}}},
		{{Where: "features[1].geometry.coordinates[1][0]", Line: 3, At: []geo.LonLat{{Lon: 5, Lat: 6}}, Lines: []int32{4}},
			{Where: "features[1].geometry.coordinates[1][1]", Line: 4}},
	}, polygons)
}

func TestGeometryFaults(t *testing.T) {
	const want = ", want a position such as [-104.5, 49.1]"
	for _, c := range []struct{ geometry, fault string }{
		{`{"type":"Polygon","coordinates":[[[0,0],[1]]]}`, "coordinates[0][1]: a position of 1 numbers" + want},
		{`{"type":"Polygon","coordinates":[[[0,0],null]]}`, "coordinates[0][1]: null" + want},
		{`{"type":"Polygon","coordinates":[[[0,0],[1,2,null]]]}`, "coordinates[0][1]: null in a position" + want},
		{`{"type":"Polygon","coordinates":[[[0,[]]]]}`, "coordinates[0][0]: an array in a position" + want},
		{`{"type":"Polygon","coordinates":[[["0",1]]]}`, `coordinates[0][0]: "0" in a position` + want},
		{`{"type":"Polygon","coordinates":[[[0,1e999]]]}`, "coordinates[0][0]: a number out of range" + want},
		{`{"type":"Polygon","coordinates":[[0,1]]}`, "coordinates[0][0]: 0" + want},
		{`{"type":"Polygon","coordinates":[7]}`, "coordinates[0]: 7, want an array of positions"},
		{`{"type":"Polygon","coordinates":{}}`, "coordinates: an object, want an array"},
		{`{"type":"MultiPolygon"}`, "a MultiPolygon without coordinates"},
		{`{"type":"LineString","coordinates":[[0,true]]}`, "coordinates[0]: true in a position" + want},
		{`{"type":"MultiLineString","coordinates":[5]}`, "coordinates[0]: 5, want an array of positions"},
		{`{"type":"LineString"}`, "a LineString without coordinates"},
		{`{"type":"GeometryCollection"}`, "a GeometryCollection without geometries"},
		{`{"type":"GeometryCollection","geometries":[{"type":"Point"},3]}`, "geometries[1]: 3, want an object"},
		{`{"type":"GeometryCollection","geometries":[{"type":"GeometryCollection","geometries":[{"type":"Polygon","coordinates":[[[]]]}]}]}`,
			"geometries[0].geometries[0].coordinates[0][0]: a position of 0 numbers" + want},
		{strings.Repeat(`{"type":"GeometryCollection","geometries":[`, 9) + strings.Repeat("]}", 9),
			strings.Repeat("geometries[0].", 7) + "geometries[0]: GeometryCollections nested more than 8 deep"},
	} {
		for _, alone := range []bool{true, false} {
			text, where := c.geometry, "line 1: "
			if !alone {
				text, where = `{"features":[{},`+"\n"+`{"geometry":`+c.geometry+`}]}`, "line 2: features[1].geometry"
				if strings.HasPrefix(c.fault, "coordinates") || strings.HasPrefix(c.fault, "geometries") {
					where += "."
				} else {
					where += ": "
				}
			}
			all, _ := features(t, text)
			require.NotEmpty(t, all)
			assert.EqualError(t, whole(all[len(all)-1].Geometry), where+c.fault)
		}
	}
}

// whole reads all that is in a geometry.
func whole(g geojson.Geometry) error {
	_, err1 := g.Polygons()
	_, err2 := g.Lines()
	inner, err3 := g.Geometries()
	for _, g := range inner {
		if err := whole(g); err != nil {
			return err
		}
	}
	return errors.Join(err1, err2, err3)
}

// A log's line keeps its positions in step with their times, those too that
// name no place.
func TestLinesHaveGaps(t *testing.T) {
	all, _ := features(t, `{"type":"MultiLineString","coordinates":[[[1,2],null,[3],[4,null],[5,6,null]],[]]}`)
	lines, err := all[0].Geometry.Lines()
	require.NoError(t, err)
	require.Len(t, lines, 2)
	assert.Empty(t, lines[1])
	require.Len(t, lines[0], 5)
	for i, at := range lines[0] {
		if i == 0 || i == 4 {
			assert.Equal(t, geo.LonLat{Lon: float64(i) + 1, Lat: float64(i) + 2}, at)
		} else {
			assert.True(t, math.IsNaN(at.Lon) && math.IsNaN(at.Lat), "%v", at)
		}
	}
}

func TestSystemOf(t *testing.T) {
	for crs, fault := range map[string]string{
		`null`: "",
		`{"type":"name","properties":{"name":"urn:ogc:def:crs:OGC:1.3:CRS84"}}`: "",
		`{"properties":{"name":"http://www.opengis.net/def/crs/EPSG/0/4326"}}`:  "",
		`{"properties":{"code":4326}}`:                                          "",
		`{"properties":{"name":"EPSG:27700"}}`:                                  `coordinate system "EPSG:27700": datum "OSGB36", which is not shifted to WGS 84 here, want WGS 84, or a datum within 2 m of it such as NAD83 or ETRS89`,
		`{"properties":{"name":"EPSG:43260"}}`:                                  `coordinate system "EPSG:43260", want a number such as EPSG:32614, or none for longitude and latitude on WGS 84`,
		`{"type":"link","properties":{"href":"x"}}`:                             `coordinate system "link", want a number such as EPSG:32614, or none for longitude and latitude on WGS 84`,
		`"EPSG:4326"`: `"EPSG:4326", want an object`,
	} {
		system, err := geojson.SystemOf(parse(t, `{"crs":`+crs+`}`).Root)
		assert.Nil(t, system)
		if fault == "" {
			assert.NoError(t, err, crs)
		} else {
			assert.EqualError(t, err, "line 1: crs: "+fault)
		}
	}
	system, err := geojson.SystemOf(parse(t, `{}`).Root)
	assert.NoError(t, err)
	assert.Nil(t, system)
	for crs, name := range map[string]string{
		`{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::25832"}}`: "ETRS89 / UTM zone 32N",
		`{"type":"EPSG","properties":{"code":2249}}`:                          "NAD83 / Massachusetts Mainland (ftUS)",
		`{"properties":{"name":"EPSG:4269"}}`:                                 "NAD83",
	} {
		system, err := geojson.SystemOf(parse(t, `{"crs":`+crs+`}`).Root)
		require.NoError(t, err, crs)
		assert.Equal(t, name, system.Name)
	}
}

// To say where a geometry of a large collection is takes no new walk through
// all that stand before it.
func TestLargeCollections(t *testing.T) {
	const many = 200_000
	triangle := `{"type":"Polygon","coordinates":[[[0,0],[1,0],[0,1],[0,0]]]}`
	for name, text := range map[string]string{
		"features":   `{"features":[` + strings.Repeat(`{"geometry":`+triangle+"},", many) + "{}]}",
		"none":       `{"features":[` + strings.Repeat(`{"type":6},`, many) + "{}]}",
		"geometries": `{"type":"GeometryCollection","geometries":[` + strings.Repeat(triangle+",", many) + triangle + "]}",
		"polygons":   `{"type":"MultiPolygon","coordinates":[` + strings.Repeat(`[[[0,0],[1,0],[0,1],[0,0]]],`, many) + "[]]}",
	} {
		start := time.Now()
		all, _ := features(t, text)
		for _, f := range all {
			require.NoError(t, whole(f.Geometry))
		}
		assert.Less(t, time.Since(start), time.Minute, "%s: seconds on an idle machine", name)
	}
}

// paulmach/orb reads the same places.
func TestAgainstOrb(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		ring := rapid.Custom(func(r *rapid.T) orb.Ring {
			points := rapid.SliceOfN(rapid.Custom(func(r *rapid.T) orb.Point {
				return orb.Point{rapid.Float64Range(-180, 180).Draw(r, "lon"), rapid.Float64Range(-90, 90).Draw(r, "lat")}
			}), 3, 6).Draw(r, "points")
			return append(points, points[0])
		})
		polygon := rapid.Custom(func(r *rapid.T) orb.Polygon { return rapid.SliceOfN(ring, 1, 3).Draw(r, "rings") })
		fc := orbjson.NewFeatureCollection()
		for range rapid.IntRange(0, 4).Draw(r, "features") {
			var g orb.Geometry = polygon.Draw(r, "polygon")
			switch rapid.IntRange(0, 3).Draw(r, "type") {
			case 0:
				g = orb.MultiPolygon(rapid.SliceOfN(polygon, 1, 3).Draw(r, "polygons"))
			case 1:
				g = orb.LineString(ring.Draw(r, "line"))
			case 2:
				g = orb.MultiLineString{orb.LineString(ring.Draw(r, "line")), orb.LineString(ring.Draw(r, "line"))}
			}
			fc.Append(orbjson.NewFeature(g))
		}
		text, err := fc.MarshalJSON()
		require.NoError(r, err)
		doc, err := geojson.Parse(text)
		require.NoError(r, err)
		walk, err := doc.Features()
		require.NoError(r, err)
		i := 0
		for f, err := range walk {
			require.NoError(r, err)
			require.Equal(r, fc.Features[i].Geometry, orbOf(r, f.Geometry))
			i++
		}
		require.Len(r, fc.Features, i)
	})
}

func orbOf(t require.TestingT, g geojson.Geometry) orb.Geometry {
	points := func(at []geo.LonLat) []orb.Point {
		out := make([]orb.Point, len(at))
		for i, p := range at {
			out[i] = orb.Point{p.Lon, p.Lat}
		}
		return out
	}
	polygons, err := g.Polygons()
	require.NoError(t, err)
	lines, err := g.Lines()
	require.NoError(t, err)
	var areas orb.MultiPolygon
	for _, p := range polygons {
		var rings orb.Polygon
		for _, r := range p {
			rings = append(rings, points(r.At))
		}
		areas = append(areas, rings)
	}
	var ways orb.MultiLineString
	for _, l := range lines {
		ways = append(ways, points(l))
	}
	switch g.Type {
	case "Polygon":
		return areas[0]
	case "MultiPolygon":
		return areas
	case "LineString":
		return ways[0]
	}
	return ways
}

// Whatever the text, nothing panics, and what is wrong is told in one line with
// its place.
func FuzzGeoJSON(f *testing.F) {
	for _, s := range []string{
		`{"type":"FeatureCollection","features":[{"type":"Feature","id":"a","properties":{"name":"\u00e9\"","n":1e999},"geometry":{"type":"Polygon","coordinates":[[[0,0],[1,0],[0,1.5e-3],[0,0]]]}}]}` + "\n{}",
		`{"type":"GeometryCollection","crs":{"properties":{"code":4326}},"geometries":[{"type":"LineString","coordinates":[[1,2],null,[3]]},{"type":"Point"}]}`,
		`{"type":"MultiPolygon","coordinates":[[[[0,"x"]]],[],[[]]],"coordinates":[]}`,
		`[{"a":[` + "\r\n\t" + `{}]}]`, `"x"`, `{"features":[5,null,{"geometry":{"type":6}}]}`, "[1.", "{\"a\":1}x", "\xef\xbb\xbf{}",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		doc, err := geojson.Parse([]byte(text))
		if err != nil {
			var broken *geojson.BrokenError
			require.ErrorAs(t, err, &broken)
			require.Positive(t, broken.Line)
			return
		}
		told(t, text, doc.Root.Once())
		_, err = geojson.SystemOf(doc.Root)
		told(t, text, err)
		walk, err := doc.Features()
		if err != nil {
			told(t, text, err)
			return
		}
		for f, err := range walk {
			if err != nil {
				told(t, text, err)
				continue
			}
			for name, m := range f.Properties.Members() {
				require.True(t, strings.HasSuffix(m.Where(), "."+name) || m.Where() == name || strings.Contains(m.Where(), "properties"), "%q of %q", m.Where(), name)
			}
			checkGeometry(t, text, f.Geometry)
		}
	})
}

func checkGeometry(t *testing.T, text string, g geojson.Geometry) {
	polygons, err := g.Polygons()
	told(t, text, err)
	for _, p := range polygons {
		for _, r := range p {
			require.Len(t, r.Lines, len(r.At))
			require.Positive(t, r.Line)
		}
	}
	_, err = g.Lines()
	told(t, text, err)
	inner, err := g.Geometries()
	told(t, text, err)
	for _, g := range inner {
		checkGeometry(t, text, g)
	}
}

// told checks that an error, if there is one, has a place within the text.
func told(t *testing.T, text string, err error) {
	if err == nil {
		return
	}
	var fault *geo.Fault
	require.ErrorAs(t, err, &fault)
	require.GreaterOrEqual(t, fault.Line, 1)
	require.LessOrEqual(t, fault.Line, 1+strings.Count(text, "\n"), fmt.Sprint(err))
	require.NotEmpty(t, fault.Found)
}
