package features

import (
	"net/http/httptest"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A download takes away its file, and what servers that were killed left of theirs.
func TestDownloadLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("TMPDIR", dir)
	t.Setenv("TMP", dir) // of Windows
	left := filepath.Join(dir, "lapwing-export-1")
	require.NoError(t, os.Mkdir(left, 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(left, "fields.gpkg"), []byte("half"), 0o600))
	before := time.Now().Add(-time.Hour)
	require.NoError(t, os.Chtimes(left, before, before))

	w := httptest.NewRecorder()
	c := &call{w: w, r: httptest.NewRequest("GET", "/", nil)}
	require.NoError(t, c.giveFile("text/plain", "fields.gpkg", func(path string) error {
		return os.WriteFile(path, []byte("whole"), 0o600)
	}))
	assert.Equal(t, "whole", w.Body.String())
	there, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, there)
}
