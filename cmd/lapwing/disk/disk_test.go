package disk

import (
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/source"
)

// A path means on the disk what it means to everybody else.
func TestDisk(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "set"), 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "set", "day one.csv"), []byte("lat,lon"), 0o644))
	t.Chdir(dir)
	files := Inputs(nil).Files
	for _, path := range []string{"set/day one.csv", "./set/../set/day one.csv", filepath.Join(dir, "set", "day one.csv")} {
		f, err := files.Open(path)
		require.NoError(t, err, path)
		data, err := io.ReadAll(f)
		require.NoError(t, err)
		assert.Equal(t, "lat,lon", string(data))
		require.NoError(t, f.Close())
		assert.Equal(t, filepath.Join(dir, "set", "day one.csv"), pathOf(files.Abs(path)))
	}
	for path, want := range map[string]error{"": source.ErrMissing, "none.csv": source.ErrMissing, ".": source.ErrDirectory, string(filepath.Separator): source.ErrDirectory} {
		_, err := files.Open(path)
		assert.ErrorIs(t, err, want, "%q", path)
	}
}

// The files of a folder by itself are those in it, also where a link leads
// elsewhere.
func TestFolderOnDisk(t *testing.T) {
	dir, elsewhere := t.TempDir(), filepath.Join(t.TempDir(), "secret")
	require.NoError(t, os.WriteFile(elsewhere, []byte("secret"), 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "a"), []byte("a"), 0o644))
	if os.Symlink(elsewhere, filepath.Join(dir, "b")) != nil {
		t.Skip("this system makes no links")
	}
	name, err := Name(dir)
	require.NoError(t, err)
	sub, err := fs.Sub(disk{}, name)
	require.NoError(t, err)
	entries, err := fs.ReadDir(sub, ".")
	require.NoError(t, err)
	assert.Len(t, entries, 2)
	data, err := fs.ReadFile(sub, "a")
	require.NoError(t, err)
	assert.Equal(t, "a", string(data))
	_, err = sub.Open("b")
	assert.Error(t, err)
	_, err = fs.Stat(sub, "b")
	assert.Error(t, err)
	require.NoError(t, sub.(io.Closer).Close())
}
