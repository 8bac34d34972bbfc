package propose

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"lapwing/coverage/job"
	"lapwing/geo/source"
)

// Bounds on an archive. What it holds is read where it is and written out only
// once, so it may be large; a bomb states sizes that no logs pack to.
const (
	mostPacked   = 2 << 30 // bytes
	bombSize     = 256 << 20
	bombRatio    = 200 // unpacked to packed bytes, past bombSize
	unpackedName = "files"
)

// A Copy is a file of an archive that a job names: it has to be written out.
type Copy struct {
	Name string // in the season's directory, with slashes
	Open func() (io.ReadCloser, error)
}

// isArchive reports whether a path leads to a zip archive.
func isArchive(in job.Inputs, p string) bool {
	info, err := in.Stat(p)
	if err != nil || !info.Mode().IsRegular() {
		return false
	}
	f, err := in.Open(p)
	if err != nil {
		return false
	}
	defer f.Close()
	head := make([]byte, 4)
	n, _ := io.ReadFull(f, head)
	return string(head[:n]) == "PK\x03\x04" || string(head[:n]) == "PK\x05\x06"
}

// unpack looks at what is in an archive. One that is a single task set or a
// single boundary is named as it is. Of any other the files get places below
// the season's directory, from where jobs name them, and those that are used are
// copied there.
func (s *Season) unpack(c candidate) looked {
	whole := s.look(c)
	z, closing, err := openZip(s.in, c.path)
	if err != nil {
		if whole.err == nil && len(whole.finds) > 0 {
			return whole
		}
		if c.called {
			return looked{err: &job.InputError{File: c.path, Found: err.Error(), Want: "a zip archive that can be read"}}
		}
		return looked{left: []Left{{Path: c.path, Why: err.Error()}}}
	}
	s.open = append(s.open, closing) // it is read until the season is written
	below := path.Join(unpackedName, slug(source.Stem(c.path)))
	for n := 2; s.mounted(below); n++ {
		below = path.Join(unpackedName, fmt.Sprintf("%s-%d", slug(source.Stem(c.path)), n))
	}
	at := s.at(below)
	mounted := s.in
	mounted.FS = layered{s.in.FS, mount{s.in.Abs(at), z}}
	inner := &Season{in: mounted} // without a directory: the archive's place lies in it
	files, err := inner.walk(at)
	if err != nil {
		return looked{err: err}
	}
	var out looked
	for _, f := range files {
		l := inner.look(f)
		out.finds, out.left = append(out.finds, l.finds...), append(out.left, l.left...)
	}
	out.left = append(out.left, inner.Left...)
	for i := range out.left {
		out.left[i].Path = within(c.path, at, out.left[i].Path)
	}
	switch {
	case len(out.finds) <= 1 && whole.err == nil && len(whole.finds) == 1:
		return whole
	case len(out.finds) == 0 && c.called && whole.err != nil:
		return looked{err: whole.err}
	case len(out.finds) == 0 && slices.ContainsFunc(out.left, func(l Left) bool { return !l.Other }):
		return looked{left: out.left}
	case len(out.finds) == 0:
		return looked{left: whole.left}
	}
	s.in = mounted
	for _, f := range out.finds {
		f.packed = &packed{archive: c.path, at: at, below: below, files: z}
	}
	return out
}

// packed says in which archive a find is.
type packed struct {
	archive   string // its path
	at, below string // where its files get their places: as a path, and in the season's directory
	files     fs.FS
}

// within names a file of an archive by the archive's path.
func within(archive, at, p string) string {
	if rest, ok := strings.CutPrefix(p, at); ok {
		return archive + filepath.ToSlash(rest)
	}
	return p
}

// mounted reports whether a name in the season's directory is taken by an archive.
func (s *Season) mounted(below string) bool {
	l, ok := s.in.FS.(layered)
	for ok && l.at != s.in.Abs(s.at(below)) {
		l, ok = l.FS.(layered)
	}
	return ok
}

