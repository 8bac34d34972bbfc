package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"time"

	"lapwing/coverage/assess"
	"lapwing/coverage/job"
	"lapwing/coverage/quantity"
	"lapwing/report"
	fieldreport "lapwing/report/field"
	"lapwing/report/season"
)

// recordFile says what the files beside it were made of.
const recordFile = "record.json"

// A record is what the sheets of a job were made of.
type record struct {
	Generator string       `json:"generator"`
	Sheets    []sheetLine  `json:"sheets"`
	Program   string       `json:"program"` // hash of the program that made it
	Flags     string       `json:"flags"`
	Files     []recordLine `json:"files"` // the job file first
}

// A sheetLine is one sheet: the run its files carry, and where they are below
// the record, "" beside it. Only a job of several fields has several.
type sheetLine struct {
	Dir string `json:"dir"`
	Run string `json:"run"`
}

// A recordLine is one input as it was.
type recordLine struct {
	Path     string    `json:"path"`
	Size     int64     `json:"size"`
	Modified time.Time `json:"modified"`
	SHA256   string    `json:"sha256"`
}

// A sheetWriter assesses the fields of a season.
type sheetWriter struct {
	flags   *seasonFlags
	units   quantity.Units
	program string
}

// write makes the sheets of a job, or finds that they are as they should be.
func (w *sheetWriter) write(ctx context.Context, j seasonJob) (fresh bool, err error) {
	dir := filepath.Join(w.flags.out, sheetsDir, j.slug)
	before := readRecord(dir)
	now, err := w.record(j.path, before)
	if err == nil && !w.flags.fresh && before.same(now) {
		return false, nil
	}
	over := w.flags.Overrides
	over.ManyFields = true
	loaded, err := job.Load(onDisk(os.Stdin), j.path, over)
	if err != nil {
		return false, err
	}
	if now == nil { // it could not be looked at before, and now it was read
		if now, err = w.record(j.path, nil); err != nil {
			return false, err
		}
	}
	fields := loaded.Fields
	below := make([]string, len(fields)) // of several fields each has a directory below
	names := []string{recordFile}
	for i := range fields {
		if len(fields) > 1 {
			below[i] = strconv.Itoa(i + 1)
		}
		for _, name := range fieldreport.Files.Names() {
			names = append(names, path.Join(below[i], name))
		}
	}
	out, err := openOutput(dir, names...)
	if err != nil {
		return false, err
	}
	defer out.discard()
	for i, of := range fields {
		if ctx.Err() != nil {
			return false, ctx.Err()
		}
		a, err := assess.Do(loaded, of, assess.Options{Units: w.units, OffRates: true})
		if err != nil {
			return false, fmt.Errorf("%s: %w", j.path, err)
		}
		if err := w.sheet(ctx, out, a, below[i]); err != nil {
			return false, err
		}
		now.Sheets = append(now.Sheets, sheetLine{below[i], a.Run})
	}
	return true, write(ctx, out, []report.File{{Name: recordFile, Write: now.write}})
}

// sheet writes the assessment of one field, in a directory below out or in out
// itself. It gets its place with the record.
func (w *sheetWriter) sheet(ctx context.Context, out *output, a *assess.Assessment, below string) error {
	book, err := filepath.Rel(filepath.Join(out.dir, below), filepath.Join(w.flags.out, season.PageFile))
	if err != nil {
		return err
	}
	files := fieldreport.Files.Of(&fieldreport.Document{Assessment: a, Book: filepath.ToSlash(book)})
	for i := range files {
		files[i].Name = path.Join(below, files[i].Name)
	}
	return out.stage(ctx, files)
}

// record looks at what a job is made of. A file that has the size and the
// time it had before has its content too.
func (w *sheetWriter) record(path string, before *record) (*record, error) {
	files, err := job.Files(onDisk(nil), path)
	if err != nil {
		return nil, err
	}
	r := &record{Generator: mark, Program: w.program, Flags: fmt.Sprint(w.units, w.flags.Overrides)}
	for _, path := range files {
		if path == "-" {
			return nil, &job.InputError{File: files[0], Where: "tracks", Found: "standard input", Want: "logs in files: a season reads them again"}
		}
		info, err := os.Stat(path)
		if err != nil {
			return nil, err
		}
		line := recordLine{Path: path, Size: info.Size(), Modified: info.ModTime()}
		if old := before.line(path); old != nil && old.Size == line.Size && old.Modified.Equal(line.Modified) {
			line.SHA256 = old.SHA256
		} else if line.SHA256, err = hashFile(path); err != nil {
			return nil, err
		}
		r.Files = append(r.Files, line)
	}
	return r, nil
}

// line returns what a record says of a file, or nil.
func (r *record) line(path string) *recordLine {
	if r == nil {
		return nil
	}
	for i := range r.Files {
		if r.Files[i].Path == path {
			return &r.Files[i]
		}
	}
	return nil
}

// same reports whether a sheet made of r would be made the same now.
func (r *record) same(now *record) bool {
	if r == nil || r.Program != now.Program || r.Flags != now.Flags || len(r.Files) != len(now.Files) {
		return false
	}
	for i := range r.Files {
		if r.Files[i].Path != now.Files[i].Path || r.Files[i].SHA256 != now.Files[i].SHA256 {
			return false
		}
	}
	return true
}

func (r *record) write(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(r)
}

// readRecord reads the record of a directory; nil where the files beside it
// are not whole.
func readRecord(dir string) *record {
	data, err := os.ReadFile(filepath.Join(dir, recordFile))
	if err != nil {
		return nil
	}
	r := &record{}
	if json.Unmarshal(data, r) != nil || len(r.Sheets) == 0 {
		return nil
	}
	for _, sheet := range r.Sheets {
		for _, name := range fieldreport.Files.Names() {
			if sheet.Run == "" || !filepath.IsLocal(filepath.Join(".", sheet.Dir)) || !carries(filepath.Join(dir, sheet.Dir, name), sheet.Run) {
				return nil
			}
		}
	}
	return r
}

// carries reports whether a file of a sheet is of a run.
func carries(path, run string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	// The run stands near the beginning, or, on the page, at its foot.
	head := make([]byte, 4096)
	n, _ := io.ReadFull(f, head)
	if strings.Contains(string(head[:n]), run) {
		return true
	}
	info, err := f.Stat()
	if err != nil {
		return false
	}
	const foot = 1 << 16 // the page's script stands after it
	tail := make([]byte, min(info.Size(), foot))
	n, _ = f.ReadAt(tail, info.Size()-int64(len(tail)))
	return strings.Contains(string(tail[:n]), run)
}

func hashFile(path string) (string, error) {
	f, err := onDisk(nil).Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// programHash tells programs apart: another one may find something else in
// the same files.
var programHash = sync.OnceValue(func() string {
	path, err := os.Executable()
	if err != nil {
		return ""
	}
	hash, err := hashFile(path)
	if err != nil {
		return ""
	}
	return hash[:12]
})

// oneLine is the text of an error in one line.
func oneLine(err error) string { return strings.Join(strings.Fields(err.Error()), " ") }
