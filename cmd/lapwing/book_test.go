//go:build unix

package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/book/postgis/pgtest"
)

func init() { around = append(around, pgtest.Main) }

// eachBook runs a test on a new book of each kind, at an address.
func eachBook(t *testing.T, try func(t *testing.T, address string)) {
	t.Run("file", func(t *testing.T) { try(t, "file:"+filepath.Join(t.TempDir(), "book.gpkg")) })
	t.Run("postgres", func(t *testing.T) { try(t, pgtest.Shared(t).Database(t)) })
}

// outOf begins the names of a test's directories. They stand beside those that they are
// held against: an entry has its name by where its job lies from there.
func outOf(t *testing.T) string { return strings.ReplaceAll(t.Name(), "/", "-") + "-" }

// lapwingIn runs a command in a directory, and returns what it says.
func lapwingIn(t *testing.T, dir string, args ...string) string {
	t.Helper()
	c := exec.Command("lapwing", args...)
	c.Dir = dir
	out, err := c.CombinedOutput()
	require.NoError(t, err, "%s", out)
	return string(out)
}

// sameFiles reports whether two directories hold the same files to the byte.
func sameFiles(t *testing.T, want, got string) {
	t.Helper()
	before, after := contents(t, want), contents(t, got)
	require.NotEmpty(t, before)
	assert.Len(t, after, len(before))
	for name := range before {
		assert.True(t, before[name] == after[name], "%s differs:\n%s", name, firstDifference([]byte(before[name]), []byte(after[name])))
	}
}

// jobsOfAllKinds copies the samples and the cases into a directory, and beside them a
// job whose files lie around it and one that has its name from its file.
func jobsOfAllKinds(t *testing.T, dir string) {
	t.Helper()
	require.NoError(t, os.CopyFS(filepath.Join(dir, "samples"), os.DirFS(filepath.Join(repository, "samples"))))
	require.NoError(t, os.CopyFS(filepath.Join(dir, "cases"), os.DirFS(filepath.Join(repository, "testdata", "cases"))))
	around := filepath.Join(dir, "around", "a", "b")
	require.NoError(t, os.MkdirAll(around, 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(around, "job.yaml"), []byte(`
boundary: ../../../samples/long-meadow/boundary.geojson
machines:
  - {name: wide, implement: ../bar.yaml, tracks: [../../../samples/long-meadow/wide.csv]}
  - {name: narrow, implement: {width: 20 ft}, tracks: [./../../../samples/long-meadow/narrow.csv]}
`), 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "around", "a", "bar.yaml"), []byte("width: 40 ft\n"), 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "around", "teal end.yaml"), []byte(`
boundary: worked
machines:
  - {name: narrow, implement: {width: 20 ft}, tracks: [../samples/long-meadow/narrow.csv]}
`), 0o644))
}

// A season has the same files to the byte with a book and without, whether its jobs are
// measured for it or were before, in another directory, at another time. What is in the
// book is not measured again, and a waste is as it would be without.
func TestBookGivesTheSameFiles(t *testing.T) {
	t.Parallel()
	work := t.TempDir()
	jobsOfAllKinds(t, filepath.Join(work, "one"))
	jobsOfAllKinds(t, filepath.Join(work, "deep", "er", "two"))
	later := time.Now().Add(time.Hour)
	require.NoError(t, filepath.WalkDir(filepath.Join(work, "deep"), func(path string, _ os.DirEntry, err error) error {
		require.NoError(t, err)
		return os.Chtimes(path, later, later)
	}))
	two := filepath.Join("deep", "er", "two")
	n := len(jobPaths(t, filepath.Join(work, "one")))
	require.Greater(t, n, 15)

	lapwingIn(t, work, "season", "one", "--out", "plain-one")
	lapwingIn(t, work, "season", two, "--out", "plain-two")
	lapwingIn(t, work, "waste", two, "--runs", "2", "--out", "waste-plain")
	eachBook(t, func(t *testing.T, address string) {
		kept := regexp.MustCompile(`; (\d+) of \d+ jobs (kept|taken)`)
		season := func(jobs, out string, want ...string) {
			t.Helper()
			said := lapwingIn(t, work, "season", jobs, "--out", outOf(t)+out, "--book", address)
			found := kept.FindStringSubmatch(said)
			if len(want) == 0 {
				assert.Nil(t, found, said)
			} else {
				require.NotNil(t, found, said)
				assert.Equal(t, want, found[1:])
			}
			assert.NotContains(t, said, pgtest.Password)
			assert.NotContains(t, said, "not kept in the book")
		}
		season("one", "one")
		sameFiles(t, filepath.Join(work, "plain-one"), filepath.Join(work, outOf(t)+"one"))
		season(two, "two", fmt.Sprint(n), "taken")
		sameFiles(t, filepath.Join(work, "plain-two"), filepath.Join(work, outOf(t)+"two"))
		season(two, "two", fmt.Sprint(n), "kept")
		season("one", "again", fmt.Sprint(n), "taken")
		sameFiles(t, filepath.Join(work, "plain-one"), filepath.Join(work, outOf(t)+"again"))

		for _, out := range []string{"waste", "waste-again"} {
			said := lapwingIn(t, work, "waste", two, "--runs", "2", "--out", outOf(t)+out, "--book", address)
			sameFiles(t, filepath.Join(work, "waste-plain"), filepath.Join(work, outOf(t)+out))
			assert.Equal(t, out == "waste-again", strings.Contains(said, "jobs taken from the book"), said)
		}
		said := lapwingIn(t, work, "waste", "one", "--runs", "2", "--out", outOf(t)+"waste-one", "--book", address)
		assert.Contains(t, said, "jobs taken from the book", "the same files in another directory")
	})
}

