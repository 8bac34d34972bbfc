package main

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/cmd/lapwing/entries"
	"lapwing/coverage/assess"
)

// Backwards on logs of a real machine: a forage harvester worked five fields in one
// evening (data/isoxml-forage-harvest-5-tasks/SOURCE.md), and each field is told by the
// others as if it had not been begun. What the first three tell of the last two is
// within their interval.
func TestRainBackwardsOnAHarvester(t *testing.T) {
	set, err := filepath.Abs("../../../shared/data/isoxml-forage-harvest-5-tasks/TASKDATA")
	require.NoError(t, err)
	if _, err := os.Stat(set); err != nil {
		t.Skip("no shared data beside the checkout")
	}
	work := t.TempDir()
	var jobs []string
	for i := 1; i <= 5; i++ {
		job := fmt.Sprintf("boundary: %q\nmachines: [{name: chopper, implement: {width: 9 m}, tracks: [%q]}]\n",
			fmt.Sprintf("%s#PFD-%d", set, i+1), fmt.Sprintf("%s#TSK%d", set, i))
		jobs = append(jobs, filepath.Join(work, fmt.Sprintf("field%d.yaml", i)))
		require.NoError(t, os.WriteFile(jobs[i-1], []byte(job), 0o644))
	}
	run := func(args ...string) {
		out, err := exec.Command("lapwing", append([]string{"season"}, args...)...).CombinedOutput()
		require.NoError(t, err, "%s", out)
	}
	all, half := filepath.Join(work, "all"), filepath.Join(work, "half")
	run(append(jobs, "--out", all)...)
	run(jobs[0], jobs[1], jobs[2], "--out", half, "--rain-at", "2020-01-02T23:30", "--next", set+"#PFD-5,PFD-6", "--road-speed", "25 km/h")

	took := map[string]float64{} // s in each field
	summaries, err := filepath.Glob(filepath.Join(all, entries.Folder, "*", "summary.json"))
	require.NoError(t, err)
	require.Len(t, summaries, 5)
	for _, path := range summaries {
		f, err := os.Open(path)
		require.NoError(t, err)
		s, err := assess.ReadSummary(f)
		f.Close()
		require.NoError(t, err)
		for _, m := range s.Times {
			took[s.Field.Name] += float64(m.Working + m.Turning + m.Standing + m.Stopped + m.Travelling)
		}
	}
	text, err := os.ReadFile(filepath.Join(half, "rain.json"))
	require.NoError(t, err)
	var said struct {
		Factor float64 `json:"interval_factor"`
		Judged bool    `json:"interval_by_judgement"`
		Fields []struct {
			Field string  `json:"field"`
			Takes float64 `json:"takes_s"`
		} `json:"fields"`
	}
	require.NoError(t, json.Unmarshal(text, &said))
	assert.False(t, said.Judged)
	require.Len(t, said.Fields, 2)
	for _, f := range said.Fields {
		t.Logf("%s: told %.0f s, took %.0f s, factor %.2f", f.Field, f.Takes, took[f.Field], said.Factor)
		assert.Greater(t, took[f.Field], f.Takes/said.Factor, f.Field)
		assert.Less(t, took[f.Field], f.Takes*said.Factor, f.Field)
	}
}
