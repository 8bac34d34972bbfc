package format_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/format"
	"lapwing/geo/gnsslog"
)

// outside finds the collection of real logs beside the repository; the test
// is skipped where it is not there.
func outside(t *testing.T, parts ...string) string {
	t.Helper()
	dir, err := os.Getwd()
	require.NoError(t, err)
	for range 8 {
		path := filepath.Join(append([]string{dir, "shared", "data"}, parts...)...)
		if _, err := os.Stat(path); err == nil {
			return path
		}
		dir = filepath.Dir(dir)
	}
	t.Skip("the collection of real logs is not beside the repository")
	return ""
}

// Counts are those of each collection's own description, or of its lines
// counted by other means (grep -c).
func TestRealLogs(t *testing.T) {
	tests := []struct {
		path   []string
		format string
		fixes  int
		breaks int
		first  string // time of the first fix; "" for no clock
	}{
		{[]string{"barley-harvest-2015", "yield.csv.gz"}, "CSV", 31062, 0, "2015-07-27T10:43:24.384Z"},
		{[]string{"corn-harvest-gartner", "yield.csv"}, "CSV", 4949, 0, "2001-10-31T17:38:18Z"},
		{[]string{"oats-harvest-2017", "yield.csv.gz"}, "CSV", 97383, 0, "2017-08-26T18:36:52Z"},
		{[]string{"gpx-odd-a", "no-times.gpx"}, "GPX 1.0", 296, 6, ""},
		{[]string{"gpx-odd-a", "empty-segment.gpx"}, "GPX 1.1", 9, 0, "2013-07-06T17:26:26Z"},
		{[]string{"gpx-odd-a", "all-fields-1.0.gpx"}, "GPX 1.0", 1, 0, "2013-01-01T12:00:04Z"},
		{[]string{"gpx-odd-a", "comments-in-nodes.gpx"}, "GPX 1.0", 1, 0, "2014-05-06T12:29:33Z"},
		{[]string{"gpx-odd-a", "small-floats.gpx"}, "GPX 1.1", 3, 0, ""},
		{[]string{"gpx-odd-a", "extremes.gpx"}, "GPX 1.0", 25, 0, ""},
		{[]string{"gpx-odd-a", "hike.gpx"}, "GPX 1.0", 513, 1, "2010-10-03T09:36:30Z"},
		{[]string{"x-kml-gpx-samples", "blue_hills.gpx"}, "GPX 1.0", 1243, 13, "2001-06-24T15:09:09Z"},
		{[]string{"nmea-logs-a", "rtk-and-3d.nmea"}, "NMEA 0183", 122, 0, "2020-03-18T13:28:19.6Z"},
		{[]string{"nmea-logs-a", "mt3339.nmea"}, "NMEA 0183", 30, 0, "2015-04-13T20:26:40Z"},
	}
	for _, tt := range tests {
		t.Run(tt.path[1], func(t *testing.T) {
			log := mustReadFile(t, outside(t, tt.path...))
			require.Equal(t, tt.format, log.Format)
			require.Len(t, log.Fixes, tt.fixes)
			require.Len(t, log.Breaks, tt.breaks)
			require.Equal(t, tt.first == "", log.NoClock)
			if tt.first != "" {
				require.Equal(t, tt.first, log.Fixes[0].Time.Time().Format("2006-01-02T15:04:05.999Z"))
			}
		})
	}
}

func TestRealFilesThatAreNoLogs(t *testing.T) {
	tests := []struct {
		path []string
		says string
	}{
		{[]string{"x-kml-gpx-samples", "bad.gpx"}, `bad.gpx:5: trkpt lat: found "undefined"`},
		{[]string{"x-kml-gpx-samples", "wpt.gpx"}, "wpt.gpx:3: a waypoint or route point"},
		{[]string{"x-kml-gpx-samples", "empty_trk.gpx"}, "empty_trk.gpx: no position in the file"},
		{[]string{"x-kml-gpx-samples", "point.kml"}, `outer element is "kml"`},
		{[]string{"gpx-odd-a", "bom.gpx"}, "bom.gpx:3: a waypoint or route point"},
		{[]string{"isoxml-conformance", "js", "test.geojson"}, `geometry "Polygon"`},
	}
	for _, tt := range tests {
		t.Run(tt.path[len(tt.path)-1], func(t *testing.T) {
			f, err := os.Open(outside(t, tt.path...))
			require.NoError(t, err)
			defer f.Close()
			_, err = everything.Log(format.Input{Name: filepath.Base(f.Name()), From: f}, gnsslog.Options{})
			require.ErrorContains(t, err, tt.says)
		})
	}
}

func TestRealReceiversWithoutFix(t *testing.T) {
	log := mustReadFile(t, outside(t, "nmea-logs-a", "simulator-quality-8.nmea"))
	for _, fix := range log.Fixes {
		require.Equal(t, geo.Simulated, fix.Quality)
	}
	requireNote(t, log, "found 8, a simulator")

	log = mustReadFile(t, outside(t, "nmea-logs-a", "moving-with-dropouts.nmea"))
	require.Len(t, log.Fixes, 14, "17 GGA less 4 of quality 0, and an RMC alone at the end")
}

func mustReadFile(t *testing.T, path string) *gnsslog.Log {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	log, err := everything.Log(format.Input{Name: filepath.Base(path), From: f}, gnsslog.Options{})
	require.NoError(t, err)
	return log
}
