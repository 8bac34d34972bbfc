//go:build unix

package main

import (
	"bufio"
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/entries"
	"lapwing/coverage/book"
	"lapwing/coverage/book/postgis/pgtest"
	"lapwing/coverage/job"
	"lapwing/coverage/quantity"
)

// A heard command is one that runs, of which is read what it says.
type heard struct {
	*exec.Cmd
	mu    sync.Mutex
	said  strings.Builder
	ended chan error
}

// start starts a command in a directory.
func start(t *testing.T, dir string, args ...string) *heard {
	t.Helper()
	return startWith(t, dir, nil, args...)
}

// startWith is [start] with variables of the environment besides those of the test.
func startWith(t *testing.T, dir string, env []string, args ...string) *heard {
	t.Helper()
	h := &heard{Cmd: exec.Command("lapwing", args...), ended: make(chan error, 1)}
	h.Dir, h.Env = dir, append(os.Environ(), env...)
	r, w, err := os.Pipe()
	require.NoError(t, err)
	h.Stdout, h.Stderr = w, w
	require.NoError(t, h.Start())
	w.Close()
	go func() {
		lines := bufio.NewReader(r)
		for {
			line, err := lines.ReadString('\n')
			h.mu.Lock()
			h.said.WriteString(line)
			h.mu.Unlock()
			if err != nil {
				break
			}
		}
		r.Close()
		h.ended <- h.Wait()
	}()
	t.Cleanup(func() { _ = h.Process.Kill() })
	return h
}

func (h *heard) words() string {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.said.String()
}

// says waits until the command has said something.
func (h *heard) says(t *testing.T, text string) {
	t.Helper()
	require.Eventually(t, func() bool { return strings.Contains(h.words(), text) }, time.Minute, 5*time.Millisecond, "want %q, said: %s", text, &h.said)
}

// ends waits until the command has ended, and returns its status and what it said.
func (h *heard) ends(t *testing.T) (status int, said string) {
	t.Helper()
	select {
	case <-h.ended:
	case <-time.After(3 * time.Minute):
		require.Fail(t, "does not end", "%s", h.words())
	}
	return h.ProcessState.ExitCode(), h.words()
}

// storedIn returns what a book has stored of jobs, by their paths.
func storedIn(t *testing.T, address string, paths []string) map[string][][]byte {
	t.Helper()
	store, err := storeAt(t.Context(), address)
	require.NoError(t, err)
	defer store.Close()
	out := map[string][][]byte{}
	for _, path := range paths {
		now, err := book.Look(disk.Inputs(nil), path, "", "", nil)
		require.NoError(t, err)
		sought, err := book.Seek(disk.Inputs(nil), path, now, bookProgram(), entries.Question(quantity.US, job.Overrides{}))
		require.NoError(t, err)
		if out[path], err = store.Stored(context.Background(), sought.Key); err != nil {
			t.Errorf("%s: %v", path, err)
		}
	}
	return out
}

// A season whose jobs workers measure has the same files to the byte as one that measures
// them, and the book the same assessments; the files of the jobs are not where the workers
// run. A job that is wrong is told of in the same words.
func TestWorkersGiveTheSameFiles(t *testing.T) {
	t.Parallel()
	work := t.TempDir()
	jobsOfAllKinds(t, filepath.Join(work, "jobs"))
	put(t, filepath.Join(work, "jobs", "wrong", "job.yaml"), "boundary: worked\nmachines:\n  - {name: drill, implement: {width: 20 ft}, tracks: [day.csv]}\n")
	put(t, filepath.Join(work, "jobs", "wrong", "day.csv"), "time,lat,lon\n2026-05-04T08:00:00Z,48.1,x\n")
	far := filepath.Join(work, "far")
	require.NoError(t, os.MkdirAll(filepath.Join(far, "log"), 0o755))
	log, err := os.ReadFile(filepath.Join(repository, "samples", "long-meadow", "wide.csv"))
	require.NoError(t, err)
	put(t, filepath.Join(far, "log", "day.csv"), string(log))
	put(t, filepath.Join(work, "jobs", "absolute", "job.yaml"),
		"boundary: worked\nmachines:\n  - {name: drill, implement: {width: 20 ft}, tracks: ["+filepath.Join(far, "log", "day.csv")+"]}\n")
	alone := "file:" + filepath.Join(work, "alone.gpkg")
	plain := start(t, work, "season", "jobs", "--out", "plain", "--book", alone)
	status, want := plain.ends(t)
	require.Equal(t, wrongInput, status, want)
	assert.Contains(t, want, "day.csv:2:")
	var paths []string
	for _, path := range jobPaths(t, filepath.Join(work, "jobs")) {
		if !strings.Contains(path, "wrong") {
			paths = append(paths, filepath.Join(work, "jobs", path))
		}
	}
	before := storedIn(t, alone, paths)
	eachBook(t, func(t *testing.T, address string) {
		out := outOf(t) + "out"
		season := start(t, work, "season", "jobs", "--out", out, "--book", address, "--workers")
		season.says(t, "Left to workers, lapwing work --book ")
		elsewhere := t.TempDir()
		var workers []*heard
		for range 2 {
			workers = append(workers, start(t, elsewhere, "work", "--book", address, "--until-empty", "--jobs", "1"))
		}
		done := 0
		for _, w := range workers {
			status, said := w.ends(t)
			require.Equal(t, 0, status, said)
			found := regexp.MustCompile(`(?m)^Jobs done: (\d+); set aside: [01]$`).FindStringSubmatch(said)
			require.NotNil(t, found, said)
			n, err := strconv.Atoi(found[1])
			require.NoError(t, err)
			done += n
			assert.NotContains(t, said, pgtest.Password)
			assert.NotContains(t, said, "warning")
		}
		assert.Equal(t, len(paths), done, "each of them once")
		status, said := season.ends(t)
		assert.Equal(t, wrongInput, status, said)
		assert.Contains(t, said, fmt.Sprintf("; %d of %d jobs taken from the book", len(paths), len(paths)+1))
		sameFiles(t, filepath.Join(work, "plain"), filepath.Join(work, out))
		left, err := os.ReadDir(elsewhere)
		require.NoError(t, err)
		assert.Empty(t, left)

		after := storedIn(t, address, paths)
		for path := range before {
			require.Equal(t, len(before[path]), len(after[path]), path)
			for i := range before[path] {
				assert.True(t, bytes.Equal(before[path][i], after[path][i]), "%s: part %d is stored otherwise", path, i)
			}
		}
	})
}