// copies lists the files of archives that the proposals name.
func (s *Season) copies() {
	named := map[string]bool{}
	for _, p := range s.Proposals {
		for _, f := range p.finds() {
			if f.packed == nil {
				continue
			}
			for _, name := range f.packedFiles() {
				out := path.Join(f.packed.below, name)
				if !named[out] {
					named[out] = true
					files := f.packed.files
					s.Copies = append(s.Copies, Copy{Name: out, Open: func() (io.ReadCloser, error) { return files.Open(name) }})
				}
			}
		}
	}
}

// packedFiles lists the files that a find is made of, by their names in the archive.
func (f *Find) packedFiles() (names []string) {
	rel := strings.Trim(filepath.ToSlash(strings.TrimPrefix(f.Path, f.packed.at)), "/")
	if rel == "" {
		rel = "."
	}
	info, err := fs.Stat(f.packed.files, rel)
	if err != nil {
		return nil
	}
	dir, all := rel, info.IsDir()
	if !all {
		dir = path.Dir(rel)
	}
	entries, err := fs.ReadDir(f.packed.files, dir)
	if err != nil {
		return nil
	}
	for _, e := range entries {
		name := path.Join(dir, e.Name())
		end := strings.ToLower(path.Ext(name))
		switch {
		case e.IsDir():
		case name == rel, all && (end == ".xml" || end == ".bin"),
			strings.EqualFold(path.Base(rel), "taskdata.xml") && (end == ".xml" || end == ".bin"),
			stemOf(name) == stemOf(rel) && slices.Contains(besideShapes, end):
			names = append(names, name)
		}
	}
	return names
}

// openZip opens an archive. It is read from its file where that can be read
// anywhere, else from memory.
func openZip(in job.Inputs, p string) (*zip.Reader, io.Closer, error) {
	f, err := in.Open(p)
	if err != nil {
		return nil, nil, err
	}
	var size int64
	r, ok := f.(io.ReaderAt)
	if info, err := in.Stat(p); ok && err == nil {
		size = info.Size()
	} else {
		data, err := io.ReadAll(io.LimitReader(f, mostPacked+1))
		if err != nil {
			f.Close()
			return nil, nil, err
		}
		r, size = bytes.NewReader(data), int64(len(data))
	}
	z, err := zip.NewReader(r, size)
	switch {
	case size > mostPacked:
		err = fmt.Errorf("more than %d MiB", mostPacked>>20)
	case err != nil:
		err = errors.New("a damaged zip archive")
	default:
		err = bomb(z, size)
	}
	if err != nil {
		f.Close()
		return nil, nil, err
	}
	return z, f, nil
}

// bomb returns the error for an archive that unpacks to what no logs do. Sizes
// that an archive states hold: package zip gives no file more bytes than its own.
func bomb(z *zip.Reader, size int64) error {
	left := uint64(max(bombSize, bombRatio*size))
	for _, f := range z.File {
		if f.UncompressedSize64 > left {
			return errors.New("an archive that unpacks to too much")
		}
		left -= f.UncompressedSize64
	}
	return nil
}

// A mount is a file system at a name in another.
type mount struct {
	at string
	fs fs.FS
}

// A layered file system has an archive at one of its names.
type layered struct {
	fs.FS
	mount
}

// inner returns the name in the archive of a name below its place.
func (l layered) inner(name string) (string, bool) {
	if name == l.at {
		return ".", true
	}
	rest, ok := strings.CutPrefix(name, l.at+"/")
	return rest, ok
}

func (l layered) Open(name string) (fs.File, error) {
	if inner, ok := l.inner(name); ok {
		return l.fs.Open(inner)
	}
	return l.FS.Open(name)
}

func (l layered) Stat(name string) (fs.FileInfo, error) {
	if inner, ok := l.inner(name); ok {
		return fs.Stat(l.fs, inner)
	}
	return fs.Stat(l.FS, name)
}

func (l layered) ReadDir(name string) ([]fs.DirEntry, error) {
	if inner, ok := l.inner(name); ok {
		return fs.ReadDir(l.fs, inner)
	}
	return fs.ReadDir(l.FS, name)
}

// Sub is one folder by itself.
func (l layered) Sub(name string) (fs.FS, error) {
	if inner, ok := l.inner(name); ok {
		return fs.Sub(l.fs, inner)
	}
	return fs.Sub(l.FS, name)
}
