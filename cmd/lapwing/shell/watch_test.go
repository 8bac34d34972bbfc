package shell

import (
	"context"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// kept lists what the folder of a desk holds, with the contents.
func kept(t *testing.T, folder *fakeFolder) map[string]string {
	t.Helper()
	out := map[string]string{}
	require.NoError(t, fs.WalkDir(folder, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || strings.HasPrefix(d.Name(), ".") {
			return nil // on its way, and perhaps gone again
		}
		text, err := fs.ReadFile(folder, name)
		out[name] = string(text)
		return err
	}))
	return out
}

func write(t *testing.T, dir, name, text string) {
	t.Helper()
	at := filepath.Join(dir, filepath.FromSlash(name))
	require.NoError(t, os.MkdirAll(filepath.Dir(at), 0o755))
	require.NoError(t, os.WriteFile(at, []byte(text), 0o644))
}

// With every look the clock goes on by a second; the system tells of nothing, as on
// a drive of the net.
func TestWatchLooks(t *testing.T) {
	s, folder := newShell(t)
	dir := t.TempDir()
	w := watched{Watch: Watch{Folder: dir, Every: 3 * time.Second, Rest: 2 * time.Second}, shell: s, since: map[string]rest{}, taken: map[string]state{}}
	now := time.Now()
	look := func() time.Duration {
		now = now.Add(time.Second)
		return w.look(t.Context(), now)
	}
	outside := filepath.Join(t.TempDir(), "outside.csv")
	require.NoError(t, os.WriteFile(outside, []byte("outside"), 0o644))
	write(t, dir, "day1.csv", "one")
	write(t, dir, "deep/er/day2.csv", "two")
	write(t, dir, ".hidden/x", "x")
	write(t, dir, "System Volume Information/x", "x")
	require.NoError(t, os.Symlink(outside, filepath.Join(dir, "link.csv")))
	assert.Equal(t, 2*time.Second, look(), "the files do not rest yet")
	look()
	assert.Empty(t, kept(t, folder))
	assert.Equal(t, 3*time.Second, look())
	first := map[string]string{"files/day1.csv": "one", "files/deep/er/day2.csv": "two"}
	assert.Equal(t, first, kept(t, folder))

	// A log that grows is taken when it is done, and a copy with it.
	write(t, dir, "day3.csv", "th")
	for range 3 {
		look()
		f, err := os.OpenFile(filepath.Join(dir, "day3.csv"), os.O_APPEND|os.O_WRONLY, 0)
		require.NoError(t, err)
		_, err = f.WriteString("re")
		require.NoError(t, err)
		require.NoError(t, f.Close())
		assert.Equal(t, first, kept(t, folder))
	}
	for range 3 {
		look()
	}
	assert.Equal(t, "threrere", kept(t, folder)["files/day3.csv"])

	// The folder is gone for a while, and then as it was: nothing is taken twice.
	require.NoError(t, os.Rename(dir, dir+"-away"))
	look()
	require.NoError(t, os.Rename(dir+"-away", dir))
	for range 4 {
		look()
	}
	assert.Len(t, kept(t, folder), 3)

	// A new start finds all of it kept.
	w.since, w.taken = map[string]rest{}, map[string]state{}
	for range 4 {
		look()
	}
	assert.Len(t, kept(t, folder), 3)
	assert.Len(t, w.taken, 3)

	// Another content under a name that was there is taken, and the desk is told where it
	// lies: it knows whether it is a newer version. A new start finds that kept too.
	write(t, dir, "day1.csv", "one more")
	for range 2 {
		for range 4 {
			look()
		}
		assert.Equal(t, "one", kept(t, folder)["files/day1.csv"])
		assert.Equal(t, "one more", kept(t, folder)["files/day1 (2).csv"])
		w.since, w.taken = map[string]rest{}, map[string]state{}
	}
	assert.Len(t, kept(t, folder), 4)
	at := filepath.Join(dir, "day1.csv")
	assert.Equal(t, map[string]string{"files/day1.csv": at, "files/day1 (2).csv": at, "files/deep/er/day2.csv": filepath.Join(dir, "deep", "er", "day2.csv"), "files/day3.csv": filepath.Join(dir, "day3.csv")}, s.Desk.(*fakeDesk).from)
}

// A file that changes while it is taken is left for another time.
func TestWatchRestless(t *testing.T) {
	dir := t.TempDir()
	write(t, dir, "a.csv", "one")
	f, err := os.Open(filepath.Join(dir, "a.csv"))
	require.NoError(t, err)
	defer f.Close()
	info, err := f.Stat()
	require.NoError(t, err)
	r := &resting{f, state{info.Size(), info.ModTime()}}
	write(t, dir, "a.csv", "one and more")
	_, err = io.ReadAll(r)
	assert.ErrorIs(t, err, errRestless)
}

// What cannot be kept is told once, and again when it has changed.
func TestWatchTellsFaults(t *testing.T) {
	s, _ := newShell(t)
	dir := t.TempDir()
	write(t, dir, "a..csv", "one") // the fake desk takes no two dots
	page := listen(t, s)
	w := watched{Watch: Watch{Folder: dir}, shell: s, since: map[string]rest{}, taken: map[string]state{}}
	for i := range 5 {
		w.look(t.Context(), time.Unix(int64(i), 0))
	}
	write(t, dir, "a..csv", "two!")
	for i := range 5 {
		w.look(t.Context(), time.Unix(int64(10+i), 0))
	}
	for range 2 {
		assert.Equal(t, `data: {"found":"a..csv","error":{"file":"a..csv","found":"found a name that leads elsewhere","want":"a name","text":"a..csv: found a name that leads elsewhere, want a name"}}`, <-page)
	}
	assert.Empty(t, page)
}

// The system tells at once of what appears, also in folders that appear.
func TestWatchHears(t *testing.T) {
	s, folder := newShell(t)
	dir := t.TempDir()
	page := listen(t, s)
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		s.Watch(ctx, Watch{Folder: dir, Every: time.Hour, Rest: 40 * time.Millisecond})
	}()
	for i, name := range []string{"a.csv", "new/b.csv", "new/c.csv"} {
		time.Sleep(100 * time.Millisecond) // the folder is at rest
		write(t, dir, name, name)
		assert.Equal(t, `data: {"found":"`+name+`"}`, <-page, i)
		assert.Equal(t, `data: {"changed":true}`, <-page)
	}
	assert.Len(t, kept(t, folder), 3)
	stop()
	<-ended
}

// listen is a page that hears events, one a line.
func listen(t *testing.T, s *Shell) chan string {
	t.Helper()
	in, out := io.Pipe()
	ctx, stop := context.WithCancel(t.Context())
	t.Cleanup(stop)
	go s.Events.ServeHTTP(&pipeWriter{out}, newGet(ctx))
	events := make(chan string, 100)
	begun := make(chan struct{})
	go func() {
		text := ""
		buffer := make([]byte, 1<<10)
		for {
			n, err := in.Read(buffer)
			if err != nil {
				return
			}
			text += string(buffer[:n])
			for {
				one, rest, whole := strings.Cut(text, "\n\n")
				if !whole {
					break
				}
				text = rest
				if strings.HasPrefix(one, ": listening") {
					close(begun)
					continue
				}
				events <- strings.ReplaceAll(one, "\n", " ")
			}
		}
	}()
	<-begun
	return events
}
