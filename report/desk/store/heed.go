package store

import (
	"context"
	"errors"
	"io"
	"io/fs"

	"lapwing/report"
)

// Heeding are the files of a store as long as a context lasts: after that no
// file opens and no byte is read, so that a reader stops.
type Heeding struct {
	Context context.Context
	Store
}

// Open opens a file, as long as the context lasts.
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

// CopyOf is a file with the bytes of another.
func (h Heeding) CopyOf(name, to string) report.File {
	return report.File{Name: to, Write: func(w io.Writer) error {
		f, err := h.Open(name)
		if err != nil {
			return err
		}
		defer f.Close()
		return h.Copy(w, f)
	}}
}

// Copy copies all that is read, as long as the context lasts.
func (h Heeding) Copy(w io.Writer, r io.Reader) error {
	for {
		if err := h.Context.Err(); err != nil {
			return err
		}
		if _, err := io.CopyN(w, r, 1<<20); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			return err
		}
	}
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