// A job that takes more memory or time than it may is set aside with what it took, after
// it was tried again; the season says so and is done with the others. It waits again when
// that is asked for.
func TestWorkersSetAside(t *testing.T) {
	t.Parallel() // pauses, most of the time
	work := t.TempDir()
	writeSeason(t, filepath.Join(work, "jobs"), 1)
	lapwingIn(t, work, "season", "jobs", "--out", "plain")
	address, out := "file:book.gpkg", "out"
	season := start(t, work, "season", "jobs", "--out", out, "--book", address, "--workers")
	season.says(t, ": 1 job\n")
	_, said := start(t, work, "work", "--book", address, "--until-empty", "--max-memory", "1").ends(t)
	assert.Regexp(t, `(?m)^set aside: job [0-9a-f]{12}: it takes more than 1 MB of memory$`, said)
	assert.Contains(t, said, "Jobs done: 0; set aside: 1\n")
	status, said := season.ends(t)
	assert.Equal(t, failed, status, said)
	assert.Contains(t, said, "failed: jobs/field-000/job.yaml: set aside by the workers: it takes more than 1 MB of memory\n")
	// It is not tried again by who comes next.
	status, _ = start(t, work, "season", "jobs", "--out", out, "--book", address, "--workers").ends(t)
	assert.Equal(t, failed, status)

	_, said = start(t, work, "work", "--book", address, "--until-empty", "--retry", "--max-time", "1ms").ends(t)
	assert.Contains(t, said, "Jobs that were set aside and wait again: 1\n")
	assert.Regexp(t, `(?m)^set aside: job [0-9a-f]{12}: it takes more than 1ms$`, said)

	_, said = start(t, work, "work", "--book", address, "--until-empty", "--retry").ends(t)
	assert.Contains(t, said, "Jobs done: 1; set aside: 0\n")
	said = lapwingIn(t, work, "season", "jobs", "--out", out, "--book", address, "--workers")
	assert.Contains(t, said, "; 1 of 1 jobs taken from the book")
	sameFiles(t, filepath.Join(work, "plain"), filepath.Join(work, out))
}

// A season that is stopped takes its jobs out of the queue, and the same command goes on.
// A worker that is told to stop ends in order.
func TestWorkersAreStopped(t *testing.T) {
	work := t.TempDir()
	writeSeason(t, filepath.Join(work, "jobs"), 40)
	eachBook(t, func(t *testing.T, address string) {
		season := start(t, work, "season", "jobs", "--out", outOf(t)+"out", "--book", address, "--workers")
		season.says(t, ": 40 jobs\n")
		sent := time.Now()
		require.NoError(t, season.Process.Signal(syscall.SIGINT))
		status, said := season.ends(t)
		assert.Equal(t, 130, status, said)
		assert.Less(t, time.Since(sent), soonest())
		status, said = start(t, work, "work", "--book", address, "--until-empty").ends(t)
		assert.Equal(t, 0, status)
		assert.Contains(t, said, "Jobs done: 0; set aside: 0\n")

		for _, signal := range []os.Signal{syscall.SIGTERM, syscall.SIGINT} {
			season = start(t, work, "season", "jobs", "--out", outOf(t)+"out", "--book", address, "--workers")
			season.says(t, "Left to workers")
			worker := start(t, work, "work", "--book", address, "--jobs", "1")
			worker.says(t, ", 1 at a time")
			time.Sleep(10 * startUp)
			sent = time.Now()
			require.NoError(t, worker.Process.Signal(signal))
			status, said = worker.ends(t)
			assert.Equal(t, 0, status, said)
			assert.Less(t, time.Since(sent), 10*time.Second)
			require.NoError(t, season.Process.Kill())
			_, _ = season.ends(t)
		}
	})
}

