// Package entries keeps the entries of a season: the page and the mend plan of each field,
// in files that are made again only when those of its job, or the program, have changed.
package entries

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"strconv"

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

// Folder is the directory of a season's entries, in that of its book; each job has one of
// its own in it.
const Folder = "fields"

// A Writer assesses the fields of a season, and writes for each an entry: its page and
// the plan that mends its skips.
type Writer struct {
	Out       string // the directory of the book
	Overrides job.Overrides
	Fresh     bool // do all again, also those whose files have not changed
	Units     quantity.Units
	Program   string // tells programs apart, see [book.Look]
}

// Write makes the entries of a job, or finds that they are as they should be: then they
// are not fresh. What is wrong with the job is an error of the input.
func (w *Writer) Write(ctx context.Context, j jobfiles.Job) (fresh bool, err error) {
	dir := filepath.Join(w.Out, Folder, j.Slug)
	before := readRecord(dir)
	now, err := w.look(j.Path, before)
	if err == nil && !w.Fresh && before.Same(now) {
		return false, nil
	}
	over := w.Overrides
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
			Units: w.Units, OffRates: true,
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
func (w *Writer) entry(ctx context.Context, out *output.Dir, a *assess.Assessment, below string) (sketch json.RawMessage, err error) {
	index, err := filepath.Rel(out.Path(below), filepath.Join(w.Out, season.PageFile))
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
func (w *Writer) look(path string, before *book.Record) (*book.Record, error) {
	return book.Look(disk.Inputs(nil), path, w.Program, fmt.Sprint(w.Units, w.Overrides), before)
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

// Read reads the entries of a job back from their files in the directory of the book, and
// their record.
func Read(dir string, j jobfiles.Job) (rec *book.Record, entries []*season.Entry, err error) {
	rec = readRecord(filepath.Join(dir, Folder, j.Slug))
	if rec == nil {
		return nil, nil, fmt.Errorf("%s: its page has gone since it was written", j.Path)
	}
	for _, line := range rec.Entries {
		entry, err := readEntry(dir, path.Join(Folder, j.Slug, line.Dir), j.Path, line.Sketch)
		if err != nil {
			return nil, nil, err
		}
		entries = append(entries, entry)
	}
	return rec, entries, nil
}

// readEntry reads one entry of a job; its place has slashes. The sketch is the
// one that was kept; where it is none it is drawn anew.
func readEntry(dir, place, job string, kept json.RawMessage) (*season.Entry, error) {
	at := filepath.Join(dir, filepath.FromSlash(place))
	sketch := &season.Sketch{}
	if kept == nil || json.Unmarshal(kept, sketch) != nil {
		var err error
		if sketch, err = draw(filepath.Join(at, fieldreport.GeoJSONFile)); err != nil {
			return nil, fmt.Errorf("%s/%s: %w", place, fieldreport.GeoJSONFile, err)
		}
	}
	summary, err := os.Open(filepath.Join(at, fieldreport.SummaryFile))
	if err != nil {
		return nil, err
	}
	defer summary.Close()
	return season.ReadEntry(job, place, summary, sketch)
}

// draw draws the coverage.geojson at a path.
func draw(path string) (*season.Sketch, error) {
	shapes, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer shapes.Close()
	return season.Draw(shapes)
}
