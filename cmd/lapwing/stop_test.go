//go:build unix

package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// alone says that nothing else keeps the machine busy: what a slow one is let off for is
// asked.
var alone = os.Getenv("LAPWING_LONG") != ""

// soonest is how long after a signal a run may take to end. The rule is half a
// second; where tests share the machine a process waits for its turn as long again.
func soonest() time.Duration {
	if alone {
		return 500 * time.Millisecond
	}
	return 3 * time.Second
}

// Every command ends soon after a signal, at whatever moment it comes: with the
// signal's status, or done where it was; nothing temporary is left, and a directory
// that was not there is not there or holds a whole set.
func TestSignalEndsEveryCommand(t *testing.T) {
	t.Parallel()
	work := t.TempDir()
	writeSeason(t, filepath.Join(work, "jobs"), 3)
	job := "jobs/field-000/job.yaml"
	log := "jobs/field-000/log.csv"
	require.NoError(t, os.Mkdir(filepath.Join(work, "discs"), 0o755))
	discs(t, filepath.Join(work, "discs"))
	sample, err := filepath.Abs(filepath.Join(repository, "samples", "tern-bank"))
	require.NoError(t, err)
	commands := [][]string{
		{"assess", job, "--out", "OUT"}, {"assess", job, "--what-if", "--csv", "--out", "OUT"},
		{"last", job, "--out", "OUT"}, {"mend", job, "--out", "OUT"},
		{"waste", filepath.Join(sample, "job.yaml"), "--out", "OUT"}, {"season", "jobs", "--out", "OUT"},
		{"inspect", log}, {"inspect", "discs/field.geojson"}, {"demo", "OUT", "--no-open"}, {"new", log, "--out", "OUT/job.yaml"},
	}
	seed := rand.Uint64()
	t.Log("seed", seed)
	rng := rand.New(rand.NewPCG(seed, 3))
	for _, args := range commands {
		t.Run(args[0], func(t *testing.T) {
			began := time.Now()
			status, said := runFor(t, work, args, "straight", func(*exec.Cmd) {})
			require.Equal(t, done, status, said)
			length := time.Since(began)
			rounds, stopped := 3, 0
			if alone {
				rounds = 20
			}
			for i := range rounds {
				signal := []syscall.Signal{syscall.SIGINT, syscall.SIGTERM}[i%2]
				out := fmt.Sprint("out ", i)
				var sent time.Time
				status, said := runFor(t, work, args, out, func(c *exec.Cmd) {
					time.Sleep(startUp + time.Duration(rng.Float64()*float64(length)))
					sent = time.Now()
					_ = c.Process.Signal(signal) // it may have ended
				})
				took := time.Since(sent)
				if strings.Contains(said, "the disk is slow") && !alone {
					_, said := runFor(t, work, args, out, func(*exec.Cmd) {})
					t.Log("a slow disk; the next run:", said)
				}
				for _, name := range temporaries(t, work) {
					assert.Fail(t, "left behind", name)
				}
				if status == done || status == killed { // it was quicker, or not yet listening
					continue
				}
				stopped++
				assert.Equal(t, 128+int(signal), status, said)
				assert.Regexp(t, `(^|\n)lapwing: stopped[^\n]*\n$`, said)
				assert.Less(t, took, soonest())
			}
			t.Logf("%d of %d stopped", stopped, rounds)
		})
	}
}

const (
	// startUp is how long a process takes to listen for signals, about.
	startUp = 50 * time.Millisecond
	// killed is the status of one that a signal came too soon for: the system ends it.
	killed = -1
)

// runFor runs a command with OUT in its arguments replaced, calls meanwhile, and
// returns its status and standard error.
func runFor(t *testing.T, work string, args []string, out string, meanwhile func(*exec.Cmd)) (status int, said string) {
	t.Helper()
	c := exec.Command("lapwing")
	for _, arg := range args {
		c.Args = append(c.Args, strings.ReplaceAll(arg, "OUT", out))
	}
	c.Dir = work
	var errs bytes.Buffer
	c.Stderr = &errs
	require.NoError(t, c.Start())
	meanwhile(c)
	err := c.Wait()
	var failure *exec.ExitError
	if err != nil {
		require.ErrorAs(t, err, &failure)
	}
	return c.ProcessState.ExitCode(), errs.String()
}

// temporaries lists what runs have left in and below a directory.
func temporaries(t *testing.T, dir string) (out []string) {
	t.Helper()
	require.NoError(t, filepath.WalkDir(dir, func(path string, _ fs.DirEntry, err error) error {
		if err == nil && setDir.MatchString(filepath.Base(path)) {
			out = append(out, path)
		}
		return err
	}))
	return out
}

// A command that waits for its input, and hears nothing, ends all the same; a
// second signal ends it at once.
func TestSignalEndsACommandThatWaits(t *testing.T) {
	for _, signals := range [][]os.Signal{{os.Interrupt}, {syscall.SIGTERM}, {os.Interrupt, syscall.SIGTERM}} {
		c := exec.Command("lapwing", "inspect", "-")
		in, err := c.StdinPipe()
		require.NoError(t, err)
		require.NoError(t, c.Start())
		time.Sleep(5 * startUp)
		sent := time.Now()
		for _, s := range signals {
			require.NoError(t, c.Process.Signal(s))
			time.Sleep(time.Millisecond)
		}
		err = c.Wait()
		assert.Less(t, time.Since(sent), soonest())
		_ = in.Close() // kept open until here
		var failure *exec.ExitError
		require.True(t, errors.As(err, &failure), "%v", err)
		number, _ := signals[0].(syscall.Signal)
		assert.Equal(t, 128+int(number), failure.ExitCode())
	}
}