func jobPaths(t *testing.T, dir string) (paths []string) {
	t.Helper()
	for name := range contents(t, dir) {
		if base := filepath.Base(name); base == "job.yaml" || base == "teal end.yaml" {
			paths = append(paths, name)
		}
	}
	return paths
}

// A season that fills a book and is killed leaves nothing half there: what is in the
// book is whole, and the same command goes on. A second one works with the same book
// meanwhile.
func TestBookAfterAKill(t *testing.T) {
	t.Parallel()
	const fields = 16
	work := t.TempDir()
	writeSeason(t, filepath.Join(work, "jobs"), fields)
	lapwingIn(t, work, "season", "jobs", "--out", "straight")
	eachBook(t, func(t *testing.T, address string) {
		out := outOf(t) + "killed"
		for kill := range 3 {
			first := seasonIn(work, out, "--jobs", "1", "--book", address)
			require.NoError(t, first.Start())
			comeTo(t, filepath.Join(work, out), 3*(kill+1))
			require.NoError(t, first.Process.Kill())
			_ = first.Wait() // it was killed
		}
		done := len(records(t, filepath.Join(work, out)))
		require.Less(t, done, fields)
		second := seasonIn(work, outOf(t)+"other", "--book", address)
		require.NoError(t, second.Start())
		said := lapwingIn(t, work, "season", "jobs", "--out", out, "--book", address)
		require.NoError(t, second.Wait())
		assert.Contains(t, said, fmt.Sprintf("; %d of %d jobs kept", done, fields))
		assert.Contains(t, said, fmt.Sprintf("holds %d fields, %d assessments, 3 machines and 2 operators, 2026", fields, fields))
		for _, name := range []string{"killed", "other"} {
			sameFiles(t, filepath.Join(work, "straight"), filepath.Join(work, outOf(t)+name))
		}
		said = lapwingIn(t, work, "season", "jobs", "--out", outOf(t)+"third", "--book", address)
		assert.Contains(t, said, fmt.Sprintf("; %d of %d jobs taken from the book", fields, fields))
	})
}

// A job that changes is measured again, and the book shows it as it is now.
func TestBookFollowsAJob(t *testing.T) {
	t.Parallel()
	work := t.TempDir()
	writeSeason(t, filepath.Join(work, "jobs"), 2)
	eachBook(t, func(t *testing.T, address string) {
		season := func(want string) {
			t.Helper()
			said := lapwingIn(t, work, "season", "jobs", "--out", outOf(t), "--book", address)
			if want == "" {
				assert.NotRegexp(t, "kept|taken", said)
			} else {
				assert.Contains(t, said, want)
			}
			assert.Contains(t, said, "holds 2 fields, 2 assessments,")
		}
		season("")
		path := filepath.Join(work, "jobs", "field-001", "job.yaml")
		before, err := os.ReadFile(path)
		require.NoError(t, err)
		defer os.WriteFile(path, before, 0o644)
		require.NoError(t, os.WriteFile(path, []byte(strings.Replace(string(before), "12 m", "11.9 m", 1)), 0o644))
		season("; 1 of 2 jobs kept, their files have not changed")
		require.NoError(t, os.WriteFile(path, before, 0o644))
		season("; 1 of 2 jobs kept, their files have not changed; 1 of 2 jobs taken from the book")
		said := lapwingIn(t, work, "season", "jobs", "--out", outOf(t), "--book", address, "--fresh")
		assert.NotRegexp(t, "kept|taken", said)
		assert.Contains(t, said, "holds 2 fields, 2 assessments,")
	})
}
