package source

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"
)

// Bounds on an archive. It is read where it is, so it may be large; a bomb states
// sizes that no logs pack to.
const (
	mostPacked = 2 << 30 // bytes
	bombSize   = 256 << 20
	bombRatio  = 200 // unpacked to packed bytes, past bombSize
)

// IsZip reports whether the file at a path is a zip archive.
func (f Files) IsZip(path string) bool {
	info, err := f.Stat(path)
	if err != nil || !info.Mode().IsRegular() {
		return false
	}
	file, err := f.Open(path)
	if err != nil {
		return false
	}
	defer file.Close()
	head := make([]byte, 4)
	n, _ := io.ReadFull(file, head)
	return IsZip(head[:n])
}

// IsZip reports whether a file begins as a zip archive does. The second of the marks is
// that of one with nothing in it.
func IsZip(data []byte) bool {
	return bytes.HasPrefix(data, []byte("PK\x03\x04")) || bytes.HasPrefix(data, []byte("PK\x05\x06"))
}

// A Zip is an archive that is open: a file system.
type Zip struct {
	*zip.Reader
	io.Closer
}

// OpenZip opens the archive at a path. It is read from its file where that can be read
// anywhere, else from memory. An error is a [Reason].
func (f Files) OpenZip(path string) (*Zip, error) {
	file, err := f.Open(path)
	if err != nil {
		return nil, err
	}
	var size int64
	r, ok := file.(io.ReaderAt)
	if info, err := f.Stat(path); ok && err == nil {
		size = info.Size()
	} else {
		data, err := io.ReadAll(io.LimitReader(file, mostPacked+1))
		if err != nil {
			file.Close()
			return nil, reason(err)
		}
		r, size = bytes.NewReader(data), int64(len(data))
	}
	var why Reason
	z, err := zip.NewReader(r, size)
	switch {
	case size > mostPacked:
		why = Reason(fmt.Sprintf("an archive of more than %d MiB", mostPacked>>20))
	case err != nil && !errors.Is(err, zip.ErrInsecurePath):
		why = "a damaged zip archive"
	case isBomb(z, size):
		why = "an archive that unpacks to too much"
	default:
		return &Zip{z, file}, nil
	}
	file.Close()
	return nil, why
}

// isBomb reports whether an archive unpacks to what no logs do. Sizes that an archive
// states hold: package zip gives of no file more bytes than its own.
func isBomb(z *zip.Reader, size int64) bool {
	left := uint64(max(bombSize, bombRatio*size))
	for _, f := range z.File {
		if f.UncompressedSize64 > left {
			return true
		}
		left -= f.UncompressedSize64
	}
	return false
}

// Mount returns the files with another file system at a path, where there need be
// nothing.
func (f Files) Mount(path string, inner fs.FS) Files {
	f.FS = mounted{f.FS, f.Abs(path), inner}
	return f
}

// A mounted file system has another one at one of its names.
type mounted struct {
	fs.FS
	at    string
	inner fs.FS
}

// in returns the file system that a name is in, and the name there.
func (m mounted) in(name string) (fs.FS, string) {
	if name == m.at {
		return m.inner, "."
	}
	if rest, ok := strings.CutPrefix(name, m.at+"/"); ok {
		return m.inner, rest
	}
	return m.FS, name
}

// Open opens a file of either.
func (m mounted) Open(name string) (fs.File, error) {
	fsys, name := m.in(name)
	return fsys.Open(name)
}

// Stat says what is at a name of either.
func (m mounted) Stat(name string) (fs.FileInfo, error) { return fs.Stat(m.in(name)) }

// ReadDir lists a folder of either.
func (m mounted) ReadDir(name string) ([]fs.DirEntry, error) { return fs.ReadDir(m.in(name)) }

// Sub is one folder by itself.
func (m mounted) Sub(name string) (fs.FS, error) { return fs.Sub(m.in(name)) }
