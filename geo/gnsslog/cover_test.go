package gnsslog

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/feature"
)

// square is a ring with its south-west corner at a place, in degrees, anticlockwise.
func square(lon, lat, side float64) feature.Ring {
	return feature.Ring{At: []geo.LonLat{{Lon: lon, Lat: lat}, {Lon: lon + side, Lat: lat}, {Lon: lon + side, Lat: lat + side}, {Lon: lon, Lat: lat + side}}}
}

// back is a ring run the other way.
func back(r feature.Ring) (out feature.Ring) {
	for i := range r.At {
		out.At = append(out.At, r.At[len(r.At)-1-i])
	}
	return out
}

// worked is a polygon of a moment.
func worked(time string, shells ...feature.Ring) feature.Shape {
	return feature.Shape{Columns: []string{"time"}, Values: []feature.Value{{Text: []byte(time)}}, Outlines: []feature.Outline{{Shells: shells}}}
}

func shapesOf(all ...feature.Shape) *feature.Shapes {
	return &feature.Shapes{Close: func() {}, Each: func(do func(feature.Shape) error) error {
		for _, s := range all {
			if err := do(s); err != nil {
				return err
			}
		}
		return nil
	}}
}

// Polygons of two moments, of which the first has a hole and comes in two rings, and the
// second was written with its columns the other way round.
func TestFromShapes(t *testing.T) {
	first := worked("2026-05-04T06:00:00Z", square(10, 60, 2e-4), feature.Ring{At: append(square(11, 60, 2e-4).At, square(11, 60, 2e-4).At[0])})
	first.Columns, first.Values = []string{"time", "rate"}, append(first.Values, feature.Value{Text: []byte("9")})
	first.Outlines[0].Holes = []feature.Ring{square(10.00005, 60.00005, 1e-5)}
	second := feature.Shape{Columns: []string{"crop", "rate", "time"}, Values: []feature.Value{{Text: []byte("oats")}, {Text: []byte("8")}, {Text: []byte("2026-05-04T06:00:01Z")}},
		// Of loose rings those that run as the first does are ground, the others holes.
		Loose: []feature.Ring{back(square(10, 61, 2e-4)), square(10.00005, 61.00005, 1e-5), back(square(12, 61, 2e-4)), {At: square(13, 61, 2e-4).At[:2]}, back(feature.Ring{At: square(14, 61, 2e-4).At[:3]})}}
	note := func(text string) feature.Shape { return feature.Shape{Note: text} }
	log, err := FromShapes("day.x", "X", shapesOf(note("a line left out"), first, note("a point left out"), note("a line left out"), second), Options{Keep: func(name string) bool { return name == "rate" }})
	require.NoError(t, err)
	assert.Equal(t, "X", log.Format)
	require.Len(t, log.Fixes, 5, "a ring of two corners is no ground")
	assert.Equal(t, []int32{1, 1, 2, 2, 2}, log.Lines, "the numbers of polygons")
	for i, want := range []geo.LonLat{{Lon: 10.0001, Lat: 60.0001}, {Lon: 11.0001, Lat: 60.0001}, {Lon: 10.0001, Lat: 61.0001}, {Lon: 12.0001, Lat: 61.0001},
		{Lon: 14 + 4e-4/3, Lat: 61 + 2e-4/3}} {
		assert.InDelta(t, want.Lon, log.Fixes[i].At.Lon, 1e-9)
		assert.InDelta(t, want.Lat, log.Fixes[i].At.Lat, 1e-9)
		assert.Equal(t, []string{"2026-05-04T06:00:00Z", "2026-05-04T06:00:01Z"}[log.Lines[i]-1], log.Fixes[i].Time.Time().Format("2006-01-02T15:04:05Z"))
		assert.Equal(t, []string{"9", "8"}[log.Lines[i]-1], log.Columns[0].Distinct[log.Columns[0].Codes[i]])
	}
	assert.Equal(t, square(11, 60, 2e-4).At, log.Cover[1], "without its last corner, which is the first")
	assert.Equal(t, second.Loose[2].At, log.Cover[3])
	assert.Equal(t, []Meaning{{"polygon", "the ground that was worked"}, {"time", "time"}, {"rate", "kept as text"}}, log.Understood)
	assert.Equal(t, []string{"2 x a line left out", "1 x a point left out", "2 x hole in a polygon that was worked; taken as worked"}, noteTexts(log))

	log, err = FromShapes("day.x", "X", shapesOf(worked("2026-05-04T06:00:00Z", square(10, 60, 2e-4)), worked("2026-05-04T06:00:01Z", square(11, 60, 2e-4))), Options{})
	require.NoError(t, err)
	assert.Len(t, log.Fixes, 2)
	assert.Empty(t, log.Notes)
}

