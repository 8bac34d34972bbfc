package propose

import (
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

// unpackedName is the directory of what is copied out of archives.
const unpackedName = "files"

// unpacked is the directory of what is copied out of archives, in the season's.
func (s *Season) unpacked() string {
	if s.opt.Flat {
		return UnpackedFolder
	}
	return unpackedName
}

// A Copy is a file of an archive that a job names: it has to be written out.
type Copy struct {
	Name string // in the season's directory, with slashes
	Open func() (io.ReadCloser, error)
}

// unpack looks at what is in an archive. One that is a single task set or a
// single boundary is named as it is. Of any other the files get places below
// the season's directory, from where jobs name them, and those that are used are
// copied there.
func (s *Season) unpack(c candidate) looked {
	whole := s.look(c)
	z, err := s.in.OpenZip(c.path)
	if err != nil {
		if whole.err == nil && len(whole.finds) > 0 {
			return whole
		}
		if c.called {
			return looked{err: &job.InputError{File: c.path, Found: err.Error(), Want: "a zip archive that can be read"}}
		}
		return looked{left: []Left{{Path: c.path, Why: err.Error()}}}
	}
	s.open = append(s.open, z) // it is read until the season is written
	below := path.Join(s.unpacked(), slug(source.Stem(c.path)))
	for n := 2; s.mounted[below]; n++ {
		below = path.Join(s.unpacked(), fmt.Sprintf("%s-%d", slug(source.Stem(c.path)), n))
	}
	s.mounted[below] = true
	at := s.at(below)
	mounted := s.in
	mounted.Files = s.in.Mount(at, z.Reader)
	inner := &Season{in: mounted, opt: Options{Known: s.opt.Known}} // without a directory: the archive's place lies in it
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
	in := &packed{archive: c.path, at: at, below: below, files: z.Reader}
	s.archives = append(s.archives, in)
	for _, f := range out.finds {
		f.packed = in
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

// shown is a path as people know it: that of a file in an archive begins with the
// archive's.
func (s *Season) shown(p string) string {
	for _, a := range s.archives {
		p = within(a.archive, a.at, p)
	}
	return p
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
			stemOf(name) == stemOf(rel) && (slices.Contains(besideShapes, end) || slices.Contains(besideTables, end)):
			names = append(names, name)
		}
	}
	return names
}
