//go:build !js

package book

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"lapwing/coverage/job"
)

// A File is a file of a job. Its name is a path from the folder of the job, with slashes.
type File struct {
	Name   string
	Path   string // where it lies on this computer
	Size   int64
	SHA256 string
}

// A Sought is a job as books know it.
type Sought struct {
	// Key is a hash of all that the answer depends on: the program, the question that is
	// asked of the job, the bytes of its files, and the names that the job has for them. It
	// does not depend on where the job lies, nor on when its files were written.
	Key      string
	Program  string
	Question string
	Files    []File // the job file first
}

// errUnkept is the error for a job that books cannot keep: a file that it names lies more
// folders out of its own than neutral names can say.
var errUnkept = errors.New("the paths of the job lead too far out of its folder")

// Seek returns the job of a record as books know it, for a program and the question that is
// asked of it. path and in are those that the record was made with.
func Seek(in job.Inputs, path string, r *Record, program, question string) (*Sought, error) {
	names := NamesOf(path)
	files, err := job.Files(names.Inputs(in), names.Path())
	if err != nil {
		return nil, err
	}
	if len(files) != len(r.Inputs) {
		return nil, fmt.Errorf("%s: found %d files, and %d a moment ago", path, len(files), len(r.Inputs))
	}
	s := &Sought{Program: program, Question: question}
	h := sha256.New()
	fmt.Fprintf(h, "lapwing/book-job/1\n%q\n%q\n", program, question)
	for i, file := range files {
		if !isNeutral(file) {
			return nil, errUnkept
		}
		file = filepath.ToSlash(file)
		fmt.Fprintf(h, "%q %s\n", file, r.Inputs[i].SHA256)
		name := filepath.Base(path)
		if i > 0 {
			name = nameInJob(file)
		}
		s.Files = append(s.Files, File{name, r.Inputs[i].Path, r.Inputs[i].Size, r.Inputs[i].SHA256})
	}
	s.Key = hex.EncodeToString(h.Sum(nil))
	return s, nil
}

// nameInJob is the neutral name of what a job names, as seen from the job's folder.
func nameInJob(file string) string {
	deep := strings.Count(file, neutral)
	if deep == 0 {
		return file // absolute
	}
	_, rest, _ := strings.Cut(file[strings.LastIndex(file, neutral):], "/")
	return strings.Repeat("../", steps-deep) + rest
}
