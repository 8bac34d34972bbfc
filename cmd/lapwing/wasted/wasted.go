// Package wasted finds the waste of each job's fields, and keeps it until the files of the
// job, or the program, have changed.
package wasted

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"

	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/jobfiles"
	"lapwing/cmd/lapwing/output"
	"lapwing/coverage/assess"
	"lapwing/coverage/book"
	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/report"
	"lapwing/report/waste"
)

// Folder is where the waste of each job is kept, in the directory of the answer, so that
// a job whose files have not changed is not done again.
const Folder = "kept"

// Jobs are jobs that are asked for their waste, one after the other.
type Jobs struct {
	Out      string // the directory of the answer
	Fresh    bool   // do all again, also those whose files have not changed
	Question book.Question
	Program  string       // tells programs apart, see [book.Look]
	Inputs   job.Inputs   // to read the jobs from
	Book     *book.Keeper // has answers from elsewhere and before, and gets those made here; nil for none
	// Wait, where it is set, returns when workers have done with the job at a path, which
	// then is in the book or is measured here; an error says that it cannot be measured.
	Wait func(ctx context.Context, path string) error

	found map[string][]waste.Field // by the path of the job file
}

// Of is the waste that was found of a job's fields; none where it failed.
func (w *Jobs) Of(j jobfiles.Job) []waste.Field { return w.found[j.Path] }

// look says what the job at a path is made of now.
func (w *Jobs) look(path string, before *book.Record) (*book.Record, error) {
	return book.Look(disk.Inputs(nil), path, w.Program, w.Question.String(), before)
}

// Offer returns a job for workers, as entries.Writer.Offer does for those of a season.
func (w *Jobs) Offer(ctx context.Context, j jobfiles.Job) (*book.Sought, error) {
	now, err := w.look(j.Path, book.Read(os.DirFS(filepath.Join(w.Out, Folder, j.Slug)), nil))
	if err != nil {
		return nil, ctx.Err()
	}
	return w.Book.Offer(ctx, j.Path, now)
}

// Do finds the waste of a job's fields, or finds that it was found before. What is wrong
// with the job is an error of the input.
func (w *Jobs) Do(ctx context.Context, j jobfiles.Job) (how jobfiles.How, err error) {
	if w.found == nil {
		w.found = map[string][]waste.Field{}
	}
	dir := filepath.Join(w.Out, Folder, j.Slug)
	before := book.Read(os.DirFS(dir), nil)
	now, err := w.look(j.Path, before)
	if err != nil {
		now = nil // what is wrong with the job is said on loading it; a log from standard input is not kept
	} else if !w.Fresh && before.Same(now) {
		if kept, ok := fieldsIn(before, j.Path); ok {
			stands, err := w.Book.Stands(ctx, j.Path, now)
			if err != nil {
				return jobfiles.Measured, err
			}
			if stands {
				w.found[j.Path] = kept
				return jobfiles.Kept, nil
			}
		}
	}
	fields := &jobFields{path: j.Path}
	if now != nil && w.Book != nil {
		how, err = w.fromBook(ctx, j.Path, now, fields)
	} else {
		err = w.Question.Each(ctx, w.Inputs, j.Path, nil, func(parts int) error {
			fields.parts = parts
			return nil
		}, func(_ int, a *assess.Assessment) error {
			fields.add(a)
			return nil
		})
	}
	if err == nil {
		err = fields.end()
	}
	if err != nil {
		return how, err
	}
	return how, w.keep(ctx, dir, j.Path, now, fields.of)
}

// fromBook finds the waste of a job's fields by the assessments of a book.
func (w *Jobs) fromBook(ctx context.Context, path string, now *book.Record, fields *jobFields) (how jobfiles.How, err error) {
	if w.Wait != nil {
		if err := w.Wait(ctx, path); err != nil {
			return jobfiles.Measured, err
		}
	}
	found, taken, err := w.Book.Assess(ctx, path, now, func(in job.Inputs, path string) ([]*assess.Assessment, error) {
		return w.Question.Assess(ctx, in, path, nil)
	})
	fields.parts = len(found)
	for _, a := range found {
		fields.add(a)
	}
	if taken {
		how = jobfiles.Taken
	}
	return how, err
}

// keep keeps the waste of a job's fields, so that they are not assessed again.
func (w *Jobs) keep(ctx context.Context, dir, path string, now *book.Record, fields []waste.Field) error {
	w.found[path] = fields
	if now == nil {
		return nil
	}
	for i := range fields {
		text, err := json.Marshal(&fields[i])
		if err != nil {
			return err
		}
		now.Entries = append(now.Entries, book.Entry{Run: fields[i].Run, Sketch: text})
	}
	out, err := output.Open(dir, book.RecordFile)
	if err != nil {
		return err
	}
	defer out.Discard()
	return output.Write(ctx, out, []report.File{{Name: book.RecordFile, Write: now.Write}})
}

// fieldsIn are the fields that a record keeps of the job at a path; false where it
// keeps no waste.
func fieldsIn(r *book.Record, path string) (fields []waste.Field, ok bool) {
	for _, e := range r.Entries {
		var f waste.Field
		if json.Unmarshal(e.Sketch, &f) != nil {
			return nil, false
		}
		f.Job = path
		fields = append(fields, f)
	}
	return fields, true
}

// jobFields are the fields of the job at a path; of several, those that were worked.
type jobFields struct {
	path    string
	parts   int // fields and operations that the job is of
	of      []waste.Field
	crossed []field.Warning // of those that were not
}

func (f *jobFields) add(a *assess.Assessment) {
	if len(a.Map.Passes) > 0 || f.parts == 1 {
		f.of = append(f.of, waste.FieldOf(a, f.path))
	} else {
		f.crossed = append(f.crossed, assess.NotWorked(a.Map.Field.Name))
	}
}

// end says of the first field that others were not worked, and fails where none was.
func (f *jobFields) end() error {
	if len(f.of) == 0 {
		return assess.NoneWorked(f.path, len(f.crossed))
	}
	f.of[0].Warnings = append(f.of[0].Warnings, f.crossed...)
	return nil
}
