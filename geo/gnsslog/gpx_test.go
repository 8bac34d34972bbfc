package gnsslog

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lapwing/geo"
)

const twoSegments = `<?xml version="1.0" encoding="ISO-8859-1"?>
<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">
<trk><name>Feldst` + "\xfc" + `ck</name>
<trkseg>
<trkpt lat="54.1" lon="-1.2"><time>2025-09-24T06:00:00Z</time><fix>dgps</fix><extensions><a:speed>2.5</a:speed><a:course>90</a:course><working>1</working></extensions></trkpt>
<trkpt lat="54.2" lon="-1.3"><time>2025-09-24T06:00:01</time></trkpt>
</trkseg>
<trkseg/>
<trkseg>
<trkpt lat="54.3" lon="-1.4"><time>2025-09-24T06:00:02+01:00</time><extensions><working>0</working></extensions></trkpt>
</trkseg>
</trk></gpx>
`

func TestGPX(t *testing.T) {
	log := mustRead(t, twoSegments, Options{Keep: func(name string) bool { return name == "working" }})
	require.Equal(t, "GPX 1.1", log.Format)
	require.Len(t, log.Fixes, 3)
	require.Equal(t, []int{2}, log.Breaks)
	require.Equal(t, []int32{5, 6, 10}, log.Lines)
	fix := log.Fixes[0]
	require.Equal(t, geo.LonLat{Lon: -1.2, Lat: 54.1}, fix.At)
	require.Equal(t, 2.5, fix.Speed)
	require.Equal(t, geo.Bearing(90), fix.Heading)
	require.Equal(t, geo.Differential, fix.Quality)
	require.True(t, math.IsNaN(log.Fixes[1].Speed))
	require.Equal(t, instant(t, "2025-09-24T06:00:01Z"), log.Fixes[1].Time)
	require.Equal(t, instant(t, "2025-09-24T05:00:02Z"), log.Fixes[2].Time)
	require.Equal(t, []string{"1", "", "0"}, log.Columns[0].Distinct)
	require.Equal(t, []uint32{0, 1, 2}, log.Columns[0].Codes)
}

// Limits are those of the GPX 1.1 schema: latitude -90 to 90, longitude from
// -180, fix one of none, 2d, 3d, dgps, pps.
func TestGPXTrouble(t *testing.T) {
	tests := []struct{ name, point, note string }{
		{"latitude", `<trkpt lat="90.5" lon="1"/>`, `trkpt lat: found "90.5"`},
		{"missing", `<trkpt lon="1"/>`, `trkpt lat: found ""`},
		{"time", `<trkpt lat="1" lon="1"><time>noon</time></trkpt>`, `time: found "noon"`},
		{"no fix", `<trkpt lat="1" lon="1"><fix>none</fix></trkpt>`, "says it has no fix"},
		{"no time", `<trkpt lat="1" lon="1"/>`, "a point without a time"},
		{"route", `</trkseg></trk><rte><rtept lat="1" lon="1"/></rte><trk><trkseg>`, "route point"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			log := mustRead(t, strings.Replace(twoSegments, "<trkseg/>", "<trkseg>"+tt.point+"</trkseg>", 1), Options{})
			require.Len(t, log.Fixes, 3)
			require.Equal(t, []int{2}, log.Breaks)
			requireNote(t, log, tt.note)
		})
	}
	log := mustRead(t, twoSegments[:strings.Index(twoSegments, "</trkseg>")], Options{})
	require.Len(t, log.Fixes, 2)
	requireNote(t, log, "the file breaks off")
	for name, text := range map[string]string{
		"crossed": `<gpx><trk></gpx>`, "entity": `<gpx>&b;</gpx>`, "encoding": `<?xml version="1.0" encoding="ebcdic"?><gpx/>`, "cut": "<gpx><trk>",
	} {
		t.Run(name, func(t *testing.T) {
			_, err := read("a.log", text, Options{})
			require.ErrorContains(t, err, "a.log:1: XML that cannot be read")
		})
	}
}

