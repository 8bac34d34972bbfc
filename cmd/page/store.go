//go:build js && wasm

package main

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"
	"sync"
	"syscall/js"
	"time"

	"lapwing/report"
)

// A store is the files of a desk in a worker. What was dropped stays where the browser
// has it and is read piece by piece; what the core writes stands in memory. Every
// change is told to the page, which keeps it.
type store struct {
	mu    sync.RWMutex
	files map[string]*kept
	tell  func(put map[string]*kept, removed []string)
}

// A kept file is bytes, or a Blob of the browser.
type kept struct {
	data []byte
	blob js.Value // undefined where data is all there is
	size int64
	at   time.Time // of its last change
}

// ofBlob is a file that the browser keeps; at is when it was changed, in ms.
func ofBlob(blob js.Value, at float64) *kept {
	return &kept{blob: blob, size: int64(blob.Get("size").Float()), at: time.UnixMilli(int64(at))}
}

// Put writes files, all or none.
func (s *store) Put(ctx context.Context, files []report.File) error {
	put := make(map[string]*kept, len(files))
	for _, f := range files {
		if err := ctx.Err(); err != nil {
			return err
		}
		if !fs.ValidPath(f.Name) || f.Name == "." {
			return &fs.PathError{Op: "put", Path: f.Name, Err: fs.ErrInvalid}
		}
		var b bytes.Buffer
		if err := f.Write(&b); err != nil {
			return fmt.Errorf("%s: %w", f.Name, err)
		}
		put[f.Name] = &kept{data: b.Bytes(), size: int64(b.Len()), at: time.UnixMilli(time.Now().UnixMilli())}
	}
	s.add(put)
	s.tell(put, nil)
	return nil
}

// add puts files in their places without telling the page, which has them.
func (s *store) add(put map[string]*kept) {
	s.mu.Lock()
	defer s.mu.Unlock()
	maps.Copy(s.files, put)
}

// Remove takes files away; those that are not there are no error.
func (s *store) Remove(names ...string) error {
	s.mu.Lock()
	for _, name := range names {
		delete(s.files, name)
	}
	s.mu.Unlock()
	if len(names) > 0 {
		s.tell(nil, names)
	}
	return nil
}

// ReadDir lists a folder, by name.
func (s *store) ReadDir(name string) ([]fs.DirEntry, error) {
	f, err := s.Open(name)
	if err != nil {
		return nil, err
	}
	if d, ok := f.(*folder); ok {
		return d.ReadDir(-1)
	}
	return nil, &fs.PathError{Op: "readdir", Path: name, Err: errors.New("not a directory")}
}

// Stat says what a name is.
func (s *store) Stat(name string) (fs.FileInfo, error) {
	f, err := s.Open(name)
	if err != nil {
		return nil, err
	}
	return f.Stat()
}

// Open opens a file or a folder.
func (s *store) Open(name string) (fs.File, error) {
	if !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrInvalid}
	}
	s.mu.RLock()
	defer s.mu.RUnlock()
	if k, found := s.files[name]; found {
		return &handle{kept: k, name: name}, nil
	}
	entries := s.within(name)
	if len(entries) == 0 && name != "." {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return &folder{about: about{name: path.Base(name), dir: true}, entries: entries}, nil
}

// within lists what is in a folder, by name.
func (s *store) within(name string) []fs.DirEntry {
	prefix := name + "/"
	if name == "." {
		prefix = ""
	}
	found := map[string]about{}
	for file, k := range s.files {
		rest, inside := strings.CutPrefix(file, prefix)
		if !inside {
			continue
		}
		first, _, deeper := strings.Cut(rest, "/")
		a := about{name: first, dir: deeper}
		if !deeper {
			a.size, a.at = k.size, k.at
		}
		found[first] = a
	}
	entries := make([]fs.DirEntry, 0, len(found))
	for _, a := range found {
		entries = append(entries, fs.FileInfoToDirEntry(a))
	}
	slices.SortFunc(entries, func(a, b fs.DirEntry) int { return cmp.Compare(a.Name(), b.Name()) })
	return entries
}

