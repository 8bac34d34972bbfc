package book

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"path"
	"path/filepath"
	"strings"
	"time"

	"lapwing/coverage/job"
	"lapwing/geo/source"
)

// RecordFile is the name of a record.
const RecordFile = "record.json"

// generator is in every record.
const generator = "lapwing"

// A Record says of what the files in a directory were made: which job and inputs, by which
// program.
type Record struct {
	Generator string  `json:"generator"`
	Entries   []Entry `json:"sheets"`
	Program   string  `json:"program"` // hash of the program that made them
	Flags     string  `json:"flags"`
	Inputs    []Input `json:"files"` // the job file first
}

// An Entry is one field: the run that its files carry, and the folder below the
// record that they are in, "" for beside it. Only a job of several fields has
// several.
type Entry struct {
	Dir string `json:"dir"`
	Run string `json:"run"`
	// Sketch is what the command that made the files needs again, so that it need not read
	// all of them; nil where it was not kept.
	Sketch json.RawMessage `json:"sketch,omitempty"`
}

// An Input is one file that was read, as it was.
type Input struct {
	Path     string    `json:"path"`
	Size     int64     `json:"size"`
	Modified time.Time `json:"modified"`
	SHA256   string    `json:"sha256"`
}

// Look returns the record of the job file at path as it would be now, for a program and
// flags, without entries. A file that has the size and the time that before, which may be
// nil, says of it is not read again: its hash is taken from there. What is wrong with the
// job is a [*job.InputError].
func Look(in job.Inputs, path, program, flags string, before *Record) (*Record, error) {
	files, err := job.Files(in, path)
	if err != nil {
		return nil, err
	}
	r := &Record{Generator: generator, Program: program, Flags: flags}
	for _, file := range files {
		if file == source.Standard {
			return nil, &job.InputError{File: files[0], Where: "tracks", Found: "standard input", Want: "logs in files: a season reads them again"}
		}
		info, err := in.Stat(file)
		if err != nil {
			return nil, err
		}
		now := Input{Path: file, Size: info.Size(), Modified: info.ModTime()}
		if old := before.input(file); old != nil && old.Size == now.Size && old.Modified.Equal(now.Modified) {
			now.SHA256 = old.SHA256
		} else if now.SHA256, err = hashOf(in.Files, file); err != nil {
			return nil, err
		}
		r.Inputs = append(r.Inputs, now)
	}
	return r, nil
}

// Hash is the SHA-256 of what a reader gives, in hexadecimal digits.
func Hash(r io.Reader) (string, error) {
	h := sha256.New()
	if _, err := io.Copy(h, r); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

func hashOf(files source.Files, path string) (string, error) {
	f, err := files.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	return Hash(f)
}

// input returns the input of a record at a path; nil where the record has none there.
func (r *Record) input(path string) *Input {
	if r == nil {
		return nil
	}
	for i := range r.Inputs {
		if r.Inputs[i].Path == path {
			return &r.Inputs[i]
		}
	}
	return nil
}

// untouched reports whether all files have the size and the time that they had.
func (r *Record) untouched(in job.Inputs) bool {
	for _, f := range r.Inputs {
		info, err := in.Stat(f.Path)
		if err != nil || info.Size() != f.Size || !info.ModTime().Equal(f.Modified) {
			return false
		}
	}
	return true
}

// Same reports whether the files of r would be made the same now. It is false for a nil
// record.
func (r *Record) Same(now *Record) bool {
	if r == nil {
		return false
	}
	var before, after bytes.Buffer
	r.WriteSource(&before)
	now.WriteSource(&after)
	return bytes.Equal(before.Bytes(), after.Bytes())
}

// WriteSource writes the program and the inputs of a record as text. Files whose records have
// the same text were made of the same inputs by the same program.
func (r *Record) WriteSource(w io.Writer) {
	fmt.Fprintf(w, "%q %q\n", r.Program, r.Flags)
	for _, in := range r.Inputs {
		fmt.Fprintf(w, "%q %s\n", in.Path, in.SHA256)
	}
}

// Write writes the record as JSON.
func (r *Record) Write(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(r)
}

// Read reads the record of a folder whose entries have files of these names. It is
// nil where there is none, and where a file is not there or of another run.
func Read(folder fs.FS, names []string) *Record {
	data, err := fs.ReadFile(folder, RecordFile)
	if err != nil {
		return nil
	}
	r := &Record{}
	if json.Unmarshal(data, r) != nil || len(r.Entries) == 0 {
		return nil
	}
	for _, e := range r.Entries {
		if e.Run == "" || !filepath.IsLocal(path.Join(".", e.Dir)) {
			return nil
		}
		for _, name := range names {
			if !carries(folder, path.Join(e.Dir, name), e.Run) {
				return nil
			}
		}
	}
	return r
}

// carries reports whether a file was made by a run. The id of the run stands near the
// beginning of a file or, on a page, before the script at its foot.
func carries(folder fs.FS, name, run string) bool {
	const head, foot = 1 << 12, 1 << 16
	f, err := folder.Open(name)
	if err != nil {
		return false
	}
	defer f.Close()
	begin := make([]byte, head)
	n, err := io.ReadFull(f, begin)
	if strings.Contains(string(begin[:n]), run) {
		return true
	}
	if err != nil { // the file is no longer than head
		return false
	}
	info, err := f.Stat()
	if err != nil {
		return false
	}
	if s, ok := f.(io.Seeker); ok {
		if _, err := s.Seek(max(head-int64(len(run)), info.Size()-foot), io.SeekStart); err != nil {
			return false
		}
	}
	rest, err := io.ReadAll(f)
	return err == nil && strings.Contains(string(rest), run)
}
