package output

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/fstest"
	"testing/iotest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/report"
)

// openedFolder is the folder of a desk, closed when the test ends.
func openedFolder(t *testing.T, dir string) *DeskFolder {
	t.Helper()
	d, err := OpenDeskFolder(dir)
	require.NoError(t, err)
	t.Cleanup(func() { _ = d.Close() }) // or it is closed already
	return d
}

func named(name string) func(fs.File) (string, error) {
	return func(fs.File) (string, error) { return name, nil }
}

// What is put in is there, as io/fs wants it; what the program keeps for itself is not
// seen.
func TestDeskFolder(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "desk")
	d := openedFolder(t, dir)
	ctx := t.Context()
	require.NoError(t, d.Put(ctx, filesOf("1", "a.yaml", "pages/a/report.html", "machines/drill.yaml")))
	require.NoError(t, d.Put(ctx, filesOf("2", "a.yaml", "pages/b/report.html")))
	require.NoError(t, d.Receive(ctx, strings.NewReader("lat,lon\n"), named("files/stick/day1.csv")))
	require.NoError(t, os.WriteFile(filepath.Join(dir, ".lapwing-open.html"), nil, 0o600))
	require.NoError(t, fstest.TestFS(d, "a.yaml", "pages/a/report.html", "pages/b/report.html", "machines/drill.yaml", "files/stick/day1.csv"))
	want := map[string]string{"a.yaml": "lapwing 2", "pages/a/report.html": "lapwing 1", "pages/b/report.html": "lapwing 2", "machines/drill.yaml": "lapwing 1", "files/stick/day1.csv": "lat,lon\n", ".lapwing-open.html": ""}
	assert.Equal(t, want, versions(t, dir))
	assert.Equal(t, 1, d.files)
	assert.EqualValues(t, 8, d.bytes)

	require.NoError(t, d.Put(ctx, filesOf("3", "files/stick/day1.csv")))
	assert.Equal(t, 1, d.files)
	assert.EqualValues(t, len("lapwing 3"), d.bytes)

	require.NoError(t, d.Remove("pages/b/report.html", "files/stick/day1.csv", "none.yaml"))
	delete(want, "pages/b/report.html")
	delete(want, "files/stick/day1.csv")
	assert.Equal(t, want, versions(t, dir))
	assert.NoDirExists(t, filepath.Join(dir, "files"), "a folder in which nothing is left goes")
	assert.Zero(t, d.files)
	assert.Zero(t, d.bytes)
	require.NoError(t, d.Close())

	again := openedFolder(t, dir)
	text, err := fs.ReadFile(again, "a.yaml")
	require.NoError(t, err)
	assert.Equal(t, "lapwing 2", string(text))
	_, err = again.Stat(".lapwing-open.html")
	assert.ErrorIs(t, err, fs.ErrNotExist)
}

// What one has dropped, or has written, goes to a slow disk while others go on.
func TestDeskFolderWaitsForOnesOwnFilesOnly(t *testing.T) {
	defer func(was func(*os.File) error) { syncFile = was }(syncFile)
	for name, slow := range map[string]func(d *DeskFolder) error{
		"dropped": func(d *DeskFolder) error {
			return d.Receive(t.Context(), strings.NewReader("one"), named("files/one.csv"))
		},
		"written": func(d *DeskFolder) error { return d.Put(t.Context(), filesOf("1", "a.yaml")) },
	} {
		d := openedFolder(t, t.TempDir())
		var asked atomic.Int32
		stuck, free, ended := make(chan bool), make(chan bool), make(chan error)
		syncFile = func(*os.File) error {
			if asked.Add(1) == 1 {
				close(stuck)
				<-free
			}
			return nil
		}
		go func() { ended <- slow(d) }()
		<-stuck
		other := make(chan error, 1)
		go func() { other <- d.Receive(t.Context(), strings.NewReader("two"), named("files/two.csv")) }()
		select {
		case err := <-other:
			assert.NoError(t, err, name)
		case <-time.After(10 * time.Second):
			assert.Fail(t, "it waits for another's file", name)
		}
		close(free)
		assert.NoError(t, <-ended, name)
	}
}

// Whatever goes wrong in a set, all is as it was.
func TestDeskFolderAllOrNone(t *testing.T) {
	dir := t.TempDir()
	d := openedFolder(t, dir)
	require.NoError(t, d.Put(t.Context(), filesOf("1", "a.yaml", "b.yaml", "sub/c.yaml")))
	before := versions(t, dir)
	wrong := errors.New("nothing to say")
	failing := report.File{Name: "b.yaml", Write: func(io.Writer) error { return wrong }}
	stopped, stop := context.WithCancel(t.Context())
	stop()
	for name, err := range map[string]error{
		"a file that cannot be written": d.Put(t.Context(), append(filesOf("2", "a.yaml"), failing)),
		"a folder in the way":           d.Put(t.Context(), filesOf("2", "a.yaml", "sub")),
		"a file in the way":             d.Put(t.Context(), filesOf("2", "a.yaml", "b.yaml/c.yaml")),
		"stopped":                       d.Put(stopped, filesOf("2", "a.yaml")),
		"removing a folder":             d.Remove("a.yaml", "sub"),
		"an upload that breaks off":     d.Receive(t.Context(), iotest.TimeoutReader(strings.NewReader("one two")), named("files/x")),
		"an upload that is stopped":     d.Receive(stopped, strings.NewReader("one"), named("files/x")),
		"an upload without a name":      d.Receive(t.Context(), strings.NewReader("one"), func(fs.File) (string, error) { return "", wrong }),
		"an upload over a file":         d.Receive(t.Context(), strings.NewReader("one"), named("a.yaml")),
	} {
		assert.Error(t, err, name)
	}
	assert.Equal(t, before, versions(t, dir))
	require.NoError(t, d.Receive(t.Context(), strings.NewReader("one"), named("")), "it was there already")
	assert.Equal(t, before, versions(t, dir))
}

