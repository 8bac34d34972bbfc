package main

import (
	"archive/tar"
	"archive/zip"
	"compress/gzip"
	"embed"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// beside are the files that a double click opens the desk by.
//
//go:embed beside
var beside embed.FS

// opener is which of them goes to a system. On Windows the program itself is opened.
var opener = map[string]string{"darwin": "lapwing.command", "linux": "lapwing.desktop"}

// A file is one of an archive.
type file struct {
	name string
	mode fs.FileMode
	data []byte
}

// content is what an archive has, in the order of names.
func content(t target, binary string) ([]file, error) {
	var files []file
	add := func(name string, mode fs.FileMode, read func() ([]byte, error)) error {
		data, err := read()
		files = append(files, file{name, mode, data})
		return err
	}
	onDisk := func(path string) func() ([]byte, error) {
		return func() ([]byte, error) { return os.ReadFile(path) }
	}
	err := errors.Join(
		add("LICENSE", 0o644, onDisk("LICENSE")),
		add("README.md", 0o644, onDisk("README.md")),
		add(filepath.Base(binary), 0o755, onDisk(binary)),
	)
	if name := opener[t.system]; name != "" {
		err = errors.Join(err, add(name, 0o755, func() ([]byte, error) { return beside.ReadFile("beside/" + name) }))
	}
	return files, err
}

// packTar writes files in a folder as an archive for systems that know who may run
// what.
func packTar(w io.Writer, folder string, files []file, at time.Time) error {
	z, err := gzip.NewWriterLevel(w, gzip.BestCompression)
	if err != nil {
		return err
	}
	t := tar.NewWriter(z)
	for _, f := range files {
		head := &tar.Header{Typeflag: tar.TypeReg, Name: folder + "/" + f.name, Mode: int64(f.mode), Size: int64(len(f.data)), ModTime: at, Format: tar.FormatUSTAR}
		if err := t.WriteHeader(head); err != nil {
			return err
		}
		if _, err := t.Write(f.data); err != nil {
			return err
		}
	}
	return errors.Join(t.Close(), z.Close())
}

// packZip writes files in a folder as an archive that Windows opens.
func packZip(w io.Writer, folder string, files []file, at time.Time) error {
	z := zip.NewWriter(w)
	for _, f := range files {
		head := &zip.FileHeader{Name: folder + "/" + f.name, Method: zip.Deflate, Modified: at}
		head.SetMode(f.mode)
		in, err := z.CreateHeader(head)
		if err != nil {
			return err
		}
		if _, err := in.Write(f.data); err != nil {
			return err
		}
	}
	return z.Close()
}
