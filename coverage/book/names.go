//go:build !js

package book

import (
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"lapwing/coverage/job"
	"lapwing/geo/source"
)

// Names give the files of a job neutral names, which do not say where the job lies. An
// assessment made under neutral names is the same wherever the job lies; [Names.Real]
// then puts the real names into its texts.
//
// A path in a job file begins at the folder of the job, and may lead out of it. So the
// neutral folder of a job lies some steps deep. A file outside of it has fewer of these
// steps in its name, one for each folder further out:
//
//	jobs/north/job.yaml          N0/N1/.../N15/job
//	jobs/north/logs/day.csv      N0/N1/.../N15/logs/day.csv
//	jobs/boundaries/north.json   N0/N1/.../N14/boundaries/north.json
//
// An absolute path stays as it is. A field whose job gives it no name is called by the job
// file: by the neutral name of that file alone, without its folder.
type Names struct {
	path string // of the job file
	dir  string
}

// A step of a neutral name is neutral and a number, that of the job file neutral alone.
const (
	neutral = "job-5b0c7d93" // no file of a user is called this
	steps   = 16             // few jobs lie so many folders deep
)

var neutralName = regexp.MustCompile(neutral + `-0(?:[/\\]` + neutral + `-\d+)*(?:[/\\]` + neutral + `-job|[/\\])?|` + neutral + `-job`)

// NamesOf returns the names of the job file at a path and of what it names.
func NamesOf(path string) *Names { return &Names{path, filepath.Dir(path)} }

// Path is the neutral name of the job file.
func (n *Names) Path() string {
	var parts []string
	for i := range steps {
		parts = append(parts, fmt.Sprintf("%s-%d", neutral, i))
	}
	return filepath.Join(append(parts, neutral+"-job")...)
}

// Real returns a text with the real names of files for neutral ones.
func (n *Names) Real(text string) string {
	if !strings.Contains(text, neutral) {
		return text
	}
	return neutralName.ReplaceAllStringFunc(text, func(name string) string {
		if name == neutral+"-job" {
			return source.Stem(n.path)
		}
		if strings.HasSuffix(name, neutral+"-job") {
			return n.path
		}
		deep := strings.Count(name, neutral)
		dir := filepath.Join(append([]string{n.dir}, slices.Repeat([]string{".."}, steps-deep)...)...)
		switch last := name[len(name)-1]; {
		case last != '/' && last != '\\':
			return dir
		case dir == ".":
			return ""
		case strings.HasSuffix(dir, string(filepath.Separator)): // the root
			return dir
		}
		return dir + string(filepath.Separator)
	})
}

// Inputs are inputs that open a neutral name as the real one.
func (n *Names) Inputs(in job.Inputs) job.Inputs {
	out := in
	out.Files.Name = func(path string) (string, error) {
		_, name, err := in.In(n.Real(path))
		return name, err
	}
	out.Files.Called = func(path string) bool { return in.Called != nil && in.Called(n.Real(path)) }
	return out
}

// isNeutral reports whether a name means the same file wherever the job lies.
func isNeutral(name string) bool { return strings.HasPrefix(name, neutral) || filepath.IsAbs(name) }