func FuzzGPX(f *testing.F) {
	f.Add(twoSegments)
	f.Add(`<gpx><trk><trkseg><trkpt lat="1" lon="2"/>`)
	f.Fuzz(func(t *testing.T, text string) {
		log, err := read("f", "<"+text, Options{Keep: func(string) bool { return true }})
		checkLog(t, log, err)
	})
}

func TestGeoJSON(t *testing.T) {
	log := mustRead(t, `{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"times":["2025-09-24T06:00:00Z","2025-09-24T06:00:01"]},"geometry":{"type":"LineString","coordinates":[[-1.2,54.1],[-1.3,54.2,90]]}},
{"type":"Feature","properties":{"coordTimes":[[1758693602],[1758693603000]]},"geometry":{"type":"MultiLineString","coordinates":[[[-1.4,54.3]],[[-1.5,54.4]]]}}
]}`, Options{})
	require.Equal(t, "GeoJSON", log.Format)
	require.Len(t, log.Fixes, 4)
	require.Equal(t, []int{2, 3}, log.Breaks)
	require.Equal(t, []int32{2, 2, 3, 3}, log.Lines)
	require.Equal(t, 1, log.Zoneless)
	for i, fix := range log.Fixes {
		require.Equal(t, instant(t, "2025-09-24T06:00:00Z")+geo.Instant(int64(i)*second), fix.Time)
	}

	log = mustRead(t, `{"type":"LineString","coordinates":[[-1.2,54.1],[-1.3,54.2]]}`, Options{})
	require.True(t, log.NoClock)
}

func TestGeoJSONPoints(t *testing.T) {
	log := mustRead(t, `{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"lat":0,"Speed(kmh)":9,"time":"2025-09-24T06:00:00Z"},"geometry":{"type":"Point","coordinates":[-1.2,54.1]}},
{"type":"Feature","properties":{"time":"2025-09-24T06:00:01Z","status":true},"geometry":{"type":"Point","coordinates":[-1.3,54.2]}},
{"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[null,54.2]}}
]}`, Options{Keep: func(name string) bool { return name == "status" }})
	require.Len(t, log.Fixes, 2)
	require.InDelta(t, 2.5, log.Fixes[0].Speed, 1e-12)
	require.Equal(t, geo.LonLat{Lon: -1.3, Lat: 54.2}, log.Fixes[1].At)
	require.Equal(t, []string{"", "true"}, log.Columns[0].Distinct)
	requireNote(t, log, "longitude: found")
}

func TestGeoJSONErrors(t *testing.T) {
	for text, want := range map[string]string{
		`{"features":[` + "\n{": `a.log:2: JSON that cannot be read`,
		`{"crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::27700"}},"features":[]}`:                  `crs: coordinate system "EPSG:27700": datum "OSGB36"`,
		`{"type":"Feature","properties":{"times":[1]},"geometry":{"type":"LineString","coordinates":[[1,2],[3,4]]}}`: `times: found 1`,
		`{"type":"Feature","properties":null,"geometry":{"type":"Polygon","coordinates":[]}}`:                        `geometry "Polygon"`,
		`{"type":"Feature","properties":null,"geometry":{"type":"LineString","coordinates":[[1],[null,4],[5,91]]}}`:  `position 1`,
		`{"name":"a field"}`: `no position in the file`,
	} {
		_, err := read("a.log", text, Options{})
		require.ErrorContains(t, err, want)
	}
}

func FuzzGeoJSON(f *testing.F) {
	f.Add(`"type":"LineString","coordinates":[[-1.2,54.1],[-1.3,54.2]]}`)
	f.Add(`"features":[{"properties":{"time":5},"geometry":{"type":"Point","coordinates":[1,2]}}]}`)
	f.Add(`"features":[{"properties":{"times":[[5]]},"geometry":{"type":"MultiLineString","coordinates":[[[1,2]]]}}]}`)
	f.Fuzz(func(t *testing.T, text string) {
		log, err := read("f", "{"+text, Options{Keep: func(string) bool { return true }})
		checkLog(t, log, err)
	})
}
