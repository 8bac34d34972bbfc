package main

import (
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"lapwing/coverage/job"
	"lapwing/geo/source"
)

// A job may lie in a zip archive, as a desk exports them, with all that it names:
// desk.zip/home.yaml. An archive is opened once, and stays open until the program ends.
var opened sync.Map // of *archive, by the path of the file

// An archive is a zip archive that was opened, or why not.
type archive struct {
	once sync.Once
	zip  *source.Zip
}

// packedAt is the archive that a name leads into, and the name in there; nil where it
// leads into none.
func packedAt(name string) (*source.Zip, string) {
	for dir := path.Dir(name); dir != "." && dir != "/"; dir = path.Dir(dir) {
		info, err := os.Stat(pathOf(dir))
		switch {
		case err != nil:
			continue
		case !info.Mode().IsRegular():
			return nil, ""
		}
		return openArchive(dir), strings.TrimPrefix(name, dir+"/")
	}
	return nil, ""
}

// openArchive opens the archive at a name on disk; nil where there is none.
func openArchive(name string) *source.Zip {
	kept, _ := opened.LoadOrStore(name, &archive{})
	a := kept.(*archive)
	a.once.Do(func() {
		if files := (source.Files{FS: disk{}}); files.IsZip(name) {
			a.zip, _ = files.OpenZip(name) // what cannot be opened holds nothing
		}
	})
	return a.zip
}

// jobsPacked lists the job files in an archive; none where it holds none, or is none.
func jobsPacked(at string) (paths []string) {
	name, err := nameOnDisk(at)
	if err != nil {
		return nil
	}
	z := openArchive(name)
	if z == nil {
		return nil
	}
	err = fs.WalkDir(z, ".", func(in string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		if p := filepath.Join(at, filepath.FromSlash(in)); isYAML(in) && !strings.HasPrefix(path.Base(in), ".") && job.LooksLikeJob(onDisk(nil), p) {
			paths = append(paths, p)
		}
		return nil
	})
	if err != nil {
		return nil
	}
	slices.Sort(paths)
	return paths
}
