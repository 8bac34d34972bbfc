package output

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/job"
	"lapwing/report"
)

// filesOf are files that say which version of a set they are of.
func filesOf(version string, names ...string) []report.File {
	var files []report.File
	for _, name := range names {
		files = append(files, report.File{Name: name, Write: func(w io.Writer) error {
			_, err := io.WriteString(w, "lapwing "+version)
			return err
		}})
	}
	return files
}

// versions returns what the files of a directory and below say, by name; what
// runs leave there shows too.
func versions(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		rel, _ := filepath.Rel(dir, path)
		if err != nil || rel == "." {
			return err
		}
		if d.IsDir() {
			if leftover.MatchString(d.Name()) && isSwap(path) {
				out[rel] = "left over"
			}
			return nil
		}
		text, err := os.ReadFile(path)
		out[filepath.ToSlash(rel)] = string(text)
		return err
	}))
	return out
}

func put(t *testing.T, path, text string) {
	t.Helper()
	require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
	require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
}

func finish(t *testing.T, s *swap) {
	t.Helper()
	err, back := s.finish()
	require.NoError(t, errors.Join(err, back))
}

// Wherever a run is killed, the next one that looks at the directory finds all of
// its files in their places or none, and takes away what else is left. Brackets
// in the directory's name mean nothing.
func TestKilledSwap(t *testing.T) {
	names := []string{"a.json", "b.html", "below/c.csv"}
	before := map[string]string{"a.json": "lapwing 1", "b.html": "lapwing 1", "notes.txt": "mine", ".lapwing-notes": "mine too", ".lapwing-2026/plan.txt": "mine", ".lapwing-7-plan.txt": "mine"}
	after := map[string]string{"a.json": "lapwing 2", "b.html": "lapwing 2", "below/c.csv": "lapwing 2", "notes.txt": "mine", ".lapwing-notes": "mine too", ".lapwing-2026/plan.txt": "mine", ".lapwing-7-plan.txt": "mine"}
	for _, tc := range []struct {
		name string
		do   func(t *testing.T, s *swap)
		want map[string]string
	}{
		{"nothing written", func(t *testing.T, s *swap) {}, before},
		{"the files are written", nil, before},
		{"the set is ready", func(t *testing.T, s *swap) { require.NoError(t, s.ready()) }, after},
		{"one file in place", func(t *testing.T, s *swap) {
			require.NoError(t, s.ready())
			require.NoError(t, s.move(0))
		}, after},
		{"an old file kept", func(t *testing.T, s *swap) {
			require.NoError(t, s.ready())
			require.NoError(t, s.root.Link(s.Files[0], s.at(0, oldEnd)))
		}, after},
		{"an old file out of its place", func(t *testing.T, s *swap) {
			require.NoError(t, s.ready())
			require.NoError(t, s.root.Rename(s.Files[1], s.at(1, oldEnd)))
		}, after},
		{"all files in place", func(t *testing.T, s *swap) {
			require.NoError(t, s.ready())
			finish(t, s)
		}, after},
		{"old files taken away", func(t *testing.T, s *swap) {
			require.NoError(t, s.ready())
			finish(t, s)
			require.NoError(t, s.root.Remove(s.at(0, oldEnd)))
		}, after},
		{"nothing but its directory left", func(t *testing.T, s *swap) {
			require.NoError(t, s.ready())
			finish(t, s)
			require.NoError(t, s.root.Remove(s.dir+"/"+swapFile))
		}, after},
		{"ready, and a place is another's since", func(t *testing.T, s *swap) {
			require.NoError(t, s.ready())
			require.NoError(t, s.move(0))
			put(t, s.onDisk(s.Files[1]), "mine")
		}, map[string]string{"a.json": "lapwing 1", "b.html": "mine", "notes.txt": "mine", ".lapwing-notes": "mine too", ".lapwing-2026/plan.txt": "mine", ".lapwing-7-plan.txt": "mine"}},
		{"in place, and then another's", func(t *testing.T, s *swap) {
			require.NoError(t, s.ready())
			require.NoError(t, s.move(0))
			put(t, s.onDisk(s.Files[0]), "mine")
			put(t, s.onDisk(s.Files[2]), "mine")
		}, map[string]string{"a.json": "mine", "b.html": "lapwing 1", "below/c.csv": "mine", "notes.txt": "mine", ".lapwing-notes": "mine too", ".lapwing-2026/plan.txt": "mine", ".lapwing-7-plan.txt": "mine"}},
		{"a set that leads out of the directory", func(t *testing.T, s *swap) {
			s.Files[0] = "../a.json"
			require.NoError(t, s.ready())
		}, before},
	} {
		t.Run(tc.name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "out [1]")
			for name, text := range before {
				put(t, filepath.Join(dir, name), text)
			}
			put(t, filepath.Join(dir, ".lapwing-76-report.html"), "of a kill of an earlier version")
			put(t, filepath.Join(dir, ".lapwing-77", "0.new"), "of another kill")
			put(t, filepath.Join(dir, ".lapwing-78", "database-journal"), "of another kill")
			require.NoError(t, os.Mkdir(filepath.Join(dir, ".lapwing-79"), 0o755))
			killed, err := Open(dir)
			require.NoError(t, err)
			require.NoError(t, killed.Stage(context.Background(), filesOf("2", names...)))
			if tc.do != nil {
				tc.do(t, killed.swap)
			}
			killed.release() // as the system does

			next, err := Open(dir)
			require.NoError(t, err)
			next.Discard()
			assert.Equal(t, tc.want, versions(t, dir))
		})
	}
}

