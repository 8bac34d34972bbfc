package main

import (
	"bytes"
	"io/fs"
	"path"
	"time"
)

// An overlay is the disk with one file that is in memory, for a job that is written only
// when the work has ended.
type overlay struct {
	disk
	name string // on disk
	data []byte
}

func (o overlay) Open(name string) (fs.File, error) {
	if name != o.name {
		return o.disk.Open(name)
	}
	return &laid{o: o, Reader: bytes.NewReader(o.data)}, nil
}

func (o overlay) Stat(name string) (fs.FileInfo, error) {
	if name != o.name {
		return o.disk.Stat(name)
	}
	return laidInfo{o}, nil
}

// laid is the file in memory, open.
type laid struct {
	*bytes.Reader
	o overlay
}

func (l *laid) Stat() (fs.FileInfo, error) { return laidInfo{l.o}, nil }
func (l *laid) Close() error               { return nil }

type laidInfo struct{ o overlay }

func (i laidInfo) Name() string       { return path.Base(i.o.name) }
func (i laidInfo) Size() int64        { return int64(len(i.o.data)) }
func (i laidInfo) Mode() fs.FileMode  { return 0o444 }
func (i laidInfo) ModTime() time.Time { return time.Time{} }
func (i laidInfo) IsDir() bool        { return false }
func (i laidInfo) Sys() any           { return nil }
