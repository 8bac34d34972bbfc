//go:build js && wasm

package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"syscall/js"
	"time"

	"lapwing/report"
	"lapwing/report/desk/store"
)

// A carried store is the files of a desk in a worker. What was dropped stays where the
// browser has it and is read piece by piece; what the core writes stands in memory. Every
// change is told to the page, which keeps it.
type carried struct {
	*store.Memory
	tell func(put map[string]written, removed []string)
}

// written is a file that the core wrote.
type written struct {
	data []byte
	at   time.Time
}

// Put writes files, all or none.
func (s *carried) Put(ctx context.Context, files []report.File) error {
	put, kept := make(map[string]written, len(files)), make(map[string]*store.File, len(files))
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
		w := written{b.Bytes(), time.UnixMilli(time.Now().UnixMilli())} // a page has milliseconds
		put[f.Name], kept[f.Name] = w, store.Bytes(w.data, w.at)
	}
	s.Keep(kept)
	s.tell(put, nil)
	return nil
}

// Remove takes files away; those that are not there are no error.
func (s *carried) Remove(names ...string) error {
	err := s.Memory.Remove(names...)
	if err == nil && len(names) > 0 {
		s.tell(nil, names)
	}
	return err
}

// ofBlob is a file that the browser keeps; at is when it was changed, in ms.
func ofBlob(name string, blob js.Value, at float64) *store.File {
	size := int64(blob.Get("size").Float())
	return &store.File{Size: size, Modified: time.UnixMilli(int64(at)), Open: func() store.Content {
		return io.NewSectionReader(&pieces{name: name, blob: blob, size: size}, 0, size)
	}}
}

// piece is how much of a Blob is asked for at once, in bytes.
const piece = 1 << 20

// pieces read a Blob. What was read last is kept, and where it begins.
type pieces struct {
	name  string
	blob  js.Value
	size  int64
	ahead []byte
	from  int64
}

// ReadAt reads at a place.
func (b *pieces) ReadAt(p []byte, off int64) (n int, err error) {
	for n < len(p) {
		at := off + int64(n)
		if at >= b.size {
			return n, io.EOF
		}
		if at < b.from || at >= b.from+int64(len(b.ahead)) {
			if b.ahead, err = read(b.blob, at, min(at+piece, b.size)); err != nil {
				return n, &fs.PathError{Op: "read", Path: b.name, Err: err}
			}
			b.from = at
		}
		n += copy(p[n:], b.ahead[at-b.from:])
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
