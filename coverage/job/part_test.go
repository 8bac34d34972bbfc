package job

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A job may mean a part of a log, by time; the rest of it is none of its business.
func TestPartOfALog(t *testing.T) {
	log := csv(",working", ",1", ",1", ",0", ",1")
	part := func(tracks string) string {
		return "field: Nine Elms\nboundary: field.geojson\nmachines:\n  - name: red drill\n    implement: {width: 6 m}\n    tracks: " + tracks + "\n"
	}
	for tracks, want := range map[string][]bool{
		`[{log: day.csv}]`: {true, true, false, true},
		`[{log: day.csv, from: "2026-03-02T09:00:01Z"}]`:                             {true, false, true},
		`[{log: day.csv, to: "2026-03-02T09:00:02Z"}]`:                               {true, true},
		`{log: day.csv, to: "2026-03-02T09:00:02"}`:                                  nil, // no list
		`[{log: day.csv, from: "2026-03-02 09:00:02Z", to: "2026-03-02T09:00:03Z"}]`: {false},
	} {
		j, err := load(t, map[string]string{"day.csv": log, "job.yaml": part(tracks)})
		if want == nil {
			assert.ErrorContains(t, err, "want a list of logs", tracks)
			continue
		}
		require.NoError(t, err, tracks)
		assert.Equal(t, want, workingOfFixes(j.Machines[0].Tracks[0]), tracks)
	}

	// Two parts of one log are two tracks; they have no fix in common.
	j, err := load(t, map[string]string{"day.csv": log, "job.yaml": part(`[{log: day.csv, to: "2026-03-02T09:00:01Z"}, {log: day.csv, from: "2026-03-02T09:00:03Z"}]`)})
	require.NoError(t, err)
	require.Len(t, j.Machines[0].Tracks, 2)
	assert.Equal(t, []bool{true}, workingOfFixes(j.Machines[0].Tracks[1]))

	for tracks, want := range map[string]string{
		`[day.csv, {log: day.csv, from: "2026-03-02T09:00:01Z"}]`:              `found "day.csv" twice, want each log once`,
		`[{log: day.csv, from: noon}]`:                                         `machine red drill, track 1, from: found "noon", want a time such as "2026-05-04T18:00"`,
		`[{log: day.csv, from: "2026-03-02T10:00Z", to: "2026-03-02T09:00Z"}]`: `machine red drill, track 1, to: found "2026-03-02T09:00Z", want a time after from`,
		`[{log: day.csv, from: "2027-03-02T10:00Z"}]`:                          `day.csv: no fix in the part that the job asks for, want a part of 2026-03-02T09:00:00Z to 2026-03-02T09:00:03Z`,
		`[{form: "2027-03-02T10:00Z"}]`:                                        `unknown key "form", want "from"`,
		`[{from: "2027-03-02T10:00Z"}]`:                                        `machine red drill, track 1, log: missing, want the path of a log`,
	} {
		_, err := load(t, map[string]string{"day.csv": log, "job.yaml": part(tracks)})
		var wrong *InputError
		require.ErrorAs(t, err, &wrong, tracks)
		assert.Contains(t, err.Error(), want, tracks)
	}
	_, err = load(t, map[string]string{"day.csv": "lat,lon\n54.001,10.001\n54.002,10.001\n", "job.yaml": part(`[{log: day.csv, from: "2026-03-02T09:00:01Z"}]`)})
	assert.ErrorContains(t, err, "a log without times, want times, since the job asks for a part of it")
}