// At 60 degrees a degree is 111.2 km up and 55.6 km across: a square of 0.0009 degrees is
// 5007 m², too much for the ground of a moment, and one of 0.00089 is 4897 m². Every other
// one may be larger.
func TestShapesThatAreNoLog(t *testing.T) {
	const narrow, wide = 8.9e-4, 9e-4
	sized := func(sides ...float64) *feature.Shapes {
		var all []feature.Shape
		for i, side := range sides {
			all = append(all, worked(fmt.Sprintf("2026-05-04T06:00:%02dZ", i), square(10+float64(i), 60, side)))
		}
		return shapesOf(all...)
	}
	for _, sides := range [][]float64{{narrow, narrow}, {1e-2, narrow, narrow}, {narrow, 1e-2, narrow, 1e-2, 1e-5}} {
		log, err := FromShapes("day.x", "X", sized(sides...), Options{})
		require.NoError(t, err)
		assert.Len(t, log.Fixes, len(sides))
	}
	for want, shapes := range map[string]*feature.Shapes{
		"fewer than two":           sized(narrow),
		"of 5000 m² and more":      sized(narrow, wide, wide),
		"polygons without a time":  shapesOf(feature.Shape{Outlines: []feature.Outline{{Shells: []feature.Ring{square(1, 2, 1e-4), square(2, 2, 1e-4)}}}}),
		"no record of work: fewer": shapesOf(),
	} {
		_, err := FromShapes("day.x", "X", shapes, Options{})
		assert.ErrorIs(t, err, geo.ErrNothing)
		assert.ErrorContains(t, err, want)
	}
	broken := &feature.Shapes{Each: func(func(feature.Shape) error) error {
		return &geo.Fault{Where: "record 3", Found: "12 bytes", Want: "20"}
	}}
	_, err := FromShapes("day.x", "X", broken, Options{})
	assert.EqualError(t, err, "day.x: record 3: 12 bytes, want 20")
}

// Polygons of GeoJSON are read as those of other formats, each at the line of its feature;
// beside a track they are none of it.
func TestGeoJSONCover(t *testing.T) {
	polygon := func(properties, rings string) string {
		return `{"type":"Feature","properties":{` + properties + `},"geometry":{"type":"Polygon","coordinates":[` + rings + `]}}`
	}
	const (
		a    = `[[10,60],[10.0002,60],[10.0002,60.0002],[10,60.0002],[10,60]]`
		hole = `[[10.0001,60.0001],[10.00011,60.0001],[10.00011,60.00011],[10.0001,60.0001]]`
		b    = `[[11,60],[11.0002,60],[11.0002,60.0002],[11,60.0002],[11,60]]`
	)
	collection := func(features ...string) string {
		return `{"type":"FeatureCollection","features":[` + "\n" + strings.Join(features, ",\n") + "]}"
	}
	log := mustRead(t, collection(polygon(`"time":"2026-05-04T06:00:00Z"`, a+","+hole), polygon(`"rate":7,"time":"2026-05-04T06:00:01Z"`, b)),
		Options{Keep: func(name string) bool { return name == "rate" }})
	require.Len(t, log.Fixes, 2)
	assert.Equal(t, []int32{2, 3}, log.Lines)
	assert.Equal(t, []geo.LonLat{{Lon: 10, Lat: 60}, {Lon: 10.0002, Lat: 60}, {Lon: 10.0002, Lat: 60.0002}, {Lon: 10, Lat: 60.0002}}, log.Cover[0])
	assert.InDelta(t, 11.0001, log.Fixes[1].At.Lon, 1e-9)
	assert.Equal(t, instant(t, "2026-05-04T06:00:01Z"), log.Fixes[1].Time)
	assert.Equal(t, []string{"", "7"}, log.Columns[0].Distinct)
	requireNote(t, log, "hole in a polygon that was worked")

	many := strings.NewReplacer(`"Polygon"`, `"MultiPolygon"`, "[[[", "[[[[", "]]]", "]]]]")
	log = mustRead(t, collection(many.Replace(polygon(`"time":"2026-05-04T06:00:00Z"`, a)), many.Replace(polygon(`"time":"2026-05-04T06:00:01Z"`, b))), Options{})
	require.Len(t, log.Cover, 2)
	assert.InDelta(t, 11.0001, log.Fixes[1].At.Lon, 1e-9)

	track := `{"type":"Feature","properties":{"times":["2026-05-04T06:00:00Z"]},"geometry":{"type":"LineString","coordinates":[[12,60]]}}`
	log = mustRead(t, collection(polygon(`"time":"2026-05-04T06:00:00Z"`, a), polygon(`"time":"2026-05-04T06:00:01Z"`, b), track), Options{})
	assert.Nil(t, log.Cover)
	require.Len(t, log.Fixes, 1)
	assert.Equal(t, geo.LonLat{Lon: 12, Lat: 60}, log.Fixes[0].At)
	point := `{"type":"Feature","properties":{"time":"2026-05-04T06:00:00Z"},"geometry":{"type":"Point","coordinates":[13,60]}}`
	log = mustRead(t, collection(polygon(`"time":"2026-05-04T06:00:00Z"`, a), polygon(`"time":"2026-05-04T06:00:01Z"`, b), point), Options{})
	assert.Nil(t, log.Cover)
	assert.Equal(t, geo.LonLat{Lon: 13, Lat: 60}, log.Fixes[0].At)
	_, err := read("a.log", collection(polygon(`"time":"2026-05-04T06:00:00Z"`, a)), Options{})
	assert.ErrorContains(t, err, `geometry "Polygon"`, "one polygon is no record")

	// On a map: at the central meridian of UTM zone 31 the easting is 500 km, at the equator the northing 0.
	mapped := strings.Replace(collection(
		polygon(`"time":"2026-05-04T06:00:00Z"`, `[[500000,0],[500010,0],[500010,10]]`),
		polygon(`"time":"2026-05-04T06:00:01Z"`, `[[500000,20],[500010,20],[500010,30]]`)), "{", `{"crs":{"type":"name","properties":{"name":"EPSG:32631"}},`, 1)
	log = mustRead(t, mapped, Options{})
	require.Len(t, log.Cover, 2)
	assert.InDelta(t, 3, log.Cover[0][0].Lon, 1e-9)
	assert.InDelta(t, 0, log.Cover[0][0].Lat, 1e-9)
	// 10 m on the map are 10/0.9996 m; along the equator a radian has 6,378,137 m.
	assert.InDelta(t, 3+10/0.9996/6378137*57.29577951, log.Cover[0][1].Lon, 1e-9)
}
