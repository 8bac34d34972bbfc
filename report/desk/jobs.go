package desk

import (
	"fmt"
	"io/fs"
	"strings"

	"lapwing/coverage/job"
	"lapwing/report/desk/history"
	"lapwing/report/desk/jobfile"
	"lapwing/report/desk/pages"
)

// mostFiles bounds the files that may be dropped on a desk.
const mostFiles = 20_000

func cut(name string) (first, rest string, deeper bool) { return strings.Cut(name, "/") }

// isJob reports whether a name is one that the desk gives to jobs.
func isJob(name string) bool { return jobfile.IsYAML(name) && !strings.Contains(name, "/") }

// jobFiles lists the job files of the desk: those in it, and those that were dropped
// with their logs.
func (a *ask) jobFiles() (jobs []*jobfile.File, err error) {
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
		if jobfile.IsYAML(name) && e.Type().IsRegular() && job.LooksLikeJob(a.in, name) {
			jobs = append(jobs, a.jobFile(name))
		}
		return nil
	})
	return jobs, err
}

// jobFile reads what a job file says of its files.
func (a *ask) jobFile(name string) *jobfile.File {
	return jobfile.Read(a.in, name, a.book.Wrote[name])
}

// readText reads a job file or an implement file.
func (a *ask) readText(name string) ([]byte, error) { return jobfile.Text(a.in, name) }

// jobAt is the job of a name.
func (a *ask) jobAt(name string) (*jobfile.File, error) {
	if !fs.ValidPath(name) || !jobfile.IsYAML(name) || !job.LooksLikeJob(a.in, name) {
		return nil, wrong("found no job "+quoted(name), "the path of a job file")
	}
	if _, err := fs.Stat(a.store, name); err != nil {
		return nil, wrong("found no job "+quoted(name), "the path of a job file")
	}
	j := a.jobFile(name)
	return j, j.Err
}
