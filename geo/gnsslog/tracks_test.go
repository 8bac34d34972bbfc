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

// gpx is a GPX file with something in it.
func gpx(attributes, inside string) string { return "<gpx " + attributes + ">" + inside + "</gpx>" }

// segment is a track's segment of points with times, "" for one without.
func segment(times ...string) string {
	var b strings.Builder
	for i, at := range times {
		if at != "" {
			at = "<time>" + at + "</time>"
		}
		fmt.Fprintf(&b, `<trkpt lat="54" lon="%d">%s</trkpt>`, 10+i, at)
	}
	return "<trkseg>" + b.String() + "</trkseg>"
}

const six, seven = "2026-05-04T06:00:00Z", "2026-05-04T07:00:00Z"

// Where half of the points and more have no time, the log has none; else those without are
// left out, and a segment begins with the first that is left.
func TestTracksWithTimesNowAndThen(t *testing.T) {
	for name, c := range map[string]struct {
		text    string
		noClock bool
		lons    []float64
		breaks  []int
		notes   []string
	}{
		"all":             {segment(six, seven), false, []float64{10, 11}, nil, nil},
		"none":            {segment("", ""), true, []float64{10, 11}, nil, nil},
		"half":            {segment(six, ""), true, []float64{10, 11}, nil, []string{"1 x only 1 of 2 points have a time; read as a log without times"}},
		"two of three":    {segment(six, "", seven), false, []float64{10, 12}, nil, []string{"1 x a point without a time, want a time, as others have; skipped"}},
		"not the first":   {segment("") + segment(six, seven), false, []float64{10, 11}, nil, []string{"1 x a point without a time, want a time, as others have; skipped"}},
		"not the second":  {segment(six) + segment("", six, seven), false, []float64{10, 11, 12}, []int{1}, []string{"1 x a point without a time, want a time, as others have; skipped"}},
		"a whole segment": {segment(six, six) + segment("", "") + segment(seven), false, []float64{10, 11, 10}, []int{2}, []string{"2 x a point without a time, want a time, as others have; skipped"}},
	} {
		log := mustRead(t, gpx("", "<trk>"+c.text+"</trk>"), Options{})
		assert.Equal(t, c.noClock, log.NoClock, name)
		var lons []float64
		for _, f := range log.Fixes {
			lons = append(lons, f.At.Lon)
			if c.noClock {
				assert.Zero(t, f.Time, name)
			}
		}
		assert.Equal(t, c.lons, lons, name)
		assert.Equal(t, c.breaks, log.Breaks, name)
		assert.Equal(t, c.notes, noteTexts(log), name)
	}
}

// Two tracks are two segments; waypoints and points of routes are told by their number, and
// no name elsewhere is taken for one of them.
func TestGPXElements(t *testing.T) {
	track := "<trk><name>x</name>" + segment(six) + "</trk>"
	log := mustRead(t, gpx(`creator="1.0"`, `<wpt lat="1" lon="2"><name>a</name></wpt><wpt lat="1" lon="2"/><wpt lat="1" lon="3"/>`+track+track+
		`<rte><rtept lat="1" lon="2"/></rte><extensions><x><wpt/><rtept/></x></extensions>`), Options{})
	assert.Equal(t, "GPX 1.1", log.Format)
	assert.Len(t, log.Fixes, 2)
	assert.Equal(t, []int{1}, log.Breaks)
	require.Len(t, log.Notes, 1)
	assert.Equal(t, geo.Note{Line: 1, Count: 4, Text: "a waypoint or route point, which is no track; skipped"}, log.Notes[0])
	assert.Equal(t, []Meaning{{"time", "time in UTC"}, {"trkpt", "position"}}, sorted(log.Understood))
	assert.Equal(t, "GPX 1.0", mustRead(t, gpx(`version="1.0"`, track), Options{}).Format)
	assert.Equal(t, "GPX 1.1", mustRead(t, gpx(`version="1.1"`, track), Options{}).Format)

	point := func(lat, lon, inside string) string {
		return fmt.Sprintf(`<trk><trkseg><trkpt lat="54" lon="10"/><trkpt lat="%s" lon=" %s ">%s</trkpt></trkseg></trk>`, lat, lon, inside)
	}
	log = mustRead(t, gpx("", point("90", "-180", "<speed>0</speed><course>0</course><fix>3d</fix>")), Options{})
	require.Len(t, log.Fixes, 2)
	assert.Equal(t, geo.LonLat{Lon: -180, Lat: 90}, log.Fixes[1].At)
	assert.Equal(t, 0.0, log.Fixes[1].Speed)
	assert.Equal(t, geo.Bearing(0), log.Fixes[1].Heading)
	assert.Equal(t, geo.Single, log.Fixes[1].Quality)
	for inside, note := range map[string]string{
		"<speed>-1</speed>":    `speed: found "-1", want a speed of 0 or more; taken as no speed`,
		"<course>720</course>": `course: found "720", want degrees from 0 to 360; taken as no heading`,
		"<fix>4d</fix>":        `fix: found "4d", want none, 2d, 3d, dgps or pps; taken as unknown`,
	} {
		log = mustRead(t, gpx("", point("54", "10", inside)), Options{})
		assert.Len(t, log.Fixes, 2)
		require.Len(t, log.Notes, 1, inside)
		assert.Equal(t, note, log.Notes[0].Text)
	}
	assert.Len(t, mustRead(t, gpx("", point("54", "180.5", "")), Options{}).Fixes, 1, "one of two is bad")
}

