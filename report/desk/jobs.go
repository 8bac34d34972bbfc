package desk

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"path/filepath"
	"strconv"
	"strings"

	"lapwing/coverage/job"
	"lapwing/coverage/job/edit"
	"lapwing/report/desk/history"
	"lapwing/report/desk/pages"
)

// A jobFile is a job file of the desk, as far as it says which files it is of.
type jobFile struct {
	path     string
	text     *edit.File // nil where it cannot be read
	err      error
	byDesk   bool // it is as the desk wrote it
	field    string
	ground   []string // its boundary files, as names in the store; none for the worked ground
	machines []jobMachine
}

// A jobMachine is a machine of a job.
type jobMachine struct {
	name   string
	file   string // its implement file, as a name in the store; "" where the implement stands in the job
	tracks []string
}

// Bounds of a desk: files that may be dropped, and bytes of a job file.
const (
	mostFiles   = 20_000
	mostJobText = 1 << 20
)

func cut(name string) (first, rest string, deeper bool) { return strings.Cut(name, "/") }

func isYAML(name string) bool {
	end := strings.ToLower(path.Ext(name))
	return end == ".yaml" || end == ".yml"
}

// isJob reports whether a name is one that the desk gives to jobs.
func isJob(name string) bool { return isYAML(name) && !strings.Contains(name, "/") }

// jobFiles lists the job files of the desk: those in it, and those that were dropped
// with their logs.
func (a *ask) jobFiles() (jobs []*jobFile, err error) {
	count := 0
	err = fs.WalkDir(a.in.FS, ".", func(name string, e fs.DirEntry, err error) error {
		switch {
		case a.ctx.Err() != nil:
			return a.ctx.Err()
		case err != nil && name == ".":
			return err
		case err != nil:
			return nil // the intake says so of a file that was dropped
		case e.IsDir() && (name == pages.Dir || name == history.Folder || name == machinesDir || name == boundariesDir || name != "." && strings.HasPrefix(e.Name(), ".")):
			return fs.SkipDir
		}
		if count++; count > 3*mostFiles { // with those that were unpacked
			return &job.InputError{Found: fmt.Sprintf("more than %d files", 3*mostFiles), Want: "the files of some seasons"}
		}
		if isYAML(name) && e.Type().IsRegular() && job.LooksLikeJob(a.in, name) {
			jobs = append(jobs, a.jobFile(name))
		}
		return nil
	})
	return jobs, err
}

// jobFile reads what a job file says of its files.
func (a *ask) jobFile(name string) *jobFile {
	j := &jobFile{path: name}
	text, err := a.readText(name)
	if err == nil {
		j.byDesk = a.book.Wrote[name] == hashOf(text)
		j.text, err = edit.Parse(text)
	}
	if err != nil {
		j.err = &job.InputError{File: name, Found: err.Error(), Want: "a job file"}
		return j
	}
	at := func(p string) string { return within(name, p) }
	j.field = j.text.Value("field")
	for _, b := range j.text.List("boundary") {
		if b != "" && b != "worked" {
			j.ground = append(j.ground, at(b))
		}
	}
	for i := range j.text.Len("machines") {
		key := "machines." + strconv.Itoa(i)
		m := jobMachine{name: j.text.Value(key + ".name")}
		if p := j.text.Value(key + ".implement"); p != "" {
			m.file = at(p)
		}
		list := key + ".tracks"
		for k, one := range j.text.List(list) {
			if one == "" {
				one = j.text.Value(list + "." + strconv.Itoa(k) + ".log")
			}
			m.tracks = append(m.tracks, at(one))
		}
		j.machines = append(j.machines, m)
	}
	return j
}

// within is the name in the store of a path that a job has; one that leads out stays as
// it is, and nothing opens it.
func within(jobPath, p string) string {
	if filepath.IsAbs(p) || path.IsAbs(p) {
		return p
	}
	return path.Join(path.Dir(jobPath), filepath.ToSlash(p))
}

// readText reads a job file or an implement file.
func (a *ask) readText(name string) ([]byte, error) {
	f, err := a.in.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, mostJobText+1))
	if err == nil && len(text) > mostJobText {
		err = errors.New("over 1 MiB")
	}
	return text, err
}

// tracks are all tracks of a job.
func (j *jobFile) tracks() (all []string) {
	for _, m := range j.machines {
		all = append(all, m.tracks...)
	}
	return all
}

// jobAt is the job of a name.
func (a *ask) jobAt(name string) (*jobFile, error) {
	if !fs.ValidPath(name) || !isYAML(name) || !job.LooksLikeJob(a.in, name) {
		return nil, wrong("found no job "+quoted(name), "the path of a job file")
	}
	if _, err := fs.Stat(a.store, name); err != nil {
		return nil, wrong("found no job "+quoted(name), "the path of a job file")
	}
	j := a.jobFile(name)
	return j, j.err
}
