// Package entries keeps the entries of a season: the page and the mend plan of each field,
// in files that are made again only when those of its job, or the program, have changed.
// From these files it binds the season's book.
package entries

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"strconv"
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

// Folder is the directory of a season's entries, in that of its book; each job has one of
// its own in it.
const Folder = "fields"

// A Writer assesses the fields of a season, and writes for each an entry: its page and
// the plan that mends its skips.
type Writer struct {
	Out       string // the directory of the season book
	Overrides job.Overrides
	Fresh     bool // do all again, also those whose files have not changed
	Units     quantity.Units
	Program   string       // tells programs apart, see [book.Look]
	Book      *book.Keeper // has assessments from other directories, and gets those made here; nil for none
	// Wait, where it is set, returns when workers have done with the job at a path, which
	// then is in the book or is measured here; an error says that it cannot be measured.
	Wait func(ctx context.Context, path string) error

	mu     sync.Mutex
	before map[string][]byte // of what the entries of a job were made that it had, by its path
}

// Question is what a season asks of each job, for a book that keeps the answers.
func Question(units quantity.Units, over job.Overrides) string {
	return book.Ask(book.Season, units, over).String()
}

func (w *Writer) question() book.Question { return book.Ask(book.Season, w.Units, w.Overrides) }

// Write makes the entries of a job, or finds that they are as they should be. What is
// wrong with the job is an error of the input.
func (w *Writer) Write(ctx context.Context, j jobfiles.Job) (how jobfiles.How, err error) {
	before := readRecord(filepath.Join(w.Out, Folder, j.Slug))
	w.remember(j, before)
	now, err := w.look(j.Path, before)
	if err == nil && !w.Fresh && before.Same(now) {
		if stands, err := w.Book.Stands(ctx, j.Path, now); err != nil || stands {
			return jobfiles.Kept, err
		}
	}
	made := &making{w: w, job: j, now: now}
	defer made.discard()
	if err == nil && w.Book != nil {
		if w.Wait != nil {
			if err := w.Wait(ctx, j.Path); err != nil {
				return jobfiles.Measured, err
			}
		}
		found, taken, err := w.Book.Assess(ctx, j.Path, now, func(in job.Inputs, path string) ([]*assess.Assessment, error) {
			return w.question().Assess(ctx, in, path, nil)
		})
		if err != nil {
			return jobfiles.Measured, err
		}
		if taken {
			how = jobfiles.Taken
		}
		if err := made.begin(len(found)); err != nil {
			return how, err
		}
		for i, a := range found {
			if err := made.add(ctx, i, a); err != nil {
				return how, err
			}
		}
		return how, made.finish(ctx)
	}
	err = w.question().Each(ctx, disk.Inputs(os.Stdin), j.Path, nil, made.begin, func(i int, a *assess.Assessment) error { return made.add(ctx, i, a) })
	if err != nil {
		return jobfiles.Measured, err
	}
	return jobfiles.Measured, made.finish(ctx)
}

// remember keeps of what the entries of a job were made before, for [Writer.Bind].
func (w *Writer) remember(j jobfiles.Job, before *book.Record) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.before == nil {
		w.before = map[string][]byte{}
	}
	w.before[j.Path] = sourceOf(before)
}

// Offer returns a job for others to measure, whose files are in the book from then on;
// nil where that need not be, and where the job cannot even be looked at, of which
// Write says why.
func (w *Writer) Offer(ctx context.Context, j jobfiles.Job) (*book.Sought, error) {
	before := readRecord(filepath.Join(w.Out, Folder, j.Slug))
	now, err := w.look(j.Path, before)
	if err != nil {
		return nil, ctx.Err()
	}
	return w.Book.Offer(ctx, j.Path, now)
}

// A making is the entries of one job being written.
type making struct {
	w     *Writer
	job   jobfiles.Job
	now   *book.Record // nil where the job could not be looked at before it was read
	below []string     // the directory of each part; "" for that of the job
	out   *output.Dir
}

// begin opens the directory for so many parts. Of several fields and operations each has
// a directory below.
func (m *making) begin(parts int) (err error) {
	if m.now == nil {
		if m.now, err = m.w.look(m.job.Path, nil); err != nil {
			return err
		}
	}
	m.below = make([]string, parts)
	names := []string{book.RecordFile}
	for i := range m.below {
		if parts > 1 {
			m.below[i] = strconv.Itoa(i + 1)
		}
		for _, name := range entryFiles() {
			names = append(names, path.Join(m.below[i], name))
		}
	}
	m.out, err = output.Open(filepath.Join(m.w.Out, Folder, m.job.Slug), names...)
	return err
}

// add writes the entry of a part.
func (m *making) add(ctx context.Context, i int, a *assess.Assessment) error {
	sketch, err := m.w.entry(ctx, m.out, a, m.below[i])
	if err != nil {
		return err
	}
	m.now.Entries = append(m.now.Entries, book.Entry{Dir: m.below[i], Run: a.Run, Sketch: sketch})
	return nil
}

// finish gives all entries their places, with the record.
func (m *making) finish(ctx context.Context) error {
	return output.Write(ctx, m.out, []report.File{{Name: book.RecordFile, Write: m.now.Write}})
}

// discard takes away what got no place.
func (m *making) discard() {
	if m.out != nil {
		m.out.Discard()
	}
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

// readJob reads the entries of a job back from their files in the directory of the book, and
// their record.
func readJob(dir string, j jobfiles.Job) (rec *book.Record, entries []*season.Entry, err error) {
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