// A process that is about to end leaves nothing of its own behind, and waits for no disk
// with it: a set that stands still over the writing of names has all of its places by
// then or none, one that is written gets none.
func TestClearWaitsForNoDisk(t *testing.T) {
	names := []string{"a.json", "b.html", "below/c.csv"}
	before := map[string]string{"a.json": "lapwing 1", "b.html": "lapwing 1", "notes.txt": "mine"}
	after := map[string]string{"a.json": "lapwing 2", "b.html": "lapwing 2", "below/c.csv": "lapwing 2", "notes.txt": "mine"}
	defer func(was func(string) error) { syncDirectory, unfinished = was, newScratch() }(syncDirectory)
	for stuckAt, want := range []map[string]string{before, before, after, after} {
		dir, other := t.TempDir(), t.TempDir()
		for name, text := range before {
			put(t, filepath.Join(dir, name), text)
		}
		unfinished = newScratch()
		stuck, asked := make(chan bool), 0
		syncDirectory = func(string) error {
			if asked++; asked > stuckAt {
				close(stuck)
				select {} // as a process that ends leaves it
			}
			return nil
		}
		placed, err := Open(dir)
		require.NoError(t, err)
		written, err := Open(other)
		require.NoError(t, err)
		ctx := context.Background()
		require.NoError(t, written.Stage(ctx, filesOf("2", names...)))
		go func() { _ = Write(ctx, placed, filesOf("2", names...)) }()
		<-stuck
		cleared := make(chan bool)
		go func() {
			unfinished.clear()
			close(cleared)
		}()
		select {
		case <-cleared:
		case <-time.After(10 * time.Second):
			require.Fail(t, "it waits for the disk", stuckAt)
		}
		assert.Equal(t, want, versions(t, dir), stuckAt)
		assert.Empty(t, versions(t, other), stuckAt)
	}
}

// What is staged goes to the disk while more is made; but no file gets its place before the
// disk has them all.
func TestPlacesWaitForTheDisk(t *testing.T) {
	defer func(was func(*os.File) error) { syncFile = was }(syncFile)
	var asked atomic.Int32
	ready := make(chan bool)
	syncFile = func(f *os.File) error {
		asked.Add(1)
		<-ready
		return f.Sync()
	}
	dir, ctx := t.TempDir(), context.Background()
	out, err := Open(dir)
	require.NoError(t, err)
	require.NoError(t, out.Stage(ctx, filesOf("2", "a.json", "b.html")))
	require.NoError(t, out.StageAt(ctx, "c.gpkg", func(path string) error { return os.WriteFile(path, []byte("lapwing 2"), 0o644) }))
	text, err := os.ReadFile(out.Staged("b.html"))
	require.NoError(t, err)
	assert.Equal(t, "lapwing 2", string(text), "it is there to be read")
	placed := make(chan error)
	go func() { placed <- Write(ctx, out, filesOf("2", "d.csv")) }()
	require.Eventually(t, func() bool { return asked.Load() == 4 }, 10*time.Second, time.Millisecond)
	select {
	case <-placed:
		require.Fail(t, "it did not wait for the disk")
	case <-time.After(50 * time.Millisecond):
	}
	assert.NoFileExists(t, filepath.Join(dir, "a.json"))
	close(ready)
	require.NoError(t, <-placed)
	assert.Equal(t, map[string]string{"a.json": "lapwing 2", "b.html": "lapwing 2", "c.gpkg": "lapwing 2", "d.csv": "lapwing 2"}, versions(t, dir))
	out.Discard()
}

// A disk that is full may say so only when it is to have the file: the first that it does
// not take is named, and none gets its place.
func TestDiskThatTakesNoMore(t *testing.T) {
	defer func(was func(*os.File) error) { syncFile = was }(syncFile)
	for full, says := range map[string]string{"1.new": "b.html", "2.new": "c.csv", "1.new 2.new": "b.html", "3.new": ""} {
		syncFile = func(f *os.File) error {
			if strings.Contains(full, filepath.Base(f.Name())) {
				return &fs.PathError{Op: "sync", Path: f.Name(), Err: errors.New("no room left")}
			}
			return nil
		}
		dir := t.TempDir()
		put(t, filepath.Join(dir, "a.json"), "lapwing 1")
		out, err := Open(dir)
		require.NoError(t, err)
		ctx := context.Background()
		require.NoError(t, out.Stage(ctx, filesOf("2", "a.json", "b.html")))
		err = Write(ctx, out, filesOf("2", "c.csv"))
		out.Discard()
		assert.ErrorContains(t, err, filepath.Join(dir, says)+": --out: found that it cannot be written (no room left)", full)
		assert.Equal(t, map[string]string{"a.json": "lapwing 1"}, versions(t, dir), full)
	}
}