// about says what a name is.
type about struct {
	name string
	size int64
	at   time.Time
	dir  bool
}

func (a about) Name() string       { return a.name }
func (a about) Size() int64        { return a.size }
func (a about) ModTime() time.Time { return a.at }
func (a about) IsDir() bool        { return a.dir }
func (a about) Sys() any           { return nil }
func (a about) Mode() fs.FileMode {
	if a.dir {
		return fs.ModeDir | 0o755
	}
	return 0o644
}

// A folder is an open folder.
type folder struct {
	about
	entries []fs.DirEntry
}

func (f *folder) Stat() (fs.FileInfo, error) { return f.about, nil }
func (f *folder) Close() error               { return nil }
func (f *folder) Read([]byte) (int, error) {
	return 0, &fs.PathError{Op: "read", Path: f.name, Err: errors.New("is a directory")}
}

// ReadDir returns the next n entries, all of them where n is not positive.
func (f *folder) ReadDir(n int) ([]fs.DirEntry, error) {
	if n <= 0 {
		n = len(f.entries)
	} else if len(f.entries) == 0 {
		return nil, io.EOF
	}
	n = min(n, len(f.entries))
	out := f.entries[:n]
	f.entries = f.entries[n:]
	return out, nil
}

// piece is how much of a Blob is asked for at once, in bytes.
const piece = 1 << 20

// A handle is an open file.
type handle struct {
	*kept
	name string
	next int64 // where Read reads on
	// What was read last of a Blob, and where it begins.
	ahead []byte
	from  int64
}

func (h *handle) Stat() (fs.FileInfo, error) {
	return about{name: path.Base(h.name), size: h.size, at: h.kept.at}, nil
}
func (h *handle) Close() error { return nil }

// Read reads on.
func (h *handle) Read(p []byte) (int, error) {
	n, err := h.ReadAt(p[:min(int64(len(p)), max(h.size-h.next, 0))], h.next)
	h.next += int64(n)
	if n == 0 && err == nil && len(p) > 0 {
		err = io.EOF
	}
	return n, err
}

// Seek moves to where Read reads.
func (h *handle) Seek(offset int64, whence int) (int64, error) {
	switch whence {
	case io.SeekCurrent:
		offset += h.next
	case io.SeekEnd:
		offset += h.size
	}
	if offset < 0 {
		return 0, &fs.PathError{Op: "seek", Path: h.name, Err: fs.ErrInvalid}
	}
	h.next = offset
	return offset, nil
}

// ReadAt reads at a place.
func (h *handle) ReadAt(p []byte, off int64) (n int, err error) {
	for n < len(p) {
		at := off + int64(n)
		if at >= h.size {
			return n, io.EOF
		}
		data, from := h.data, int64(0)
		if !h.blob.IsUndefined() {
			if at < h.from || at >= h.from+int64(len(h.ahead)) {
				if h.ahead, err = read(h.blob, at, min(at+piece, h.size)); err != nil {
					return n, &fs.PathError{Op: "read", Path: h.name, Err: err}
				}
				h.from = at
			}
			data, from = h.ahead, h.from
		}
		n += copy(p[n:], data[at-from:])
	}
	return n, nil
}

// read returns the bytes of a Blob from one place to another.
func read(blob js.Value, from, to int64) (data []byte, err error) {
	defer func() { // the browser throws what it cannot read
		if thrown, ok := recover().(js.Error); ok {
			err = errors.New(thrown.Get("message").String())
		}
	}()
	buffer := js.Global().Get("FileReaderSync").New().Call("readAsArrayBuffer", blob.Call("slice", from, to))
	bytes := js.Global().Get("Uint8Array").New(buffer)
	data = make([]byte, bytes.Length())
	if js.CopyBytesToGo(data, bytes) == 0 {
		return nil, io.ErrUnexpectedEOF // shorter than it said: it would be asked for without end
	}
	return data, nil
}
