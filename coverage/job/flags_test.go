package job

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/plane"
)

func TestFromFlags(t *testing.T) {
	dir := folder(t, nil)
	j, err := FromFlags(disk(nil), Flags{Boundaries: []string{filepath.Join(dir, "field.geojson")}, Tracks: []string{filepath.Join(dir, "day.csv")}, Width: "3 m"})
	require.NoError(t, err)
	assert.Equal(t, "field", j.Fields[0].Name)
	assert.Len(t, j.Fields[0].Boundary, 1)
	require.Len(t, j.Machines, 1)
	assert.Equal(t, 3*plane.Metre, j.Machines[0].Implement.Width)
	assert.Equal(t, 10*plane.Centimetre, j.MinWidth)
}

func TestFromFlagsWithoutBoundary(t *testing.T) {
	dir := folder(t, map[string]string{"bar.yaml": "openers: 24\nrow_spacing: 12.5 cm\n"})
	for _, boundary := range []string{"", "worked"} {
		j, err := FromFlags(disk(strings.NewReader(dayCSV)), Flags{Boundaries: []string{boundary}, Tracks: []string{"-"}, Implement: filepath.Join(dir, "bar.yaml")})
		require.NoError(t, err)
		assert.True(t, j.Fields[0].Worked)
		assert.Empty(t, j.Fields[0].Boundary)
		assert.Equal(t, "standard input", j.Fields[0].Name)
		assert.Equal(t, 24, j.Machines[0].Implement.Openers)
		assert.Equal(t, "standard input", j.Machines[0].Tracks[0].File)
	}
}

// Logs are one machine's, unless two of them overlap in time.
func TestFromFlagsMachines(t *testing.T) {
	later := strings.ReplaceAll(dayCSV, "T09:", "T10:")
	named := csv(",machine", ",red", ",blue")
	for _, c := range []struct {
		name     string
		tracks   []string
		machines map[string]int // tracks of each
		warned   bool
	}{
		{"one after the other", []string{"day.csv", "later.csv"}, map[string]int{"machine 1": 2}, false},
		{"at the same time", []string{"day.csv", "same.csv"}, map[string]int{"day": 1, "same": 1}, true},
		{"named in the log", []string{"named.csv"}, map[string]int{"red": 1, "blue": 1}, false},
		{"named in one log only", []string{"named.csv", "day.csv"}, map[string]int{"red": 1, "blue": 1, "machine 1": 1}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := folder(t, map[string]string{"later.csv": later, "same.csv": dayCSV, "named.csv": named})
			f := Flags{Width: "3 m"}
			for _, name := range c.tracks {
				f.Tracks = append(f.Tracks, filepath.Join(dir, name))
			}
			j, err := FromFlags(disk(nil), f)
			require.NoError(t, err)
			got := map[string]int{}
			for _, m := range j.Machines {
				got[m.Name] = len(m.Tracks)
			}
			assert.Equal(t, c.machines, got)
			if c.warned {
				require.Len(t, j.Warnings, 1)
				assert.Contains(t, j.Warnings[0].Text, "in time, so each log is taken as a machine of its own")
			} else {
				assert.Empty(t, j.Warnings)
			}
		})
	}
}

func TestFromFlagsTwoLogsOfOneName(t *testing.T) {
	dir := folder(t, nil)
	sub := folder(t, nil)
	j, err := FromFlags(disk(nil), Flags{Width: "3 m", Tracks: []string{filepath.Join(dir, "day.csv"), filepath.Join(sub, "day.csv")}})
	require.NoError(t, err)
	assert.Equal(t, []string{"day", "day 2"}, []string{j.Machines[0].Name, j.Machines[1].Name})
}

func TestWrongFlags(t *testing.T) {
	const length = `, want a length such as "50 ft" or "16.5 m"`
	dir := folder(t, map[string]string{"two.geojson": two("North", "South"), "bar.yaml": "wdth: 3 m\n", "blank.csv": csv(",machine", ",red", ",")})
	in := func(name string) string { return filepath.Join(dir, name) }
	for _, c := range []struct {
		flags Flags
		want  string
	}{
		{Flags{Width: "3 m"}, `--track: missing, want a log of fixes`},
		{Flags{Tracks: []string{in("day.csv")}}, `--width: missing` + length + `, or --implement`},
		{Flags{Tracks: []string{in("day.csv")}, Width: "50"}, `--width: found "50"` + length},
		{Flags{Tracks: []string{in("day.csv")}, Width: "0 m"}, `--width: found "0 m", too short` + length},
		{Flags{Tracks: []string{in("day.csv")}, Width: "3 m", Implement: "bar.yaml"}, `--width: found beside --implement, want one of the two`},
		{Flags{Tracks: []string{in("day.csv")}, Implement: in("none.yaml")}, `none.yaml: no such file, want an implement file`},
		{Flags{Tracks: []string{in("day.csv")}, Implement: in("bar.yaml")}, `bar.yaml:1: wdth: unknown key "wdth", want "width"`},
		{Flags{Tracks: []string{in("day.csv"), in("day.csv")}, Width: "3 m"}, `--track: found "day.csv" twice, want each log once`},
		{Flags{Tracks: []string{in("none.csv")}, Width: "3 m"}, `none.csv: no such file, want a log of fixes`},
		{Flags{Tracks: []string{in("blank.csv")}, Width: "3 m"}, `blank.csv:3: column "machine": found "", want the name of a machine`},
		{Flags{Tracks: []string{in("day.csv")}, Width: "3 m", Boundaries: []string{in("none.geojson")}}, `none.geojson: no such file, want a boundary file`},
		{Flags{Tracks: []string{in("day.csv")}, Width: "3 m", Boundaries: []string{in("two.geojson")}}, `two.geojson: found 2 boundaries, "North" and "South", want one, or a job file that names the field`},
		{Flags{Tracks: []string{in("day.csv")}, Width: "3 m", Overrides: Overrides{MaxGap: "3"}}, `--max-gap: found "3", want a time such as "2 s" or "0.5 min"`},
	} {
		_, err := FromFlags(disk(nil), c.flags)
		assertInputError(t, withoutFolder(err, dir), c.want)
	}
}
