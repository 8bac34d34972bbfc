//go:build unix

package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Work of which there is no exact answer, here since it costs more than it is worth, is not
// passed over: the cab says so at the lift, in answer.json as on its page and once in the
// terminal, and goes on; at the end it is refused as assess refuses it.
func TestCabSaysThatThereIsNoAnswer(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS("../../testdata/hard/noise-past-a-small-field")))
	job, err := os.ReadFile(filepath.Join(dir, "job.yaml"))
	require.NoError(t, err)
	put(t, filepath.Join(dir, "job.yaml"), strings.Replace(string(job), "    tracks: [day.csv]\n", "", 1))
	day, err := os.ReadFile(filepath.Join(dir, "day.csv"))
	require.NoError(t, err)
	log := "time,lat,lon,working\n"
	at := time.Date(2026, 4, 7, 8, 0, 0, 0, time.UTC)
	rows := strings.Split(strings.TrimSpace(string(day)), "\n")[1:]
	for i, row := range rows {
		if i == len(rows)-50 { // here it is lifted
			at = at.Add(5 * time.Second)
		}
		if i >= len(rows)-50 {
			row = strings.TrimSuffix(row, "1") + "0"
		}
		if i == len(rows)-1 {
			at = at.Add(time.Hour)
		}
		log += fmt.Sprintf("%s,%s\n", at.Format("2006-01-02T15:04:05.000Z07:00"), row)
		at = at.Add(100 * time.Millisecond)
	}
	put(t, filepath.Join(dir, "heard.csv"), log)

	p := startCab(t, dir, "--receiver", "file:heard.csv?speed=20")
	const says = "no exact answer since the last lift: field \"noise-past-a-small-field\": found swaths"
	require.Eventually(t, func() bool { return strings.Contains(p.signal(t), says) }, 30*time.Second, 50*time.Millisecond)
	require.NoError(t, p.Process.Signal(syscall.SIGTERM))
	assert.Error(t, p.Wait())
	assert.Equal(t, 2, p.ProcessState.ExitCode(), p.stderr)
	assert.Equal(t, 1, strings.Count(p.stderr.String(), "cab: no exact answer, the one before it stands: field"), p.stderr)
}
