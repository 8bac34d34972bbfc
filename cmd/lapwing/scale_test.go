//go:build unix

package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/book/postgis/pgtest"
)

// How many jobs a minute one worker, two and four put into a book in PostgreSQL, each of one
// job at a time, and what keeps them from more: the processors' time of the workers beside
// that of all on this computer. DEVELOPERS.md has the figures.
func TestWorkersAtScale(t *testing.T) {
	const fields = 2000
	if os.Getenv("LAPWING_LONG") == "" {
		t.Skip("takes a quarter of an hour of all processors: LAPWING_LONG=1 has it done")
	}
	work := t.TempDir()
	writeSeason(t, filepath.Join(work, "jobs"), fields)
	server := pgtest.Start(t)
	for _, workers := range []int{1, 2, 4} {
		book := server.Database(t)
		season := start(t, work, "season", "jobs", "--out", fmt.Sprint("out", workers), "--book", book, "--workers")
		season.says(t, "Left to workers")
		began := time.Now()
		before := processorTime(t)
		var all []*heard
		for range workers {
			all = append(all, start(t, work, "work", "--book", book, "--until-empty", "--jobs", "1"))
		}
		var spent time.Duration
		for _, w := range all {
			require.NoError(t, <-w.ended, w.words())
			spent += w.ProcessState.UserTime() + w.ProcessState.SystemTime() // with what each job is measured in
		}
		took := time.Since(began)
		busy := processorTime(t) - before
		c, err := pgx.Connect(t.Context(), book)
		require.NoError(t, err)
		var jobs, stored int
		var size int64
		require.NoError(t, c.QueryRow(t.Context(), "SELECT (SELECT count(*) FROM lapwing.jobs), (SELECT count(*) FROM lapwing.stored), pg_database_size(current_database())").Scan(&jobs, &stored, &size))
		require.NoError(t, c.Close(context.Background()))
		assert.Equal(t, fields, jobs, "each once")
		assert.Equal(t, fields, stored)
		t.Logf("%d workers: %d fields in %.0f s, %.0f a minute; workers' processors %.0f s, all on this computer %.0f of %.0f s; %.0f kB a field in the database",
			workers, fields, took.Seconds(), float64(fields)/took.Minutes(), spent.Seconds(), busy.Seconds(), took.Seconds()*float64(runtime.NumCPU()), float64(size)/float64(fields)/1000)
		require.NoError(t, season.Process.Signal(syscall.SIGTERM)) // its pages are another matter
		<-season.ended
	}
}

// processorTime is what all processors of this computer have worked since it was started; 0
// where the system does not tell.
func processorTime(t *testing.T) (busy time.Duration) {
	t.Helper()
	text, err := os.ReadFile("/proc/stat")
	if err != nil {
		return 0
	}
	line, _, _ := strings.Cut(string(text), "\n")
	for i, word := range strings.Fields(line)[1:] {
		var ticks int64
		_, err := fmt.Sscan(word, &ticks)
		require.NoError(t, err)
		if i != 3 && i != 4 && i < 8 { // idle and waiting for a disk; guests are counted in what is before them
			busy += time.Duration(ticks) * 10 * time.Millisecond
		}
	}
	return busy
}
