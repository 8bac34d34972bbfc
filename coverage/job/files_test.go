package job

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestFiles(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
		return path
	}
	bar := write("bar.yaml", "width: 12 m\n")
	path := write("job.yaml", `boundary: field.geojson
machines:
  - {name: a, implement: bar.yaml, tracks: [one.csv, two.csv]}
  - {name: b, implement: bar.yaml, tracks: [one.csv]}
`)
	files, err := Files(disk(nil), path)
	require.NoError(t, err)
	var names []string
	for _, f := range files {
		assert.Equal(t, dir, filepath.Dir(f))
		names = append(names, filepath.Base(f))
	}
	assert.Equal(t, []string{"job.yaml", "bar.yaml", "field.geojson", "one.csv", "two.csv"}, names)

	assert.True(t, LooksLikeJob(disk(nil), path))
	assert.False(t, LooksLikeJob(disk(nil), bar))
	assert.False(t, LooksLikeJob(disk(nil), write("list.yaml", "[machines, boundary]\n")))
	assert.True(t, LooksLikeJob(disk(nil), write("broken.yaml", "machines: [\n")))
	assert.True(t, LooksLikeJob(disk(nil), write("worked.yaml", "machines: []\n")))

	// What stands beside a log or a boundary and belongs to it.
	for _, name := range []string{"field.PRJ", "one.prj", "edge.dbf", "bar.prj", "one.txt"} {
		write(name, "")
	}
	files, err = Files(disk(nil), path)
	require.NoError(t, err)
	names = nil
	for _, f := range files {
		names = append(names, filepath.Base(f))
	}
	assert.Equal(t, []string{"job.yaml", "bar.yaml", "field.geojson", "field.PRJ", "one.csv", "one.prj", "two.csv"}, names)

	// All of a task set, whichever part of it is named.
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "set", "TASKDATA"), 0o755))
	write("set/TASKDATA/TASKDATA.XML", `<?xml version="1.0"?><ISO11783_TaskData VersionMajor="4" VersionMinor="0" DataTransferOrigin="1"></ISO11783_TaskData>`)
	write("set/TASKDATA/TLG00001.BIN", "")
	files, err = Files(disk(nil), write("tasks.yaml", "boundary: set#PFD1\nmachines: [{name: a, implement: bar.yaml, tracks: [set]}]\n"))
	require.NoError(t, err)
	require.Len(t, files, 4)
	assert.Equal(t, "TASKDATA.XML", filepath.Base(files[2]))
	assert.Equal(t, "TLG00001.BIN", filepath.Base(files[3]))

	_, err = Files(disk(nil), write("wrong.yaml", "machinse: []\n"))
	var wrong *InputError
	require.ErrorAs(t, err, &wrong)
	assert.Equal(t, 1, wrong.Line)
}
