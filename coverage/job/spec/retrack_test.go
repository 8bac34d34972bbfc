package spec

import (
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/plane"
	"lapwing/geo/source"
)

// A job that is written anew elsewhere means what it meant, and the logs that came.
func TestRetrack(t *testing.T) {
	const text = `# One field.
field: Pit Field
boundary: [edge.geojson, ../pond.geojson]
machines:
  - name: drill A
    implement: bars/a.yaml
    tracks: # of the first day
      - day1.csv
      - {log: day2.csv, from: 2026-05-04T06:00}
  - name: drill B
    implement: {width: 9 m}
`
	files := source.Files{FS: fstest.MapFS{
		"farm/pit/job.yaml":    {Data: []byte(text)},
		"farm/pit/bars/a.yaml": {Data: []byte("width: 12 m\n")},
	}}
	more := map[string][]string{"drill A": {"farm/pit/journal/a.csv", "farm/pit/day1.csv"}, "drill B": {"farm/pit/journal/b.csv"}}
	data, err := Retrack(files, "farm/pit/job.yaml", "out/cab/cab-job.yaml", Crew{Logs: more})
	require.NoError(t, err)
	before, err := Retrack(files, "farm/pit/job.yaml", "out/cab/cab-job.yaml", Crew{})
	require.NoError(t, err)
	files.FS.(fstest.MapFS)["out/cab/cab-job.yaml"] = &fstest.MapFile{Data: data}
	s, err := Read(files, "out/cab/cab-job.yaml")
	require.NoError(t, err, string(data))
	paths := func(all []Path) (out []string) {
		for _, p := range all {
			out = append(out, p.Path)
		}
		return out
	}
	assert.Equal(t, []string{"farm/pit/edge.geojson", "farm/pond.geojson"}, paths(s.Boundary))
	assert.Equal(t, []string{"farm/pit/day1.csv", "farm/pit/day2.csv", "farm/pit/journal/a.csv"}, paths(s.Machines[0].Tracks))
	assert.False(t, s.Machines[0].Tracks[1].From.IsZero())
	assert.Equal(t, 12*plane.Metre, s.Machines[0].Implement.Width)
	assert.Equal(t, []string{"farm/pit/journal/b.csv"}, paths(s.Machines[1].Tracks))
	assert.Contains(t, string(data), "# One field.")

	// What came changes no line number of the rest.
	files.FS.(fstest.MapFS)["out/cab/cab-job.yaml"] = &fstest.MapFile{Data: before}
	empty, err := Read(files, "out/cab/cab-job.yaml")
	require.NoError(t, err, string(before))
	assert.Empty(t, empty.Machines[1].Tracks)
	for i := range s.Machines {
		for k, one := range empty.Machines[i].Tracks {
			assert.Equal(t, s.Machines[i].Tracks[k], one)
		}
	}
}

// In its own folder a job keeps its paths, and a job that is none is refused as Read
// refuses it.
func TestRetrackInPlace(t *testing.T) {
	files := source.Files{FS: fstest.MapFS{"farm/job.yaml": {Data: []byte(plainJob)}, "farm/list.yaml": {Data: []byte("- a\n")}, "farm/bad.yaml": {Data: []byte("a: [")}}}
	data, err := Retrack(files, "farm/job.yaml", "farm/cab-job.yaml", Crew{})
	require.NoError(t, err)
	assert.Contains(t, string(data), "boundary: field.geojson")
	assert.Contains(t, string(data), "tracks: [day.csv]")
	for _, c := range []struct{ path, want string }{
		{"farm/none.yaml", "farm/none.yaml: no such file, want a job file"},
		{"farm/list.yaml", "farm/list.yaml:1: machines: missing, want a list of machines"},
		{"farm/bad.yaml", "not YAML"},
	} {
		_, err := Retrack(files, c.path, "farm/cab-job.yaml", Crew{})
		assert.ErrorContains(t, err, c.want)
	}
}
