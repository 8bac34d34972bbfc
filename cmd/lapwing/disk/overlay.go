package disk

import (
	"bytes"
	"io/fs"
	"path"
	"time"
)

// An Overlay is the disk with one file that is in memory, for a job that is written only
// when the work has ended.
type Overlay struct {
	disk
	Name string // on disk
	Data []byte
}

func (o Overlay) Open(name string) (fs.File, error) {
	if name != o.Name {
		return o.disk.Open(name)
	}
	return &laid{o: o, Reader: bytes.NewReader(o.Data)}, nil
}

func (o Overlay) Stat(name string) (fs.FileInfo, error) {
	if name != o.Name {
		return o.disk.Stat(name)
	}
	return laidInfo{o}, nil
}

// laid is the file in memory, open.
type laid struct {
	*bytes.Reader
	o Overlay
}

func (l *laid) Stat() (fs.FileInfo, error) { return laidInfo{l.o}, nil }
func (l *laid) Close() error               { return nil }

type laidInfo struct{ o Overlay }

func (i laidInfo) Name() string       { return path.Base(i.o.Name) }
func (i laidInfo) Size() int64        { return int64(len(i.o.Data)) }
func (i laidInfo) Mode() fs.FileMode  { return 0o444 }
func (i laidInfo) ModTime() time.Time { return time.Time{} }
func (i laidInfo) IsDir() bool        { return false }
func (i laidInfo) Sys() any           { return nil }
