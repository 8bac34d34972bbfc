package store

import (
	"context"
	"io/fs"
)

// Heeding are the files of a store as long as a context lasts: after that nothing
// opens and nothing is read, so that whoever reads stops.
type Heeding struct {
	Context context.Context
	Store
}

// Open opens a file, while somebody waits for it.
func (h Heeding) Open(name string) (fs.File, error) {
	if err := h.Context.Err(); err != nil {
		return nil, err
	}
	f, err := h.Store.Open(name)
	if err != nil {
		return nil, err
	}
	if r, ok := f.(Content); ok {
		return heedingReaderAt{heedingFile{h.Context, f}, r}, nil
	}
	return heedingFile{h.Context, f}, nil
}

type heedingFile struct {
	ctx context.Context
	fs.File
}

func (f heedingFile) Read(b []byte) (int, error) {
	if err := f.ctx.Err(); err != nil {
		return 0, err
	}
	return f.File.Read(b)
}

func (f heedingFile) ReadDir(n int) ([]fs.DirEntry, error) {
	if d, ok := f.File.(fs.ReadDirFile); ok {
		return d.ReadDir(n)
	}
	return nil, &fs.PathError{Op: "readdir", Err: fs.ErrInvalid}
}

// heedingReaderAt can be read at any place, as archives are.
type heedingReaderAt struct {
	heedingFile
	at Content
}

func (f heedingReaderAt) ReadAt(b []byte, off int64) (int, error) {
	if err := f.ctx.Err(); err != nil {
		return 0, err
	}
	return f.at.ReadAt(b, off)
}

func (f heedingReaderAt) Seek(offset int64, whence int) (int64, error) {
	return f.at.Seek(offset, whence)
}