// sorted are two meanings in the order of their names.
func sorted(m []Meaning) []Meaning {
	if len(m) == 2 && m[0].Column > m[1].Column {
		return []Meaning{m[1], m[0]}
	}
	return m
}

// collect is a GeoJSON collection of features, one a line from the second on.
func collect(features ...string) string {
	return `{"type":"FeatureCollection","features":[` + "\n" + strings.Join(features, ",\n") + "]}"
}

func lineString(properties, coordinates string) string {
	return `{"type":"Feature","properties":{` + properties + `},"geometry":{"type":"LineString","coordinates":` + coordinates + `}}`
}

func pointFeature(properties, coordinates string) string {
	return `{"type":"Feature","properties":{` + properties + `},"geometry":{"type":"Point","coordinates":` + coordinates + `}}`
}

// A log of which one of two lines, points or features is bad is read; of two of three it is not.
func TestGeoJSONThatIsPartlyBad(t *testing.T) {
	const good = `[[10,54]]`
	multi := func(properties, coordinates string) string {
		return strings.Replace(lineString(properties, coordinates), "LineString", "MultiLineString", 1)
	}
	for bad, note := range map[string]string{
		"5":                                     `feature: found "5", want a GeoJSON feature; skipped`,
		lineString("", `"here"`):                `coordinates: found "\"here\"", want a list of positions; skipped`,
		multi("", `5`):                          `coordinates: found "5", want a list of lines; skipped`,
		multi(`"times":[[1],[2]]`, `[[[1,2]]]`): `times: found "[[1],[2]]", want 1 lists, one for each line; skipped`,
		lineString(`"times":[1,2]`, `[[1,2]]`):  `times: found 2, want 1, one for each position; skipped`,
		lineString("", `[[180.1,5]]`):           `coordinates: position 1, want a longitude from -180 to 180 and a latitude from -90 to 90; skipped`,
		lineString("", `[[18,-90.1]]`):          `coordinates: position 1, want a longitude from -180 to 180 and a latitude from -90 to 90; skipped`,
	} {
		log, err := read("a.log", collect(lineString("", good), bad), Options{})
		if assert.NoError(t, err, bad) {
			assert.Len(t, log.Fixes, 1)
			require.Len(t, log.Notes, 1, bad)
			assert.Equal(t, geo.Note{Line: 3, Count: 1, Text: note}, log.Notes[0])
		}
		_, err = read("a.log", collect(lineString("", good), bad, bad), Options{})
		assert.ErrorContains(t, err, "(and 2 of 3 lines are bad)", bad)
	}
	for bad, note := range map[string]string{
		`[10,90.1]`:   `latitude: found "90.1", want degrees from -90 to 90; skipped`,
		`[180.1,54]`:  `longitude: found "180.1", want degrees from -180 to 180; skipped`,
		`[10,null]`:   `latitude: found "", want degrees from -90 to 90; skipped`,
		`[null,10]`:   `longitude: found "", want degrees from -180 to 180; skipped`,
		`[null,null]`: `no position in the line; skipped`,
		`[10]`:        `no position in the line; skipped`,
	} {
		log, err := read("a.log", collect(pointFeature("", `[10,54]`), pointFeature("", bad)), Options{})
		if assert.NoError(t, err, bad) {
			assert.Len(t, log.Fixes, 1)
			require.Len(t, log.Notes, 1, bad)
			assert.Equal(t, geo.Note{Line: 3, Count: 1, Text: note}, log.Notes[0])
		}
		_, err = read("a.log", collect(pointFeature("", `[10,54]`), pointFeature("", bad), pointFeature("", bad)), Options{})
		assert.Equal(t, strings.Contains(note, "found"), err != nil, "a line that says no place is not bad")
	}
	log := mustRead(t, collect(lineString("", `[[180,90],[-180,-90]]`)), Options{})
	assert.Equal(t, []geo.LonLat{{Lon: 180, Lat: 90}, {Lon: -180, Lat: -90}}, []geo.LonLat{log.Fixes[0].At, log.Fixes[1].At})
	log = mustRead(t, collect(pointFeature("", `[180,90]`), pointFeature("", `[-180,-90]`)), Options{})
	assert.Equal(t, []geo.LonLat{{Lon: 180, Lat: 90}, {Lon: -180, Lat: -90}}, []geo.LonLat{log.Fixes[0].At, log.Fixes[1].At})
	assert.Equal(t, []int32{2, 3}, log.Lines)
}

