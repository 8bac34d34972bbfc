package book_test

import (
	"errors"
	"path/filepath"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/assess"
	"lapwing/coverage/assess/assesstest"
	"lapwing/coverage/book"
	"lapwing/coverage/book/gpkg"
	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/geo/source"
)

// keeper keeps the jobs of some files in a new book.
func keeper(t *testing.T, files fstest.MapFS) *book.Keeper {
	t.Helper()
	b, err := gpkg.Open(t.Context(), filepath.Join(t.TempDir(), "book.gpkg"))
	require.NoError(t, err)
	t.Cleanup(func() { b.Close() })
	return &book.Keeper{Store: b, Inputs: job.Inputs{Files: source.Files{FS: files}}, Program: "1", Question: "season", Place: "here:/"}
}

// measured makes an assessment whose warning names the job, and counts how often.
func measured(times *int, during func()) func(job.Inputs, string) ([]*assess.Assessment, error) {
	return func(_ job.Inputs, path string) ([]*assess.Assessment, error) {
		*times++
		during()
		a := assesstest.Small()
		a.Zone = nil
		a.Warnings = []field.Warning{{File: path, Text: "is odd"}}
		return []*assess.Assessment{a}, nil
	}
}

// A job is measured once, whatever folder it lies in and whenever its files were
// written, and its answer names it as it is called there.
func TestKeeperMeasuresOnce(t *testing.T) {
	files := disk()
	for name, f := range disk() {
		moved := *f
		moved.ModTime = moved.ModTime.Add(time.Hour)
		if name == "job.yaml" {
			name = "north.yml"
		}
		files["a/b/"+name] = &moved
	}
	k, times := keeper(t, files), 0
	for _, path := range []string{"job.yaml", "a/b/north.yml", "job.yaml"} {
		now, err := book.Look(k.Inputs, path, "1", "", nil)
		require.NoError(t, err)
		found, _, err := k.Assess(t.Context(), path, now, measured(&times, func() {}))
		require.NoError(t, err)
		require.Len(t, found, 1)
		assert.Equal(t, path, found[0].Warnings[0].File)
		stands, err := k.Stands(t.Context(), path, now)
		require.NoError(t, err)
		assert.True(t, stands)
	}
	assert.Equal(t, 1, times)

	k.Question = "season, finer"
	now, err := book.Look(k.Inputs, "job.yaml", "1", "", nil)
	require.NoError(t, err)
	stands, err := k.Stands(t.Context(), "job.yaml", now)
	require.NoError(t, err)
	assert.False(t, stands)
	_, taken, err := k.Assess(t.Context(), "job.yaml", now, measured(&times, func() {}))
	require.NoError(t, err)
	assert.False(t, taken)
	assert.Equal(t, 2, times)
	assert.Empty(t, k.Unkept())
}

// A file that is written into while its job is measured: what was found is of no
// content that the book knows.
func TestKeeperSeesAChange(t *testing.T) {
	files := disk()
	k, times := keeper(t, files), 0
	now, err := book.Look(k.Inputs, "job.yaml", "1", "", nil)
	require.NoError(t, err)
	found, _, err := k.Assess(t.Context(), "job.yaml", now, measured(&times, func() { files["day.csv"].ModTime = time.Now() }))
	require.NoError(t, err)
	assert.Len(t, found, 1)
	stands, err := k.Stands(t.Context(), "job.yaml", now)
	require.NoError(t, err)
	assert.False(t, stands)
}

// An error is that of the files as they are called, not of neutral names.
func TestKeeperTellsRealNames(t *testing.T) {
	k := keeper(t, disk())
	now, err := book.Look(k.Inputs, "job.yaml", "1", "", nil)
	require.NoError(t, err)
	_, _, err = k.Assess(t.Context(), "job.yaml", now, func(_ job.Inputs, path string) ([]*assess.Assessment, error) {
		return nil, errors.New(path + ":7: found none")
	})
	require.EqualError(t, err, "job.yaml:7: found none")
}
