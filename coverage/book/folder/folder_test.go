package folder

import (
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What a process that was killed left of a file that was sent is taken away by the next that
// is added beside it; one that is being sent stays.
func TestAbandonedFilesAreRemoved(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "book [1].files")
	f := New(dir)
	beside := filepath.Join(dir, "3f")
	require.NoError(t, os.MkdirAll(beside, 0o777))
	left, coming := filepath.Join(beside, ".adding-1"), filepath.Join(beside, ".adding-2")
	for _, path := range []string{left, coming} {
		require.NoError(t, os.WriteFile(path, []byte("half"), 0o666))
	}
	before := time.Now().Add(-25 * time.Hour)
	require.NoError(t, os.Chtimes(left, before, before))

	require.NoError(t, f.Add(t.Context(), "3f9c", strings.NewReader("whole")))
	assert.NoFileExists(t, left)
	assert.FileExists(t, coming)
	r, err := f.Open(t.Context(), "3f9c")
	require.NoError(t, err)
	defer r.Close()
	text, err := io.ReadAll(r)
	require.NoError(t, err)
	assert.Equal(t, "whole", string(text))
}
