package shell

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"lapwing/coverage/job"
	"lapwing/report/desk"

	"github.com/fsnotify/fsnotify"
)

// A Watch takes the files that appear in a folder and below, such as one that a
// terminal in a cab fills over the net, or where sticks are copied to.
//
// The system tells of changes where it can; drives on the net tell of nothing, so the
// folder is also looked at every now and then. A file is taken once it rests: a copy
// in the middle of its way, or a log that is being written, is not. When it has changed
// it is taken again, as a newer version.
type Watch struct {
	Folder string
	// Every is how often the folder is looked at; 0 is 3 s.
	Every time.Duration
	// Rest is how long a file must not have changed; 0 is 2 s.
	Rest time.Duration
}

// mostWatched bounds how many files of a folder are looked at.
const mostWatched = 20_000

// A state is what tells whether a file has changed.
type state struct {
	size     int64
	modified time.Time
}

// A watched folder, as it was when last looked at.
type watched struct {
	Watch
	shell  *Shell
	system *fsnotify.Watcher // nil where the system tells of nothing
	since  map[string]rest
	taken  map[string]state // or refused: not tried again until it changes
}

// A rest is since when a file has had a state.
type rest struct {
	state
	since time.Time
}

// Watch takes what appears, until ctx is done. That the folder is gone for a while,
// as one on a stick may be, is no error.
func (s *Shell) Watch(ctx context.Context, watch Watch) {
	if watch.Every == 0 {
		watch.Every = 3 * time.Second
	}
	if watch.Rest == 0 {
		watch.Rest = 2 * time.Second
	}
	w := watched{Watch: watch, shell: s, since: map[string]rest{}, taken: map[string]state{}}
	var told chan fsnotify.Event // nil tells of nothing
	if system, err := fsnotify.NewWatcher(); err == nil {
		defer system.Close()
		w.system, told = system, system.Events
		go func() {
			for range system.Errors { // an overflow: the next look finds what it was
			}
		}()
	}
	for {
		next := w.look(ctx, time.Now())
		timer := time.NewTimer(next)
		select {
		case <-ctx.Done():
			timer.Stop()
			return
		case <-told:
			timer.Stop()
			w.drain(told)
		case <-timer.C:
		}
	}
}

// drain waits until the system has nothing more to tell for a moment, but not for
// long: a copy tells of each of its pieces.
func (w *watched) drain(told chan fsnotify.Event) {
	end := time.After(w.Rest / 2)
	for {
		select {
		case <-told:
		case <-time.After(w.Rest / 20):
			return
		case <-end:
			return
		}
	}
}

// look takes the files that rest, and says when to look again.
func (w *watched) look(ctx context.Context, now time.Time) (next time.Duration) {
	next = w.Every
	root, err := os.OpenRoot(w.Folder)
	if err != nil {
		return next
	}
	defer root.Close()
	found, restless := map[string]rest{}, false
	var ready []string
	_ = fs.WalkDir(root.FS(), ".", func(name string, d fs.DirEntry, err error) error {
		switch {
		case ctx.Err() != nil || len(found) >= mostWatched:
			return fs.SkipAll
		case err != nil:
			return nil // a folder that may not be read
		case name != "." && isSystems(d.Name()), strings.Count(name, "/") > mostDepth:
			if d.IsDir() {
				return fs.SkipDir
			}
			return nil
		case d.IsDir() && w.system != nil:
			_ = w.system.Add(filepath.Join(w.Folder, filepath.FromSlash(name))) // else it is looked at
			return nil
		case !d.Type().IsRegular():
			return nil
		}
		info, err := d.Info()
		if err != nil {
			return nil // gone again
		}
		is := state{info.Size(), info.ModTime()}
		before, known := w.since[name]
		if !known || before.state != is {
			before = rest{is, now}
		}
		found[name] = before
		switch {
		case w.taken[name] == is:
		case now.Sub(before.since) < w.Rest:
			restless = true
		default:
			ready = append(ready, name)
		}
		return nil
	})
	w.since = found
	for _, name := range ready {
		if ctx.Err() != nil {
			return next
		}
		w.take(ctx, root, name, found[name].state)
	}
	if restless {
		next = min(next, w.Rest)
	}
	return next
}

// isSystems reports whether a name is of what systems keep on a stick for themselves.
func isSystems(name string) bool {
	return strings.HasPrefix(name, ".") || name == "System Volume Information" || strings.EqualFold(name, "$RECYCLE.BIN")
}

// A found event tells of a file that a watched folder had.
type found struct {
	Name  string      `json:"found"`
	Error *desk.Fault `json:"error,omitempty"`
}

// errRestless says that a file has changed while it was taken.
var errRestless = errors.New("a file that changes")

// take takes one file, or tells why not.
func (w *watched) take(ctx context.Context, root *os.Root, name string, is state) {
	kept, err := w.keep(ctx, root, name, is)
	switch {
	case errors.Is(err, errRestless), ctx.Err() != nil:
		return // another time
	case err != nil:
		w.shell.Events.Tell(found{name, desk.FaultOf(err)})
	case kept:
		w.shell.Events.Tell(found{Name: name})
		w.shell.Changed()
	}
	w.taken[name] = is
}

// keep has the desk keep one file, unless it has it already.
func (w *watched) keep(ctx context.Context, root *os.Root, name string, is state) (kept bool, err error) {
	f, err := root.Open(name)
	if err != nil {
		return false, err
	}
	defer f.Close()
	if is.size > mostFile {
		return false, &job.InputError{File: name, Found: "found a file of more than 2 GiB", Want: "a smaller one"}
	}
	if _, there := w.shell.keeps(name, f); there {
		return false, nil // as after each start
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return false, err
	}
	stored, err := w.shell.Take(ctx, name, &resting{f, is})
	if err != nil {
		return false, err
	}
	return true, w.shell.Desk.Renew(ctx, stored, filepath.Join(w.Folder, filepath.FromSlash(name)))
}

// resting gives what a file holds, and fails at its end if it has changed since.
type resting struct {
	*os.File
	is state
}

func (r *resting) Read(p []byte) (int, error) {
	n, err := r.File.Read(p)
	if errors.Is(err, io.EOF) {
		info, failed := r.File.Stat()
		if failed != nil || (state{info.Size(), info.ModTime()}) != r.is {
			return n, errRestless
		}
	}
	return n, err
}
