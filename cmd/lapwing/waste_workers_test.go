//go:build unix

package main

import (
	"fmt"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A waste whose jobs workers measure is that of one that measures them, to the byte, and
// what is wrong is told in the same words. The workers of a season do them too.
func TestWasteByWorkers(t *testing.T) {
	t.Parallel()
	work := t.TempDir()
	const fields = 4
	writeSeason(t, filepath.Join(work, "jobs"), fields)
	put(t, filepath.Join(work, "jobs", "wrong", "job.yaml"), "boundary: worked\nmachines:\n  - {name: drill, implement: {width: 20 ft}, tracks: [day.csv]}\n")
	put(t, filepath.Join(work, "jobs", "wrong", "day.csv"), "time,lat,lon\n2026-05-04T08:00:00Z,48.1,x\n")
	status, want := start(t, work, "waste", "jobs", "--runs", "2", "--out", "plain").ends(t)
	require.Equal(t, wrongInput, status, want)
	require.Contains(t, want, "day.csv:2:")
	eachBook(t, func(t *testing.T, address string) {
		out := outOf(t) + "out"
		waste := start(t, work, "waste", "jobs", "--runs", "2", "--out", out, "--book", address, "--workers")
		waste.says(t, fmt.Sprintf(": %d jobs\n", fields+1))
		_, said := start(t, t.TempDir(), "work", "--book", address, "--until-empty").ends(t)
		assert.Contains(t, said, fmt.Sprintf("Jobs done: %d; set aside: 1\n", fields))
		status, said = waste.ends(t)
		assert.Equal(t, wrongInput, status, said)
		assert.Contains(t, said, fmt.Sprintf("; %d of %d jobs taken from the book", fields, fields+1))
		sameFiles(t, filepath.Join(work, "plain"), filepath.Join(work, out))
	})
	for _, c := range [][]string{{"--workers"}, {"--workers", "--book", "file:book.gpkg", "--fresh"}} {
		status, said := start(t, work, append([]string{"waste", "jobs"}, c...)...).ends(t)
		assert.Equal(t, wrongInput, status)
		assert.Contains(t, said, "lapwing: --workers: found ")
	}
}
