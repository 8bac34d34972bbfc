package output

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"lapwing/cmd/lapwing/disk"
	"lapwing/coverage/job"
	"lapwing/report"
)

// A DeskFolder keeps the files of a desk in a directory. Nothing leads out of it: all
// is opened through an os.Root. Files are put in place as sets, see [swap], so that
// whenever the program is killed the directory holds whole sets only. While it is open
// no other run of lapwing writes into the directory.
type DeskFolder struct {
	root  *os.Root
	held  io.Closer
	mu    sync.Mutex // held while files get their places
	bytes int64      // of what was dropped
	files int
}

// What the dropped files of a desk may be in all.
const (
	mostDropped      = 50_000
	mostDroppedBytes = 64 << 30
	droppedDir       = "files"
)

// deskError says what is wrong with the directory of a desk.
func deskError(dir, found, want string) error {
	return &job.InputError{File: dir, Found: found, Want: want}
}

// OpenDeskFolder opens the directory of a desk, makes it if it is missing, and
// finishes or undoes what a run that was killed had begun there. The error is [ErrHeld]
// where another run has it.
func OpenDeskFolder(dir string) (*DeskFolder, error) {
	if info, err := os.Stat(dir); err == nil && !info.IsDir() {
		return nil, deskError(dir, "found a file", "a directory")
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, deskError(dir, "found that it cannot be made ("+disk.Reason(err)+")", "a directory that can be made")
	}
	held, err := lockDirectory(dir)
	if errors.Is(err, ErrHeld) {
		return nil, &job.InputError{File: dir, Found: "found another run of lapwing that has it open", Want: "another directory, or this one when that run has ended", Reason: ErrHeld}
	}
	if err != nil {
		return nil, deskError(dir, "found that it cannot be written ("+disk.Reason(err)+")", "a directory that may be written into")
	}
	d := &DeskFolder{held: held}
	if err := d.open(dir); err != nil {
		return nil, errors.Join(err, held.Close())
	}
	return d, nil
}

func (d *DeskFolder) open(dir string) (err error) {
	if err := Tidy(dir); err != nil {
		return err
	}
	if d.root, err = os.OpenRoot(dir); err != nil {
		return deskError(dir, "found that it cannot be opened ("+disk.Reason(err)+")", "a directory that may be read")
	}
	trial, err := d.begin()
	if err != nil {
		return errors.Join(d.Failure(err), d.root.Close())
	}
	trial.drop()
	return fs.WalkDir(d, ".", func(name string, e fs.DirEntry, err error) error {
		switch {
		case err != nil || e.IsDir() && name != "." && !strings.HasPrefix(name+"/", droppedDir+"/"):
			return fs.SkipDir
		case e.Type().IsRegular() && strings.HasPrefix(name, droppedDir+"/"):
			if info, err := e.Info(); err == nil {
				d.count(info.Size())
			}
		}
		return nil
	})
}

func (d *DeskFolder) count(size int64) {
	d.files++
	d.bytes += size
}

// Close lets others have the directory.
func (d *DeskFolder) Close() error {
	d.mu.Lock() // what gets its place has got it
	defer d.mu.Unlock()
	return errors.Join(d.root.Close(), d.held.Close())
}

// Root is the open directory, for what is no file of the desk. It is closed with the folder.
func (d *DeskFolder) Root() *os.Root { return d.root }

// isProgramsOwn reports whether a name is of what the program itself keeps in the
// directory, which is no file of the desk.
func isProgramsOwn(name string) bool {
	first, _, _ := strings.Cut(name, "/")
	return strings.HasPrefix(first, ".lapwing-")
}

// Open opens a file or a folder of the desk. Devices, pipes and the like are refused.
func (d *DeskFolder) Open(name string) (fs.File, error) {
	info, err := d.Stat(name)
	if err != nil {
		return nil, err
	}
	f, err := d.root.Open(name)
	if err != nil || !info.IsDir() {
		return f, err
	}
	return deskListing{f, name}, nil
}

// A deskListing is an open folder of the desk.
type deskListing struct {
	*os.File
	name string
}

// ReadDir lists what is in the folder, n entries at a time.
func (l deskListing) ReadDir(n int) ([]fs.DirEntry, error) {
	for {
		all, err := l.File.ReadDir(n)
		some := slices.DeleteFunc(all, func(e fs.DirEntry) bool { return isProgramsOwn(path.Join(l.name, e.Name())) })
		if n <= 0 || len(some) > 0 || err != nil {
			return some, err
		}
	}
}

// Stat says what is at a name.
func (d *DeskFolder) Stat(name string) (fs.FileInfo, error) {
	if !fs.ValidPath(name) || isProgramsOwn(name) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	info, err := d.root.Stat(name)
	if err == nil && !info.Mode().IsRegular() && !info.IsDir() {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrPermission}
	}
	return info, err
}

// ReadDir lists a folder of the desk.
func (d *DeskFolder) ReadDir(name string) ([]fs.DirEntry, error) {
	if _, err := d.Stat(name); err != nil {
		return nil, err
	}
	all, err := fs.ReadDir(d.root.FS(), name)
	return slices.DeleteFunc(all, func(e fs.DirEntry) bool { return isProgramsOwn(path.Join(name, e.Name())) }), err
}

