package spec

import (
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/plane"
	"lapwing/geo/source"
)

// A machine that goes from one job to another means there what it meant.
func TestGuestMeansTheSame(t *testing.T) {
	fsys := fstest.MapFS{
		"far/job.yaml": {Data: []byte(`field: Pit Field
boundary: edge.geojson
machines:
  - name: drill A
    implement: bars/a.yaml # of the shed
    working: "speed > 1 m/s"
    tracks: [day1.csv]
  - name: drill B
    lap: 4 in
    implement: {width: 9 m, ground_delay: {on: 1 s}}
    tracks: [day1.csv]
`)},
		"far/bars/a.yaml": {Data: []byte("openers: 48\nrow_spacing: 10 in\nmount: towed\nantenna_to_hitch: 2 m\nhitch_to_bar: 9 m\ncart: {hitch_to_axle: 4 m, axle_to_hitch: 1 m}\nsections: [12, 12, 24]\n")},
		"here/job.yaml":   {Data: []byte("field: Pit Field\nboundary: edge.geojson\nmachines:\n  - {name: drill, implement: {width: 6 m}}\n")},
	}
	files := source.Files{FS: fsys}
	want, err := Read(files, "far/job.yaml")
	require.NoError(t, err)
	var guests []Guest
	for _, name := range []string{"drill A", "drill B"} {
		text, err := GuestKeys(files, "far/job.yaml", name)
		require.NoError(t, err)
		g, err := ReadGuest("drill A's cab", text)
		require.NoError(t, err, string(text))
		again, err := g.Text()
		require.NoError(t, err)
		g, err = ReadGuest("again", again)
		require.NoError(t, err, string(again))
		assert.Equal(t, name, g.Machine)
		g.Name += " (cab x)"
		guests = append(guests, g)
	}
	data, err := Retrack(files, "here/job.yaml", "out/cab-job.yaml", Crew{Guests: guests, Logs: map[string][]string{"drill A (cab x)": {"here/journal/a.csv"}}})
	require.NoError(t, err)
	fsys["out/cab-job.yaml"] = &fstest.MapFile{Data: data}
	got, err := Read(files, "out/cab-job.yaml")
	require.NoError(t, err, string(data))
	require.Len(t, got.Machines, 3)
	assert.Equal(t, 6*plane.Metre, got.Machines[0].Implement.Width)
	for i, m := range want.Machines {
		g := got.Machines[1+i]
		assert.Equal(t, m.Name+" (cab x)", g.Name)
		assert.Equal(t, m.Name, g.LoggedAs)
		assert.Equal(t, m.Implement, g.Implement)
		assert.Equal(t, m.Lap, g.Lap)
		assert.Equal(t, m.Working.Told(), g.Working.Told())
	}
	assert.Equal(t, "here/journal/a.csv", got.Machines[1].Tracks[0].Path)
	_, err = GuestKeys(files, "far/job.yaml", "drill C")
	assert.EqualError(t, err, "far/job.yaml: machines: no machine drill C, want one that is in the job")
}

// What another cab tells of a machine opens no file here, and does not make the job one
// that cannot be read.
func TestReadGuestTrustsNothing(t *testing.T) {
	for text, says := range map[string]string{
		"name: a\nimplement: /etc/passwd\n":                             "implement: found a file, want the keys of an implement",
		"name: a\nimplement: {width: 9 m}\ntracks: [/etc/passwd]\n":     "tracks: found logs, want a machine without them",
		"name: a\nimplement: {width: 9 m}\nlap: 9 m\n":                  `lap: found "9 m", want less than the working width`,
		"name: a\nimplement: {width: 9}\n":                              `implement.width: found "9", want a length`,
		"name: a\n":                                                     "implement: missing, want the keys of an implement",
		"implement: {width: 9 m}\n":                                     "name: missing, want a name",
		"name: &n a\noperator: *n\nimplement: {width: 9 m}\n":           "found an alias, or keys nested too deep, want the keys of a machine",
		"name: a\nimplement: {width: 9 m, cart: [[[[[[[[[1]]]]]]]]]}\n": "found an alias, or keys nested too deep, want the keys of a machine",
		"name: a\nfield: x\nimplement: {width: 9 m}\n":                  `field: unknown key`,
		"name: a\nworking: \"depth >\"\nimplement: {width: 9 m}\n":      "working: found",
		"[":                               "not YAML",
		"":                                "an empty file",
		"a":                               "implement: missing",
		strings.Repeat("# long\n", 10000): "found a machine of 70000 bytes, want 65536 at most",
	} {
		_, err := ReadGuest("cab x", []byte(text))
		var wrong *InputError
		require.ErrorAs(t, err, &wrong, text)
		assert.Contains(t, err.Error(), says, text)
		assert.NotContains(t, err.Error(), "\n")
	}
}
