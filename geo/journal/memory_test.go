package journal_test

import (
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"slices"
	"sync"
	"syscall"

	"lapwing/geo/journal"
)

// A disk is a folder in memory that can be full, fail and lose its power.
type disk struct {
	mu     sync.Mutex
	files  map[string]*diskFile
	room   int  // bytes that can still be written
	broken bool // syncs fail, and what is not synced is dropped
	syncs  int
}

func newDisk() *disk { return &disk{files: map[string]*diskFile{}, room: 1 << 40} }

// A diskFile has what the system shows, and what is on the disk.
type diskFile struct {
	disk  *disk
	shown []byte
	safe  []byte
}

func (d *disk) Create(name string) (journal.File, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.files[name] != nil {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrExist}
	}
	d.files[name] = &diskFile{disk: d}
	return d.files[name], nil
}

func (d *disk) Open(name string) (journal.File, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if f := d.files[name]; f != nil {
		return f, nil
	}
	return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
}

func (d *disk) Sync() error { return nil }

// with is a disk that holds one file.
func with(name string, data []byte) *disk {
	d := newDisk()
	d.files[name] = &diskFile{d, bytes.Clone(data), bytes.Clone(data)}
	return d
}

// give makes room.
func (d *disk) give(room int) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.room += room
}

// broke says whether syncs fail.
func (d *disk) broke(broken bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.broken = broken
}

// bytes are those a reader sees.
func (d *disk) bytes(name string) []byte {
	d.mu.Lock()
	defer d.mu.Unlock()
	if f := d.files[name]; f != nil {
		return bytes.Clone(f.shown)
	}
	return nil
}

func (d *disk) names() []string {
	d.mu.Lock()
	defer d.mu.Unlock()
	var names []string
	for name := range d.files {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// cut is what a power cut leaves of a file: what was synced, and of the rest as
// much as happened to be written, with holes of zeros where it was not.
func (d *disk) cut(name string, r *rand.Rand) []byte {
	d.mu.Lock()
	defer d.mu.Unlock()
	f := d.files[name]
	left := bytes.Clone(f.safe)
	if more := len(f.shown) - len(f.safe); more > 0 {
		left = append(left, f.shown[len(f.safe):len(f.safe)+r.IntN(more+1)]...)
		const block = 64
		for at := len(f.safe); at < len(left); at += block {
			if r.IntN(3) == 0 {
				clear(left[at:min(at+block, len(left))])
			}
		}
	}
	return left
}

func (f *diskFile) ReadAt(p []byte, at int64) (int, error) {
	f.disk.mu.Lock()
	defer f.disk.mu.Unlock()
	if at >= int64(len(f.shown)) {
		return 0, io.EOF
	}
	n := copy(p, f.shown[at:])
	if n < len(p) {
		return n, io.EOF
	}
	return n, nil
}

func (f *diskFile) WriteAt(p []byte, at int64) (int, error) {
	f.disk.mu.Lock()
	defer f.disk.mu.Unlock()
	if at > int64(len(f.shown)) {
		panic(fmt.Sprintf("a write at %d leaves a hole after %d", at, len(f.shown)))
	}
	again := min(len(p), len(f.shown)-int(at)) // takes no room
	n := min(len(p), again+f.disk.room)
	f.disk.room -= n - again
	f.shown = append(f.shown[:at], append(bytes.Clone(p[:n]), f.shown[int(at)+again:]...)...)
	if n < len(p) {
		return n, syscall.ENOSPC
	}
	return n, nil
}

func (f *diskFile) Size() (int64, error) {
	f.disk.mu.Lock()
	defer f.disk.mu.Unlock()
	return int64(len(f.shown)), nil
}

func (f *diskFile) Truncate(size int64) error {
	f.disk.mu.Lock()
	defer f.disk.mu.Unlock()
	f.disk.room += len(f.shown) - int(size)
	f.shown = f.shown[:size]
	return nil
}

func (f *diskFile) Sync() error {
	f.disk.mu.Lock()
	defer f.disk.mu.Unlock()
	f.disk.syncs++
	if f.disk.broken {
		f.shown = bytes.Clone(f.safe)
		return syscall.EIO
	}
	f.safe = bytes.Clone(f.shown)
	return nil
}

func (f *diskFile) Close() error { return nil }
