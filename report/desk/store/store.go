// Package store keeps the files of a desk: what a store promises, one in memory, and one
// that stops giving when the one who asked has gone.
package store

import (
	"bytes"
	"context"
	"io"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"
	"sync"
	"time"

	"lapwing/report"
)

// A Store keeps the files of a desk, by names with slashes as io/fs has them.
type Store interface {
	fs.ReadDirFS
	fs.StatFS
	// Put writes files, all or none; those of the same names are replaced.
	Put(ctx context.Context, files []report.File) error
	// Remove takes files away; those that are not there are no error.
	Remove(names ...string) error
}

// A Memory is a store in memory. What its files hold may also lie elsewhere, see [File].
type Memory struct {
	mu    sync.RWMutex
	files map[string]*File
	now   func() time.Time
}

// A File is one of a memory. It never changes: a file is replaced.
type File struct {
	Size     int64
	Modified time.Time
	// Open begins to read it, as often as it is asked to.
	Open func() Content
}

// Content is what an open file holds. It is read at any place, as archives are.
type Content interface {
	io.Reader
	io.ReaderAt
	io.Seeker
}

// Bytes is a file with its bytes, which are the store's from then on.
func Bytes(data []byte, modified time.Time) *File {
	return &File{int64(len(data)), modified, func() Content { return bytes.NewReader(data) }}
}

// NewMemory returns an empty store; now tells when a file is written.
func NewMemory(now func() time.Time) *Memory {
	return &Memory{files: map[string]*File{}, now: now}
}

// Put writes files, all or none.
func (m *Memory) Put(ctx context.Context, files []report.File) error {
	written := map[string]*File{}
	for _, f := range files {
		if !fs.ValidPath(f.Name) || f.Name == "." {
			return &fs.PathError{Op: "write", Path: f.Name, Err: fs.ErrInvalid}
		}
		var b bytes.Buffer
		if err := f.Write(&b); err != nil {
			return err
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		written[f.Name] = Bytes(b.Bytes(), m.now())
	}
	m.Keep(written)
	return nil
}

// Set puts one file with its bytes, which are the store's from then on.
func (m *Memory) Set(name string, data []byte, modified time.Time) {
	m.Keep(map[string]*File{name: Bytes(data, modified)})
}

// Keep puts files in their places, by their names.
func (m *Memory) Keep(files map[string]*File) {
	m.mu.Lock()
	defer m.mu.Unlock()
	maps.Copy(m.files, files)
}

// Remove takes files away.
func (m *Memory) Remove(names ...string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, name := range names {
		delete(m.files, name)
	}
	return nil
}

// Open opens a file, or a folder, which is there as long as a file is in it.
func (m *Memory) Open(name string) (fs.File, error) {
	info, err := m.stat("open", name)
	if err != nil {
		return nil, err
	}
	if info.IsDir() {
		entries, err := m.ReadDir(name)
		return &folder{info, entries}, err
	}
	return &opened{info, info.file.Open()}, nil
}

// Stat says what is at a name.
func (m *Memory) Stat(name string) (fs.FileInfo, error) { return m.stat("stat", name) }

func (m *Memory) stat(op, name string) (info, error) {
	if !fs.ValidPath(name) {
		return info{}, &fs.PathError{Op: op, Path: name, Err: fs.ErrInvalid}
	}
	m.mu.RLock()
	defer m.mu.RUnlock()
	if f := m.files[name]; f != nil {
		return info{path.Base(name), f}, nil
	}
	if name == "." {
		return info{".", nil}, nil
	}
	for other := range m.files {
		if strings.HasPrefix(other, name+"/") {
			return info{path.Base(name), nil}, nil
		}
	}
	return info{}, &fs.PathError{Op: op, Path: name, Err: fs.ErrNotExist}
}

// ReadDir lists a folder in the order of names.
func (m *Memory) ReadDir(name string) ([]fs.DirEntry, error) {
	if at, err := m.stat("open", name); err != nil {
		return nil, err
	} else if !at.IsDir() {
		return nil, &fs.PathError{Op: "readdir", Path: name, Err: fs.ErrInvalid}
	}
	m.mu.RLock()
	defer m.mu.RUnlock()
	below := map[string]fs.DirEntry{}
	for other, f := range m.files {
		rest := other
		if name != "." {
			var in bool
			if rest, in = strings.CutPrefix(other, name+"/"); !in {
				continue
			}
		}
		first, _, deeper := strings.Cut(rest, "/")
		if deeper {
			f = nil
		}
		below[first] = fs.FileInfoToDirEntry(info{first, f})
	}
	var entries []fs.DirEntry
	for _, first := range slices.Sorted(maps.Keys(below)) {
		entries = append(entries, below[first])
	}
	return entries, nil
}

// info is what is known of a file; of a folder file is nil.
type info struct {
	name string
	file *File
}

func (i info) Name() string { return i.name }
func (i info) IsDir() bool  { return i.file == nil }
func (i info) Sys() any     { return nil }

func (i info) Size() int64 {
	if i.file == nil {
		return 0
	}
	return i.file.Size
}

func (i info) Mode() fs.FileMode {
	if i.file == nil {
		return fs.ModeDir | 0o700
	}
	return 0o600
}

func (i info) ModTime() time.Time {
	if i.file == nil {
		return time.Time{}
	}
	return i.file.Modified
}

// opened is an open file.
type opened struct {
	info info
	Content
}

func (f *opened) Stat() (fs.FileInfo, error) { return f.info, nil }
func (f *opened) Close() error               { return nil }

// folder is an open folder.
type folder struct {
	info    info
	entries []fs.DirEntry
}

func (f *folder) Stat() (fs.FileInfo, error) { return f.info, nil }
func (f *folder) Close() error               { return nil }
func (f *folder) Read([]byte) (int, error) {
	return 0, &fs.PathError{Op: "read", Path: f.info.name, Err: fs.ErrInvalid}
}

func (f *folder) ReadDir(n int) ([]fs.DirEntry, error) {
	if n <= 0 {
		all := f.entries
		f.entries = nil
		return all, nil
	}
	if len(f.entries) == 0 {
		return nil, io.EOF
	}
	n = min(n, len(f.entries))
	some := f.entries[:n]
	f.entries = f.entries[n:]
	return some, nil
}

// Below lists all files below a folder.
func Below(s Store, dir string) (names []string) {
	fs.WalkDir(s, dir, func(name string, e fs.DirEntry, err error) error {
		if err == nil && !e.IsDir() {
			names = append(names, name)
		}
		return nil // what cannot be read is not listed
	})
	return names
}

// FileOf is a file with its bytes.
func FileOf(name string, text []byte) report.File {
	return report.File{Name: name, Write: func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	}}
}
