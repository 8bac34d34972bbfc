package job

import (
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"lapwing/coverage/job/spec"
)

// Files lists the files that a job is made of, each once: the job file, the
// implement files it names, its boundaries and its logs. It opens neither
// boundaries nor logs. What is wrong in the job file is an [*InputError].
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

// filesOf lists the files behind a path of a job: those of the folder for a
// task set that is not packed, else itself.
func (in Inputs) filesOf(path string) []string {
	ref := in.referenceOf(path)
	if !ref.isSet {
		return []string{path}
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