// begin begins a set of files.
func (d *DeskFolder) begin() (*swap, error) {
	root, err := d.root.OpenRoot(".")
	if err != nil {
		return nil, err
	}
	return newSwapIn(root)
}

// checkDeskName refuses names that are none of a file of the desk.
func checkDeskName(name string) error {
	if !fs.ValidPath(name) || name == "." || !filepath.IsLocal(filepath.FromSlash(name)) || isProgramsOwn(name) {
		return &fs.PathError{Op: "write", Path: name, Err: fs.ErrInvalid}
	}
	return nil
}

// Put writes files, all or none; those of the same names are replaced.
func (d *DeskFolder) Put(ctx context.Context, files []report.File) error {
	s, err := d.begin()
	if err != nil {
		return err
	}
	defer s.drop()
	s.Takes = takesAll
	for i, f := range files {
		if err := checkDeskName(f.Name); err != nil {
			return err
		}
		s.Files = append(s.Files, f.Name)
		if err := s.write(i, f.Write); err != nil {
			return d.Failure(err)
		}
		if err := ctx.Err(); err != nil {
			return err
		}
	}
	if _, err := s.syncing.end(); err != nil { // before the lock: others go on meanwhile
		return d.Failure(err)
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	dropped, more, err := d.dropped(s)
	if err != nil {
		return err
	}
	if err := s.place(d.Failure); err != nil {
		return err
	}
	d.files, d.bytes = d.files+dropped, d.bytes+more
	return nil
}

// dropped is by how much a set of files adds to those that were dropped: how many, and
// how many bytes.
func (d *DeskFolder) dropped(s *swap) (files int, bytes int64, err error) {
	for i, name := range s.Files {
		if !strings.HasPrefix(name, droppedDir+"/") {
			continue
		}
		is, err := d.root.Stat(s.at(i, newEnd))
		if err != nil {
			return 0, 0, err
		}
		files, bytes = files+1, bytes+is.Size()
		if was, err := d.root.Lstat(name); err == nil {
			files, bytes = files-1, bytes-was.Size()
		}
	}
	return files, bytes, nil
}

// Remove takes files away, all or none; those that are not there are no error.
func (d *DeskFolder) Remove(names ...string) error {
	for _, name := range names {
		if err := checkDeskName(name); err != nil {
			return err
		}
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	s, err := d.begin()
	if err != nil {
		return err
	}
	defer s.drop()
	s.Takes = takesAll
	var dropped []int64 // their sizes
	for _, name := range names {
		info, err := d.root.Lstat(name)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			continue
		case err != nil:
			return err
		case info.IsDir():
			return &fs.PathError{Op: "remove", Path: name, Err: errors.New("a folder")}
		case strings.HasPrefix(name, droppedDir+"/"):
			dropped = append(dropped, info.Size())
		}
		s.Gone = append(s.Gone, name)
	}
	if err := s.place(d.Failure); err != nil {
		return err
	}
	for _, size := range dropped {
		d.files, d.bytes = d.files-1, d.bytes-size
	}
	for _, name := range s.Gone {
		for dir := path.Dir(name); dir != "." && d.root.Remove(dir) == nil; dir = path.Dir(dir) {
			continue // only those that are empty go
		}
	}
	return nil
}

// Receive keeps what body gives as one new file.
func (d *DeskFolder) Receive(ctx context.Context, body io.Reader, name func(came fs.File) (string, error)) error {
	s, err := d.begin()
	if err != nil {
		return err
	}
	defer s.drop()
	if err := s.write(0, func(w io.Writer) error { return d.copy(ctx, w, body) }); err != nil {
		return d.Failure(err)
	}
	if _, err := s.syncing.end(); err != nil {
		return d.Failure(err)
	}
	came, err := d.root.Open(s.at(0, newEnd))
	if err != nil {
		return err
	}
	info, err := came.Stat()
	if err != nil {
		return errors.Join(err, came.Close())
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	at, err := name(came)
	came.Close()
	if err != nil || at == "" {
		return err
	}
	if err := checkDeskName(at); err != nil {
		return err
	}
	s.Takes, s.Files = takesNone, []string{at}
	if err := s.place(d.Failure); err != nil {
		return err
	}
	d.count(info.Size())
	return nil
}

// copy writes what was dropped, as long as there is room and ctx is not done.
func (d *DeskFolder) copy(ctx context.Context, w io.Writer, body io.Reader) error {
	d.mu.Lock()
	room, files := mostDroppedBytes-d.bytes, d.files
	d.mu.Unlock()
	full := deskError(d.root.Name(), fmt.Sprintf("found that its files would be more than %d or take more than %d GiB", mostDropped, mostDroppedBytes>>30), "another desk, or to remove some")
	if files >= mostDropped {
		return full
	}
	buffer := make([]byte, 1<<18)
	for {
		n, err := body.Read(buffer)
		if room -= int64(n); room < 0 {
			return full
		}
		if _, err := w.Write(buffer[:n]); err != nil {
			return err
		}
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return err
		}
	}
}

// Failure is what went wrong with writing into the directory: an error of the input where
// it is the disk's doing.
func (d *DeskFolder) Failure(err error) error {
	if !disk.IsOfFiles(err) {
		return err
	}
	return deskError(d.root.Name(), "found that it cannot be written ("+disk.Reason(err)+")", "a directory with room that may be written into")
}