// No name leads out of the folder, neither to be read nor to be written.
func TestDeskFolderLeadsNowhere(t *testing.T) {
	outside := t.TempDir()
	secret := filepath.Join(outside, "secret")
	require.NoError(t, os.WriteFile(secret, []byte("secret"), 0o644))
	dir := t.TempDir()
	d := openedFolder(t, dir)
	require.NoError(t, os.Symlink(outside, filepath.Join(dir, "out")))
	require.NoError(t, os.Symlink(secret, filepath.Join(dir, "link.csv")))
	up, err := filepath.Rel(dir, secret)
	require.NoError(t, err)
	require.NoError(t, os.Symlink(up, filepath.Join(dir, "up.csv")))
	names := []string{"../secret", secret, strings.TrimPrefix(filepath.ToSlash(secret), "/") + "/../x", "out/secret", "link.csv", "up.csv", "a/../../secret", ".", "", ".lapwing-1/0.new", "a//b", "a/"}
	if runtime.GOOS == "windows" {
		names = append(names, "NUL", "con.txt", `a\..\..\secret`, "c:secret")
	}
	for _, name := range names {
		if name != "." {
			_, err := fs.ReadFile(d, name)
			assert.Error(t, err, "read %s", name)
		}
		if name == "link.csv" || name == "up.csv" {
			continue // a link is replaced as it is, see below
		}
		assert.Error(t, d.Put(t.Context(), filesOf("2", name)), "put %s", name)
		if name != "" { // which is nowhere
			assert.Error(t, d.Receive(t.Context(), strings.NewReader("x"), named(name)), "receive %s", name)
		}
		assert.Error(t, d.Remove(name), "remove %s", name)
	}
	for _, name := range []string{"link.csv", "up.csv"} {
		require.NoError(t, d.Put(t.Context(), filesOf("2", name)))
	}
	text, err := os.ReadFile(secret)
	require.NoError(t, err)
	assert.Equal(t, "secret", string(text))
	there, err := os.ReadDir(outside)
	require.NoError(t, err)
	assert.Len(t, there, 1)
}

// While a desk is open no other has its folder; nor is there room without end.
func TestDeskFolderIsHeld(t *testing.T) {
	dir := t.TempDir()
	d := openedFolder(t, dir)
	_, err := OpenDeskFolder(dir)
	assert.ErrorIs(t, err, ErrHeld)
	assert.ErrorContains(t, err, dir+": found another run of lapwing that has it open, want another directory, or this one when that run has ended")
	d.bytes = mostDroppedBytes - 3
	assert.NoError(t, d.Receive(t.Context(), strings.NewReader("one"), named("files/a")))
	assert.ErrorContains(t, d.Receive(t.Context(), strings.NewReader("two"), named("files/b")), "GiB")
	d.bytes, d.files = 0, mostDropped
	assert.ErrorContains(t, d.Receive(t.Context(), strings.NewReader("two"), named("files/b")), "50000")
	assert.Equal(t, map[string]string{"files/a": "one"}, versions(t, dir))

	put(t, filepath.Join(dir, "file"), "")
	_, err = OpenDeskFolder(filepath.Join(dir, "file"))
	assert.ErrorContains(t, err, "found a file, want a directory")
	_, err = OpenDeskFolder(filepath.Join(dir, "file", "below"))
	assert.ErrorContains(t, err, "found that it cannot be made")
}

// Many uploads and sets at a time do not disturb one another.
func TestDeskFolderAtOnce(t *testing.T) {
	dir := t.TempDir()
	d := openedFolder(t, dir)
	var all sync.WaitGroup
	for i := range 20 {
		all.Go(func() {
			name := fmt.Sprintf("files/f%d/day.csv", i)
			assert.NoError(t, d.Receive(t.Context(), strings.NewReader(name), named(name)))
			assert.NoError(t, d.Put(t.Context(), filesOf("1", "state.json", fmt.Sprintf("pages/p%d", i%4))))
			assert.NoError(t, d.Remove(name, fmt.Sprintf("pages/p%d", i%4)))
			assert.NoError(t, d.Receive(t.Context(), strings.NewReader(name), named(name)))
		})
	}
	all.Wait()
	got := versions(t, dir)
	for i := range 20 {
		name := fmt.Sprintf("files/f%d/day.csv", i)
		assert.Equal(t, name, got[name])
		delete(got, name)
	}
	assert.Equal(t, "lapwing 1", got["state.json"])
	for name := range got {
		assert.NotContains(t, name, ".lapwing")
	}
	assert.Equal(t, 20, d.files)
}
