package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The files in samples are what this program writes, to the byte.
func TestSamplesAreMadeHere(t *testing.T) {
	root := t.TempDir()
	require.NoError(t, write(root))
	made, err := filepath.Glob(filepath.Join(root, "*", "*"))
	require.NoError(t, err)
	require.Len(t, made, 3+4)
	for _, path := range made {
		name, err := filepath.Rel(root, path)
		require.NoError(t, err)
		want, err := os.ReadFile(path)
		require.NoError(t, err)
		got, err := os.ReadFile(filepath.Join("..", name))
		require.NoError(t, err)
		assert.True(t, string(want) == string(got), "samples/%s is not what go run ./samples/make writes", filepath.ToSlash(name))
		assert.Less(t, len(got), 600_000, "samples/%s is too large for a repository", name)
	}
}

// Every sample has a job file, and it names the files that were made.
func TestJobsNameTheirFiles(t *testing.T) {
	for _, path := range []string{"../tern-bank/job.yaml", "../long-meadow/job.yaml"} {
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		logs, err := filepath.Glob(filepath.Join(filepath.Dir(path), "*.csv"))
		require.NoError(t, err)
		require.NotEmpty(t, logs)
		for _, file := range append(logs, "boundary.geojson") {
			assert.Contains(t, string(text), filepath.Base(file))
		}
	}
}