// At the central meridian of UTM zone 31, 3 degrees east, the easting is 500 km, and at the
// equator the northing 0. What lies beyond the map is left out.
func TestGeoJSONOnAMap(t *testing.T) {
	on := func(system, text string) string {
		return strings.Replace(text, "{", `{"crs":{"type":"name","properties":{"name":"`+system+`"}},`, 1)
	}
	const times = `"times":["` + six + `","` + seven + `"]`
	log := mustRead(t, on("EPSG:32631", collect(lineString(times, `[[500000,0],[1e300,0]]`))), Options{})
	require.Len(t, log.Fixes, 1)
	assert.InDelta(t, 3, log.Fixes[0].At.Lon, 1e-9)
	assert.InDelta(t, 0, log.Fixes[0].At.Lat, 1e-9)
	assert.Len(t, log.Notes, 1)
	assert.Equal(t, "crs", log.Understood[0].Column)
	assert.Contains(t, log.Understood[0].As, "easting and northing in ")
	log = mustRead(t, on("EPSG:32631", collect(pointFeature("", `[500000,0]`))), Options{})
	require.Len(t, log.Fixes, 1)
	assert.InDelta(t, 3, log.Fixes[0].At.Lon, 1e-9)
	assert.Equal(t, []int32{2}, log.Lines)
	log = mustRead(t, on("EPSG:4326", collect(lineString("", `[[3,54]]`))), Options{})
	assert.Equal(t, geo.LonLat{Lon: 3, Lat: 54}, log.Fixes[0].At)
}

// Attributes that are named as a place give way to the place, which may lie at the ends of
// the Earth; of the columns of time the one that says most is taken, and the first date of
// two readings is told by its number.
func TestFromPointsByHand(t *testing.T) {
	log, err := FromPoints("day.x", "X", layer("lon lat time iso_time", []string{"99", "99", "5/4/2026 9:03:11 AM", six}), Options{})
	require.NoError(t, err)
	require.Len(t, log.Fixes, 1)
	assert.Equal(t, geo.LonLat{Lon: -2.4, Lat: 51.7}, log.Fixes[0].At)
	assert.Equal(t, instant(t, six), log.Fixes[0].Time)

	log, err = FromPoints("day.x", "X", layer("time", []string{""}, []string{"4/5/2026 06:00"}, []string{"5/5/2026 06:00"}), Options{})
	require.NoError(t, err)
	var lines []int
	for _, n := range log.Notes {
		if strings.Contains(n.Text, "one reading") {
			lines = append(lines, n.Line, n.Count)
		}
	}
	assert.Equal(t, []int{2, 2}, lines, "the second feature, and as many dates")

	ends := &feature.Points{Close: func() {}, Each: func(do func(feature.Point) error) error {
		for _, at := range []geo.LonLat{{Lon: 180, Lat: 90}, {Lon: -180, Lat: -90}, {Lon: 180.1}, {Lat: -90.1}} {
			if err := do(feature.Point{At: at, Placed: true}); err != nil {
				return err
			}
		}
		return nil
	}}
	log, err = FromPoints("day.x", "X", ends, Options{})
	require.NoError(t, err)
	assert.Equal(t, []int32{1, 2}, log.Lines)
	assert.Len(t, log.Notes, 1)
	assert.Equal(t, 2, log.Notes[0].Count)
}

// What stands in a file is quoted up to sixty bytes, and the notes are in its order.
func TestNotesOfALog(t *testing.T) {
	sixty := strings.Repeat("x", 60)
	log := mustRead(t, "time,lat,lon\n"+six+",1,2\n"+six+",1,"+sixty+"\n"+seven+",1,2\n"+seven+",1,2\n", Options{})
	require.Len(t, log.Notes, 1)
	assert.Contains(t, log.Notes[0].Text, `"`+sixty+`", want`)
	log = mustRead(t, "time,lat,lon\n"+six+",1,2\nnoon,1,2\n"+six+",1,"+sixty+"y\n"+seven+",1,2\n", Options{})
	require.Len(t, log.Notes, 2)
	assert.Equal(t, []int{3, 4}, []int{log.Notes[0].Line, log.Notes[1].Line})
	assert.Contains(t, log.Notes[1].Text, `"`+sixty+`"…`)
	_, err := read("a.log", "time,lat,lon\nnoon,1,2\n"+six+",x,2\n", Options{})
	assert.EqualError(t, err, `a.log:2: time: found "noon" (and 2 of 2 lines are bad), want a date and time such as 2026-05-04T14:03:11Z`)
}
