package serve

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What leads on is read by this user alone, also where another file stood, and
// never written through a link.
func TestLeadOn(t *testing.T) {
	dir := t.TempDir()
	mine := filepath.Join(dir, "mine.txt")
	require.NoError(t, os.WriteFile(mine, []byte("mine"), 0o644))
	root, err := os.OpenRoot(dir)
	require.NoError(t, err)
	defer root.Close()
	at := filepath.Join(dir, "on.html")
	for _, before := range []func() error{
		func() error { return nil },
		func() error { return os.WriteFile(at, []byte("old"), 0o666) },
		func() error { return os.Symlink(mine, at) },
	} {
		_ = os.Remove(at) // there is none at first
		require.NoError(t, before())
		require.NoError(t, LeadOn(root, "on.html", "http://127.0.0.1:1/#KEY"))
		info, err := os.Lstat(at)
		require.NoError(t, err)
		if runtime.GOOS != "windows" {
			assert.Equal(t, os.FileMode(0o600), info.Mode())
		}
		text, err := os.ReadFile(at)
		require.NoError(t, err)
		assert.Contains(t, string(text), `location.replace("http://127.0.0.1:1/#KEY")`)
		assert.Contains(t, string(text), `<a href="http://127.0.0.1:1/#KEY">`)
	}
	text, err := os.ReadFile(mine)
	require.NoError(t, err)
	assert.Equal(t, "mine", string(text))
}

// The browser is called with the file, and no key is in what it is called with.
func TestShow(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("only there another program can stand in for the browser")
	}
	dir := t.TempDir()
	said := filepath.Join(dir, "said")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "xdg-open"), []byte("#!/bin/sh\necho \"$@\" > "+said+".new && mv "+said+".new "+said+"\n"), 0o755))
	t.Setenv("PATH", dir+":"+os.Getenv("PATH"))
	t.Setenv("DISPLAY", "")
	t.Setenv("WAYLAND_DISPLAY", "")
	assert.False(t, Show("on.html"), "no screen")
	t.Setenv("DISPLAY", ":0")
	assert.True(t, Show("on.html"))
	require.Eventually(t, func() bool { _, err := os.Stat(said); return err == nil }, 10*time.Second, time.Millisecond)
	text, err := os.ReadFile(said)
	require.NoError(t, err)
	assert.Equal(t, "on.html\n", string(text))
}
