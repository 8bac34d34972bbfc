//go:build unix

package output

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A pipe or a device in the folder is no file of the desk: whoever opened it would wait
// for ever.
func TestDeskFolderRefusesPipes(t *testing.T) {
	dir := t.TempDir()
	d := openedFolder(t, dir)
	require.NoError(t, syscall.Mkfifo(filepath.Join(dir, "pipe.csv"), 0o600))
	require.NoError(t, os.Symlink("/dev/zero", filepath.Join(dir, "zero.csv")))
	for _, name := range []string{"pipe.csv", "zero.csv"} {
		_, err := d.Open(name)
		assert.Error(t, err, name)
		_, err = d.Stat(name)
		assert.Error(t, err, name)
	}
}
