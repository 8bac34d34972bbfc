package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"strconv"
	"strings"
	"sync"

	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/jobfiles"
	"lapwing/cmd/lapwing/output"
	"lapwing/coverage/assess"
	"lapwing/coverage/book"
	"lapwing/coverage/job"
	"lapwing/coverage/quantity"
	"lapwing/report"
	fieldreport "lapwing/report/field"
	"lapwing/report/mend"
	"lapwing/report/season"
)

// An entryWriter assesses the fields of a season.
type entryWriter struct {
	flags   *seasonFlags
	units   quantity.Units
	program string
}

// write makes the entries of a job, or finds that they are as they should be.
func (w *entryWriter) write(ctx context.Context, j jobfiles.Job) (fresh bool, err error) {
	dir := filepath.Join(w.flags.out, entriesDir, j.Slug)
	before := readRecord(dir)
	now, err := w.look(j.Path, before)
	if err == nil && !w.flags.fresh && before.Same(now) {
		return false, nil
	}
	over := w.flags.Overrides
	over.ManyFields = true
	loaded, err := job.Load(disk.Inputs(os.Stdin), j.Path, over)
	if err != nil {
		return false, err
	}
	if now == nil { // it could not be looked at before, and now it was read
		if now, err = w.look(j.Path, nil); err != nil {
			return false, err
		}
	}
	works := loaded.Works()
	below := make([]string, len(works)) // of several fields and operations each has a directory below
	names := []string{book.RecordFile}
	for i := range works {
		if len(works) > 1 {
			below[i] = strconv.Itoa(i + 1)
		}
		for _, name := range entryFiles() {
			names = append(names, path.Join(below[i], name))
		}
	}
	out, err := output.Open(dir, names...)
	if err != nil {
		return false, err
	}
	defer out.Discard()
	for i, one := range works {
		if ctx.Err() != nil {
			return false, ctx.Err()
		}
		a, err := assess.Do(one, one.Fields[0], assess.Options{
			Units: w.units, OffRates: true,
			Mend: &assess.MendQuestion{Machine: -1, GoingBack: one.GoingBack},
		})
		if err != nil {
			return false, fmt.Errorf("%s: %w", j.Path, err)
		}
		sketch, err := w.entry(ctx, out, a, below[i])
		if err != nil {
			return false, err
		}
		now.Entries = append(now.Entries, book.Entry{Dir: below[i], Run: a.Run, Sketch: sketch})
	}
	return true, output.Write(ctx, out, []report.File{{Name: book.RecordFile, Write: now.Write}})
}

// entry writes the assessment of one field, in a directory below out or in out
// itself. It gets its place with the record, which keeps the sketch of it.
func (w *entryWriter) entry(ctx context.Context, out *output.Dir, a *assess.Assessment, below string) (sketch json.RawMessage, err error) {
	index, err := filepath.Rel(out.Path(below), filepath.Join(w.flags.out, season.PageFile))
	if err != nil {
		return nil, err
	}
	d := &fieldreport.Document{Assessment: a, Book: filepath.ToSlash(index), Mend: mend.PageFile}
	plan := &mend.Document{Assessment: a, Book: d.Book, Field: fieldreport.PageFile}
	files := append(fieldreport.Files.Of(d), mend.Files.Of(plan)...)
	for i := range files {
		files[i].Name = path.Join(below, files[i].Name)
	}
	if err := out.Stage(ctx, files); err != nil {
		return nil, err
	}
	drawn, err := draw(out.Staged(path.Join(below, fieldreport.GeoJSONFile)))
	if err != nil {
		return nil, err
	}
	drawn.Note(a, d.Leaf(), mend.PageFile, plan.Says())
	return json.Marshal(drawn)
}

// look says what a job is made of now.
func (w *entryWriter) look(path string, before *book.Record) (*book.Record, error) {
	return book.Look(disk.Inputs(nil), path, w.program, fmt.Sprint(w.units, w.flags.Overrides), before)
}

// readRecord reads the record of a job's entries; nil where the files beside it are
// not whole.
func readRecord(dir string) *book.Record {
	return book.Read(os.DirFS(dir), entryFiles())
}

// entryFiles are the names of the files of an entry: its page and its mend plan.
func entryFiles() []string {
	return append(fieldreport.Files.Names(), mend.Files.Names()...)
}

// programHash tells programs apart: another one may find something else in
// the same files.
var programHash = sync.OnceValue(func() string {
	path, err := os.Executable()
	if err != nil {
		return ""
	}
	f, err := os.Open(path)
	if err != nil {
		return ""
	}
	defer f.Close()
	hash, err := book.Hash(f)
	if err != nil {
		return ""
	}
	return hash[:12]
})

// oneLine is the text of an error in one line.
func oneLine(err error) string { return strings.Join(strings.Fields(err.Error()), " ") }
