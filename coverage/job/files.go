package job

import (
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"lapwing/coverage/job/spec"
	"lapwing/geo/source"
)

// Files lists the files that a job is made of, each once: the job file, the
// implement files it names, its boundaries and its logs, and what belongs to those
// and stands beside them. It opens neither boundaries nor logs. What is wrong in the
// job file is an [*InputError].
func Files(in Inputs, path string) ([]string, error) {
	s, err := spec.Read(in.Files, path)
	if err != nil {
		return nil, in.noJob(path, err)
	}
	var files []string
	add := func(paths ...string) {
		for _, p := range paths {
			if !slices.Contains(files, p) {
				files = append(files, p)
			}
		}
	}
	add(s.Files...)
	for _, p := range append(slices.Clone(s.Boundary), tracksOf(s)...) {
		add(in.filesOf(p.Path)...)
	}
	return files, nil
}

// endingsBeside are the endings of the files that readers look for beside the one that a
// job names: the attributes of shapes, and in which coordinates shapes or a table are.
var endingsBeside = []string{".dbf", ".prj"}

// withBeside lists a file and those beside it that belong to it.
func (in Inputs) withBeside(path string) []string {
	files := []string{path}
	if path == source.Standard {
		return files
	}
	stem := strings.TrimSuffix(path, filepath.Ext(path))
	for _, ending := range endingsBeside {
		for _, name := range []string{stem + ending, stem + strings.ToUpper(ending)} {
			if info, err := in.Stat(name); err == nil && info.Mode().IsRegular() {
				files = append(files, name)
				break // a reader opens the first
			}
		}
	}
	return files
}

// filesOf lists the files behind a path of a job: those of the folder for a
// task set that is not packed, else itself and what stands beside it.
func (in Inputs) filesOf(path string) []string {
	ref := in.referenceOf(path)
	if !ref.isSet {
		return in.withBeside(path)
	}
	at := ref.path
	folder := at
	if info, err := in.Stat(at); err == nil && !info.IsDir() {
		if !strings.EqualFold(filepath.Ext(at), ".xml") {
			return []string{at}
		}
		folder = filepath.Dir(at)
	}
	var files []string
	fsys, name, err := in.In(folder)
	if err != nil {
		return []string{at}
	}
	err = fs.WalkDir(fsys, name, func(path string, d fs.DirEntry, err error) error {
		if err == nil && d.Type().IsRegular() {
			if name != "." {
				path = strings.TrimPrefix(path, name)
			}
			files = append(files, filepath.Join(folder, filepath.FromSlash(path)))
		}
		return err
	})
	if err != nil || len(files) == 0 {
		return []string{at}
	}
	return files
}

// LooksLikeJob reports whether a YAML file is meant as a job, as
// [spec.LooksLikeJob] does.
func LooksLikeJob(in Inputs, path string) bool { return spec.LooksLikeJob(in.Files, path) }
