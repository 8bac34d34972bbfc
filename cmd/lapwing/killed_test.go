//go:build unix

package main

import (
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/output"
	"lapwing/report/season"
)

// kills is how many runs are killed: 200 with LAPWING_LONG.
func kills() int {
	if os.Getenv("LAPWING_LONG") != "" {
		return 200
	}
	return 12
}

// killAt starts a command and kills it at some moment: of every two runs one
// anywhere on its way, the other while files get their places in dir, which is
// soon over.
func killAt(t *testing.T, i int, rng *rand.Rand, length time.Duration, dir string, c *exec.Cmd) {
	t.Helper()
	require.NoError(t, c.Start())
	ended := make(chan error)
	go func() { ended <- c.Wait() }()
	moment := time.After(time.Duration(rng.Float64() * float64(length)))
	if i%2 == 1 {
		moment = nil
	}
	delay := time.Duration(rng.IntN(1000)) * time.Microsecond
	for {
		select {
		case <-ended: // it was quicker
			return
		case <-moment:
		default:
			if moment != nil || !swapsIn(dir) {
				time.Sleep(20 * time.Microsecond)
				continue
			}
			time.Sleep(delay)
		}
		_ = c.Process.Kill()
		<-ended
		return
	}
}

// What a set of files that gets its places has in the directory that others read.
var (
	setDir   = regexp.MustCompile(`^\.lapwing-[0-9]+$`)
	readyFor = "swap.json" // in it, once the set is to be finished
)

// swapsIn reports whether files get their places in a directory now.
func swapsIn(dir string) bool {
	entries, _ := os.ReadDir(dir)
	for _, e := range entries {
		if e.IsDir() && setDir.MatchString(e.Name()) && disk.Exists(filepath.Join(dir, e.Name(), readyFor)) {
			return true
		}
	}
	return false
}

// An assessment that is killed leaves the files of one run, or what the next run
// of any kind makes that of it; and the user's files as they were.
func TestAssessKilled(t *testing.T) {
	t.Parallel()
	work := t.TempDir()
	writeSeason(t, filepath.Join(work, "jobs"), 1)
	dir := filepath.Join(work, "out [1]")
	assess := func(width, out string) *exec.Cmd {
		c := exec.Command("lapwing", "assess", "--boundary", "jobs/field-000/boundary.geojson", "--track", "jobs/field-000/log.csv", "--width", width, "--out", out)
		c.Dir = work
		return c
	}
	sets := map[string]map[string]string{}
	widths := []string{"12 m", "11 m"}
	var length time.Duration
	for _, width := range widths {
		began := time.Now()
		require.NoError(t, assess(width, width).Run())
		length = time.Since(began)
		sets[width] = contents(t, filepath.Join(work, width))
		sets[width]["notes.txt"] = "mine"
	}
	require.NoError(t, assess(widths[1], dir).Run())
	put(t, filepath.Join(dir, "notes.txt"), "mine")
	seed := rand.Uint64()
	t.Log("seed", seed)
	rng := rand.New(rand.NewPCG(seed, 0))
	before, pending, finished := widths[1], 0, 0
	for i := range kills() {
		now := widths[i%2]
		killAt(t, i, rng, length, dir, assess(now, dir))
		if swapsIn(dir) {
			pending++
		}
		next, err := output.Open(dir)
		require.NoError(t, err)
		next.Discard()
		switch got := contents(t, dir); {
		case assert.ObjectsAreEqual(sets[now], got):
			before = now
			finished++
		case !assert.ObjectsAreEqual(sets[before], got):
			require.Fail(t, "neither the old set nor the new one", "after kill %d: %v", i, names(got))
		}
	}
	t.Logf("%d runs killed: %d while files got their places, %d with the new files in place in the end", kills(), pending, finished)
	require.NoError(t, assess("12 m", dir).Run())
	require.Equal(t, sets["12 m"], contents(t, dir))
}

func names(files map[string]string) (out []string) {
	for name, text := range files {
		out = append(out, fmt.Sprintf("%s %.80q", name, text))
	}
	return out
}

// A season that is killed again and again ends as one that never was.
func TestSeasonKilled(t *testing.T) {
	t.Parallel()
	work := t.TempDir()
	writeSeason(t, filepath.Join(work, "jobs"), 4)
	began := time.Now()
	require.NoError(t, seasonIn(work, "straight").Run())
	length := time.Since(began)
	want := contents(t, filepath.Join(work, "straight"))
	want["notes.txt"] = "mine"
	book := filepath.Join(work, "bo[o]k")
	put(t, filepath.Join(book, "notes.txt"), "mine")
	seed := rand.Uint64()
	t.Log("seed", seed)
	rng := rand.New(rand.NewPCG(seed, 1))
	for i := range kills() / 2 {
		killAt(t, i, rng, length, book, seasonIn(work, book, "--fresh"))
		require.FileExists(t, filepath.Join(book, "notes.txt"))
	}
	out, err := seasonIn(work, book).CombinedOutput()
	require.NoError(t, err, string(out))
	got := contents(t, book)
	for name := range want {
		require.True(t, want[name] == got[name], "%s differs", name)
	}
	require.Len(t, got, len(want), "%v", names(got))
}

// A demo that is killed can be begun again.
func TestDemoKilled(t *testing.T) {
	t.Parallel()
	work := t.TempDir()
	demo := func(dir string) *exec.Cmd {
		c := exec.Command("lapwing", "demo", dir, "--no-open")
		c.Dir = work
		return c
	}
	began := time.Now()
	require.NoError(t, demo("straight").Run())
	length := time.Since(began)
	want := contents(t, filepath.Join(work, "straight"))
	rng := rand.New(rand.NewPCG(rand.Uint64(), 2))
	for i := range kills() / 4 {
		dir := filepath.Join(work, fmt.Sprint("killed ", i))
		killAt(t, i, rng, length/4, dir, demo(dir)) // the samples are written first
		out, err := demo(dir).CombinedOutput()
		require.NoError(t, err, string(out))
		got := contents(t, dir)
		for name := range want {
			require.Contains(t, got, name)
		}
		require.Len(t, got, len(want), "%v", names(got))
	}
}

// Two seasons at a time into one directory are one too many; the other says so.
// A killed one is in nobody's way.
func TestSeasonIsLocked(t *testing.T) {
	t.Parallel()
	work := t.TempDir()
	writeSeason(t, filepath.Join(work, "jobs"), 24)
	first := seasonIn(work, "book", "--jobs", "1")
	require.NoError(t, first.Start())
	comeTo(t, filepath.Join(work, "book"), 1)
	require.NoError(t, first.Process.Signal(syscall.SIGSTOP)) // it goes no further, and is not gone
	second := seasonIn(work, "book")
	out, err := second.CombinedOutput()
	var failure *exec.ExitError
	require.ErrorAs(t, err, &failure)
	assert.Equal(t, wrongInput, failure.ExitCode())
	assert.Equal(t, "lapwing: book: --out: found another run of lapwing that is writing into it, want another directory, or this one when that run has ended\n", string(out))
	require.NoError(t, first.Process.Kill())
	_ = first.Wait() // it was killed
	require.NoError(t, seasonIn(work, "book").Run())
	assert.FileExists(t, filepath.Join(work, "book", season.PageFile))
}