// killedWorkers is how often workers are killed: 50 times with LAPWING_LONG.
func killedWorkers() int {
	if os.Getenv("LAPWING_LONG") != "" {
		return 50
	}
	return 4
}

// Workers are killed one after the other in the middle of their jobs, and PostgreSQL with
// them. Others do what they had in hand, and what one has that hangs, which goes on when
// they have done it; the season is what it would have been, and the book has each job
// once.
func TestWorkersKilled(t *testing.T) {
	t.Parallel() // it waits until a worker has been silent for long enough
	work := t.TempDir()
	fields := 12
	if os.Getenv("LAPWING_LONG") != "" {
		fields = 60
	}
	writeSeason(t, filepath.Join(work, "jobs"), fields)
	lapwingIn(t, work, "season", "jobs", "--out", "straight")
	seed := rand.Uint64()
	t.Log("seed", seed)
	try := func(t *testing.T, address string, restart func(), writable func() bool) {
		t.Parallel()
		rng := rand.New(rand.NewPCG(seed, 4))
		out := outOf(t) + "out"
		season := start(t, work, "season", "jobs", "--out", out, "--book", address, "--workers", "--jobs", "2")
		season.says(t, fmt.Sprintf(": %d jobs\n", fields))
		var hangs *heard
		temp := t.TempDir()
		for i := range killedWorkers() {
			worker := startWith(t, work, []string{"TMPDIR=" + temp}, "work", "--book", address, "--jobs", "2")
			worker.says(t, ", 2 at a time")
			if i%2 == 1 {
				restart()
			}
			time.Sleep(time.Duration(rng.Float64() * float64(time.Second)))
			if i == 0 {
				hangs = worker
				// Not while it writes: in a file nobody else could until it goes on, which is
				// SQLite's promise and not ours.
				for stopped := false; !stopped; stopped = writable() {
					require.NoError(t, worker.Process.Signal(syscall.SIGCONT), "%s", worker.words())
					time.Sleep(20 * time.Millisecond)
					require.NoError(t, worker.Process.Signal(syscall.SIGSTOP), "%s", worker.words())
				}
				continue
			}
			require.NoError(t, worker.Process.Kill(), "%s", worker.words())
			worker.ends(t)
		}
		began := time.Now()
		status, said := start(t, work, "work", "--book", address, "--until-empty").ends(t)
		require.Equal(t, 0, status, said)
		t.Logf("after the last kill the queue was empty in %v: %s", time.Since(began).Round(time.Second), said)
		require.NoError(t, hangs.Process.Signal(syscall.SIGCONT))
		time.Sleep(5 * startUp)
		require.NoError(t, hangs.Process.Signal(syscall.SIGTERM))
		status, said = hangs.ends(t)
		require.Equal(t, 0, status, said)
		status, said = season.ends(t)
		require.Equal(t, 0, status, said)
		assert.Contains(t, said, fmt.Sprintf("; %d of %d jobs taken from the book", fields, fields))
		assert.Contains(t, said, fmt.Sprintf("holds %d fields, %d assessments", fields, fields))
		sameFiles(t, filepath.Join(work, "straight"), filepath.Join(work, out))

		// The next worker takes away what killed ones left, once that is not just begun.
		left, err := os.ReadDir(temp)
		require.NoError(t, err)
		for _, e := range left {
			require.NoError(t, os.Chtimes(filepath.Join(temp, e.Name()), time.Now(), time.Now().Add(-time.Hour)))
		}
		status, said = startWith(t, work, []string{"TMPDIR=" + temp}, "work", "--book", address, "--until-empty").ends(t)
		require.Equal(t, 0, status, said)
		left, err = os.ReadDir(temp)
		require.NoError(t, err)
		assert.Empty(t, left)
	}
	t.Run("file", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "book.gpkg")
		try(t, "file:"+path, func() {}, func() bool { return isWritable(t, path) })
	})
	t.Run("postgres", func(t *testing.T) {
		server := pgtest.Start(t)
		try(t, server.Database(t), func() {
			server.Kill()
			server.Run(t)
		}, func() bool { return true })
	})
}

// isWritable reports whether a database in a file can be written within a second.
func isWritable(t *testing.T, path string) bool {
	t.Helper()
	db, err := sql.Open("sqlite3", "file:"+path+"?_txlock=immediate&_pragma=busy_timeout(1000)")
	require.NoError(t, err)
	defer db.Close()
	tx, err := db.Begin()
	if err != nil {
		return false
	}
	return tx.Rollback() == nil
}

// No process of a job outlives its worker.
func TestAnswerJobEndsWithItsWorker(t *testing.T) {
	c := exec.Command("lapwing", "answer-job")
	in, err := c.StdinPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	_, err = io.WriteString(in, `{"dir": "/", "memory": 1000000000}`+"\n")
	require.NoError(t, err)
	require.NoError(t, in.Close())
	require.Error(t, c.Wait())
	assert.NotZero(t, c.ProcessState.ExitCode())
}
