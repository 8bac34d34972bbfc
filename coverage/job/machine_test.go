package job

import (
	"fmt"
	"strings"
	"testing"

	"lapwing/coverage/machine"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// csv writes a log with a header and one fix a row, a second apart.
func csv(header string, rows ...string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "time,lat,lon%s\n", header)
	for i, row := range rows {
		fmt.Fprintf(&b, "2026-03-02T09:00:%02dZ,%.6f,10.001%s\n", i, 54.001+float64(i)*1e-5, row)
	}
	return b.String()
}

func workingOfFixes(tr machine.Track) (out []bool) {
	for _, f := range tr.Fixes {
		out = append(out, f.Working)
	}
	return out
}

func TestMachineColumn(t *testing.T) {
	log := csv(",machine,working", ",red drill,1", ",Blue Drill,1", ",red drill,0", ",green drill,1")
	second := "  - {name: blue drill, implement: {width: 6 m}, tracks: [day.csv]}\n"
	j, err := load(t, map[string]string{"day.csv": log, "job.yaml": plainJob + second})
	require.NoError(t, err)
	assert.Equal(t, []bool{true, false}, workingOfFixes(j.Machines[0].Tracks[0]))
	assert.Equal(t, []bool{true}, workingOfFixes(j.Machines[1].Tracks[0]))
	assert.Equal(t, []string{`machine "green drill" is not in the job; its fixes are left out`}, warnings(j))

	j, err = load(t, map[string]string{"day.csv": log})
	require.NoError(t, err)
	assert.Len(t, j.Machines[0].Tracks[0].Fixes, 2, "a single machine that the column names beside others takes its own")
	assert.Len(t, warnings(j), 2)
	j, err = load(t, map[string]string{"day.csv": log, "job.yaml": strings.Replace(plainJob, "name: red drill", "name: ours", 1)})
	require.NoError(t, err)
	assert.Len(t, j.Machines[0].Tracks[0].Fixes, 4, "a single machine of another name takes all")

	_, err = load(t, map[string]string{"day.csv": log, "job.yaml": plainJob + strings.Replace(second, "blue", "black", 1)})
	var wrong *InputError
	require.ErrorAs(t, err, &wrong)
	assert.Equal(t, `no fix of machine "black drill"`, wrong.Found)

	_, err = load(t, map[string]string{"job.yaml": plainJob + second})
	require.ErrorAs(t, err, &wrong)
	assert.Equal(t, "machine blue drill, track 1", wrong.Where)
	assert.Equal(t, "each log once, or a machine column in it", wrong.Want)
}

func TestZone(t *testing.T) {
	local := "time,lat,lon\n2026-07-02 09:00:00,54.001,10.001\n2026-07-02 09:00:01,54.001,10.001\n"
	j, err := load(t, map[string]string{"day.csv": local})
	require.NoError(t, err)
	assert.Equal(t, 9, j.Machines[0].Tracks[0].Fixes[0].Time.Time().Hour())
	require.Len(t, j.Warnings, 1)
	assert.Equal(t, 2, j.Warnings[0].Count)
	assert.Equal(t, "times without a zone are taken as UTC; time_zone in the job file says otherwise", j.Warnings[0].Text)

	j, err = load(t, map[string]string{"day.csv": local, "job.yaml": "time_zone: Europe/Berlin\n" + plainJob})
	require.NoError(t, err)
	assert.Equal(t, 7, j.Machines[0].Tracks[0].Fixes[0].Time.Time().Hour(), "summer time is two hours ahead of UTC")
	assert.Empty(t, j.Warnings)
}
