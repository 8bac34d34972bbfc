package coverage_test

import (
	"errors"
	"runtime/metrics"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/job"
	"lapwing/geo/format"
	"lapwing/geo/format/gpkg"
	"lapwing/geo/source"
)

// What a log and a boundary of 10,000 bytes together may cost. Time and allocations are
// four times and more what the worst of testdata/hard takes, for a busy machine:
// FuzzCommands of cmd/lapwing bounds processor time and memory.
const (
	mostFuzzBytes = 10_000
	mostFuzzTime  = 20 * time.Second
	mostAllocated = 2 << 30 // bytes, in the whole run and not at one time
)

// fuzzJobs are the jobs that a fuzzed log and boundary are read for.
var fuzzJobs = []string{
	"implement: {width: 6 m, sections: 6}",
	"implement: {width: 6 m, sections: 6, mount: towed, antenna_to_hitch: 1 m, hitch_to_bar: 3 m}\n    working: inferred",
	"implement: {width: 24 m, sections: 3, antenna_to_hitch: 2 m, ground_delay: {on: 1 s, off: 2 s}}\n    working: speed > 1 m/s",
	"implement: {openers: 8, row_spacing: 10 in, mount: towed, hitch_to_bar: 5 m, cart: {hitch_to_axle: 4 m, axle_to_hitch: 1 m}}",
}

// Whatever bytes a log and a boundary are, what the readers make of them is measured
// as a job is, and the parts make the field to the tick. Without a boundary the field
// is the worked ground.
func FuzzReadAndMeasure(f *testing.F) {
	const (
		square = `{"type":"Polygon","coordinates":[[[9.5,58],[9.501,58],[9.501,58.0004],[9.5,58.0004]],[[9.5004,58.0001],[9.5004,58.0002],[9.5006,58.0002]]]}`
		kml    = "<kml><Placemark><name>a</name><Polygon><outerBoundaryIs><coordinates>9.5,58 9.501,58 9.501,58.0004 9.5,58.0004</coordinates></outerBoundaryIs></Polygon></Placemark></kml>"
		wkt    = "MULTIPOLYGON(((9.5 58,9.501 58,9.501 58.0004,9.5 58)),((9.5 58,9.501 58.0004,9.5 58.0004,9.5 58)))"
	)
	table := "time,lat,lon,speed_mps,heading,working,sections\n" +
		"2026-05-04T14:00:00Z,58.0001,9.4999,2,90,0,000000\n2026-05-04T14:00:10Z,58.0001,9.5003,2,90,1,111111\n2026-05-04T14:00:20Z,58.0001,9.5007,2,90,1,110111\n" +
		"2026-05-04T14:00:30Z,58.00015,9.501,2,0,1,111111\n2026-05-04T14:00:40Z,58.0002,9.5007,2,270,1,111111\n2026-05-04T14:00:50Z,58.0002,9.5003,2,270,0,000000\n"
	for _, log := range []string{
		table, strings.ReplaceAll(strings.ReplaceAll(table, ",", ";"), "\n", "\r\n"),
		"lat,lon\n58.0001,9.5\n58.0001,9.5001\n58.0001,9.5002\n58.0002,9.5002\n58.0002,9.5\n",
		"time,lat,lon,machine,swath_width_m\n2026-05-04T14:00:00Z,58.0001,9.5001,a,6\n2026-05-04T14:00:01Z,58.00012,9.5001,b,3\n2026-05-04T14:00:02Z,58.00014,9.5001,a,6\n2026-05-04T14:00:03Z,58.00016,9.5001,b,6\n",
		"$GPRMC,140000,A,5800.006,N,00930.006,E,4.0,090,040526,,*09\n$GPRMC,140005,A,5800.006,N,00930.020,E,4.0,090,040526,,*08\n$GPGGA,140010,5800.006,N,00930.034,E,4,12,0.8,10,M,,M,,*7F\n",
		`<gpx><trk><trkseg><trkpt lat="58.0001" lon="9.5"><time>2026-05-04T14:00:00Z</time></trkpt><trkpt lat="58.0001" lon="9.5005"><time>2026-05-04T14:00:09Z</time></trkpt></trkseg><trkseg><trkpt lat="58.0002" lon="9.5005"/></trkseg></trk></gpx>`,
		`{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"time":"2026-05-04T14:00:00Z"},"geometry":{"type":"Point","coordinates":[9.5,58.0001]}},{"type":"Feature","properties":{"time":"2026-05-04T14:00:09Z"},"geometry":{"type":"Point","coordinates":[9.5005,58.0001]}}]}`,
		`{"type":"LineString","coordinates":[[9.5,58.0001],[9.5005,58.0001],[9.5005,58.0003]]}`,
	} {
		for how, edge := range []string{"", square, kml, wkt} {
			f.Add([]byte(log), []byte(edge), byte(how))
		}
	}
	f.Fuzz(func(t *testing.T, log, edge []byte, how byte) {
		if len(log)+len(edge) > mostFuzzBytes {
			t.Skip()
		}
		files := fstest.MapFS{"log": {Data: log}, "edge": {Data: edge}}
		text := "boundary: edge\n"
		if len(edge) == 0 {
			text = "boundary: worked\n"
		}
		text += "headland: {rounds: " + string('1'+how>>2%3) + "}\nmachines:\n  - name: drill\n    " + fuzzJobs[how%4] + "\n    tracks: [log]\n"
		files["job.yaml"] = &fstest.MapFile{Data: []byte(text)}
		in := job.Inputs{Files: source.Files{FS: files}, Formats: append(format.Plain(), gpkg.Format)}

		// Fuzzing waits for a run that does not end, and does not call it a failure: a
		// panic does.
		late := time.AfterFunc(mostFuzzTime, func() { panic("still at work after " + mostFuzzTime.String()) })
		defer late.Stop()
		before := allocated()
		defer func() { assert.Less(t, allocated()-before, uint64(mostAllocated), "bytes allocated") }()

		j, err := job.Load(in, "job.yaml", job.Overrides{ManyFields: true})
		if err != nil {
			var wrong *job.InputError
			require.True(t, errors.As(err, &wrong), "%v", err)
			return
		}
		for _, land := range j.Fields {
			m, err := coverage.Measure(land, j.Machines, j.Options)
			if err != nil {
				assert.NotContains(t, err.Error(), "\n")
				continue // no fix has a position, or the swaths cross too often
			}
			closes(t, m)
		}
	})
}

// allocated is how many bytes this process has ever allocated.
func allocated() uint64 {
	s := []metrics.Sample{{Name: "/gc/heap/allocs:bytes"}}
	metrics.Read(s)
	return s[0].Value.Uint64()
}