// Whatever goes wrong, the directory holds what it held before.
func TestFailedSwap(t *testing.T) {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "a.json"), "lapwing 1")
	put(t, filepath.Join(dir, "b.html", "mine.txt"), "in the way")
	before := versions(t, dir)
	out, err := Open(dir)
	require.NoError(t, err)
	err = Write(context.Background(), out, filesOf("2", "a.json", "below/deep/c.csv", "b.html"))
	out.Discard()
	assert.ErrorContains(t, err, "b.html: --out: found something that is not a file, want another directory")
	assert.Equal(t, before, versions(t, dir))
	assert.NoDirExists(t, filepath.Join(dir, "below"))

	out, err = Open(filepath.Join(dir, "new", "deep"))
	require.NoError(t, err)
	wrong := errors.New("nothing to say")
	files := append(filesOf("2", "a.json"), report.File{Name: "z", Write: func(io.Writer) error { return wrong }})
	assert.ErrorIs(t, Write(context.Background(), out, files), wrong)
	out.Discard()
	assert.Equal(t, before, versions(t, dir))
	assert.NoDirExists(t, filepath.Join(dir, "new"))

	// Files that are to be new are written over nothing, not even over ours.
	out, err = Open(dir)
	require.NoError(t, err)
	err = WriteNew(context.Background(), out, filesOf("2", "first.yaml", "a.json")...)
	out.Discard()
	assert.ErrorContains(t, err, "a.json: --out: found a file of this name, want a new one; nothing is written over")
	assert.Equal(t, before, versions(t, dir))
}

// While one run holds a directory another waits, and says so if it is in vain.
func TestHeld(t *testing.T) {
	dir := t.TempDir()
	first, err := Open(dir)
	require.NoError(t, err)
	require.NoError(t, first.hold(context.Background(), 0))
	require.NoError(t, first.Stage(context.Background(), filesOf("1", "a.json")))

	second, err := Open(dir)
	require.NoError(t, err)
	var input *job.InputError
	require.ErrorAs(t, second.HoldOrSay(context.Background(), 0), &input)
	assert.Equal(t, "found another run of lapwing that is writing into it", input.Found)
	stopped, stop := context.WithCancel(context.Background())
	stop()
	assert.ErrorIs(t, second.hold(stopped, Patience), context.Canceled)

	require.NoError(t, first.commit(), "the second has taken nothing away")
	first.Discard()
	require.NoError(t, Write(context.Background(), second, filesOf("2", "b.json")))
	second.Discard()
	assert.Equal(t, map[string]string{"a.json": "lapwing 1", "b.json": "lapwing 2"}, versions(t, dir))
}

// What a killed process left in the temporary directory goes; what others hold, what was
// just made and what is of another name stays.
func TestTempDir(t *testing.T) {
	within := t.TempDir()
	t.Setenv("TMPDIR", within)
	t.Setenv("TMP", within) // on Windows
	old := time.Now().Add(-time.Hour)
	aged := func(name string) string {
		at := filepath.Join(within, name)
		require.NoError(t, os.MkdirAll(filepath.Join(at, "sub"), 0o700))
		require.NoError(t, os.WriteFile(filepath.Join(at, "sub", "day.csv"), []byte("x"), 0o600))
		require.NoError(t, os.Chtimes(at, old, old))
		return at
	}
	held, remove, err := NewTempDir("lapwing-work")
	require.NoError(t, err)
	require.NoError(t, os.Chtimes(held, old, old))
	killed, other, notOurs := aged("lapwing-work-17"), aged("lapwing-page-17"), aged("lapwing-work-of-mine")
	fresh := aged("lapwing-work-18")
	require.NoError(t, os.Chtimes(fresh, time.Now(), time.Now()))

	second, removeSecond, err := NewTempDir("lapwing-work")
	require.NoError(t, err)
	assert.NotEqual(t, held, second)
	assert.NoDirExists(t, killed)
	for _, stays := range []string{held, other, notOurs, fresh, second} {
		assert.DirExists(t, stays)
	}
	remove()
	removeSecond()
	assert.NoDirExists(t, held)
	assert.NoDirExists(t, second)
}

// A temporary directory that is not there is the input's fault, and no flag's.
func TestNoTempDir(t *testing.T) {
	missing := filepath.Join(t.TempDir(), "missing")
	t.Setenv("TMPDIR", missing)
	t.Setenv("TMP", missing) // on Windows
	_, _, err := NewTempDir("lapwing-work")
	var wrong *job.InputError
	require.ErrorAs(t, err, &wrong)
	assert.Contains(t, err.Error(), "missing: temporary directory: found that it cannot be written (")
}
