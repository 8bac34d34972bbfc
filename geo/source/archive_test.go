package source

import (
	"archive/zip"
	"bytes"
	"io"
	"io/fs"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// packed is an archive of files of so many bytes.
func packed(t *testing.T, files map[string]int) *fstest.MapFile {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, size := range files {
		w, err := z.Create(name)
		require.NoError(t, err)
		_, err = w.Write(make([]byte, size))
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return &fstest.MapFile{Data: b.Bytes()}
}

// An archive that is mounted is a folder among the files.
func TestMount(t *testing.T) {
	files := Files{FS: fstest.MapFS{"stick.zip": packed(t, map[string]int{"logs/day.csv": 7}), "plain.csv": {Data: []byte("lat,lon\n")}}}
	assert.True(t, files.IsZip("stick.zip"))
	assert.False(t, files.IsZip("plain.csv"))
	assert.False(t, files.IsZip("none"))
	assert.False(t, files.IsZip("."))
	z, err := files.OpenZip("stick.zip")
	require.NoError(t, err)
	defer z.Close()
	m := files.Mount("season/files", z.Reader)
	f, err := m.Open("season/files/logs/day.csv")
	require.NoError(t, err)
	data, err := io.ReadAll(f)
	require.NoError(t, err)
	assert.Len(t, data, 7)
	_, err = m.Open("season/files/logs/none.csv")
	assert.ErrorIs(t, err, ErrMissing)
	f, err = m.Open("plain.csv")
	require.NoError(t, err)
	require.NoError(t, f.Close())
	info, err := m.Stat("season/files")
	require.NoError(t, err)
	assert.True(t, info.IsDir())
	fsys, name, err := m.In("season/files")
	require.NoError(t, err)
	var names []string
	require.NoError(t, fs.WalkDir(fsys, name, func(at string, d fs.DirEntry, err error) error {
		names = append(names, at)
		return err
	}))
	assert.Equal(t, []string{"season/files", "season/files/logs", "season/files/logs/day.csv"}, names)
	sub, err := fs.Sub(fsys, "season/files/logs")
	require.NoError(t, err)
	_, err = fs.Stat(sub, "day.csv")
	assert.NoError(t, err)
}

func TestArchivesThatAreNotOpened(t *testing.T) {
	var bomb bytes.Buffer
	z := zip.NewWriter(&bomb)
	w, err := z.CreateRaw(&zip.FileHeader{Name: "a", Method: zip.Deflate, CompressedSize64: 2, UncompressedSize64: 1 << 30})
	require.NoError(t, err)
	_, err = w.Write([]byte{3, 0})
	require.NoError(t, err)
	require.NoError(t, z.Close())
	files := Files{FS: fstest.MapFS{"bomb.zip": {Data: bomb.Bytes()}, "torn.zip": {Data: []byte("PK\x03\x04 and no more")}}}
	for path, want := range map[string]string{
		"bomb.zip": "an archive that unpacks to too much",
		"torn.zip": "a damaged zip archive",
		"none.zip": "no such file",
	} {
		_, err := files.OpenZip(path)
		var why Reason
		require.ErrorAs(t, err, &why, path)
		assert.EqualError(t, err, want, path)
	}
}
