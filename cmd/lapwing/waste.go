package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/jobfiles"
	"lapwing/cmd/lapwing/output"
	"lapwing/cmd/lapwing/workers"
	"lapwing/coverage/assess"
	"lapwing/coverage/book"
	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/report"
	"lapwing/report/waste"
)

type wasteFlags struct {
	job.Overrides
	out   string
	units string
	json  bool
	fresh bool
	book  string
	// workers has the workers of the book measure what it does not have.
	workers workersFlag
	runs    int
}

func newWaste() *cobra.Command {
	var f wasteFlags
	c := &cobra.Command{
		Use:   "waste DIR|JOB.yaml ...",
		Short: "Tell what product was put down twice or outside, by cause and field",
		Long: `waste assesses the job files given, and those found in the directories and zip
archives given, and tells how much nitrogen and how much of every product went down twice or
outside the boundary: by product, by cause and by field, how sure that is, and
which one change would save most. It writes waste.html, waste-client.html (two
printed pages for a client), waste.csv (by cause), waste-fields.csv (by field)
and waste-matrix.csv (field by cause, with sums) into a directory.

Years are told apart, and then together. A job that fails is listed with what is
wrong and stops nothing; the exit status is then 2. A field whose files have not
changed is not done again: after a stop of any kind the same command goes on
where it was. With --book a job that was done before with the same files, by whomever
and wherever they lay, is taken from a book; season --help says what that is. With
--workers what the book does not have is measured by lapwing work, on as many
computers as run it, and waited for.`,
		Example: `  lapwing waste field.yaml
  lapwing waste jobs/ --out waste-2026`,
		Args: cobra.ArbitraryArgs,
		RunE: f.run,
	}
	fs := c.Flags()
	fs.SortFlags = false
	fs.StringVar(&f.out, "out", "waste", "directory to write into, made if missing")
	fs.StringVar(&f.units, "units", "us", "us or metric")
	fs.BoolVar(&f.json, "json", false, "print it as JSON instead of in words")
	fs.IntVar(&f.runs, "runs", 200, "how often a field is measured again to tell how sure the figures are; 0 leaves that out")
	fs.BoolVar(&f.fresh, "fresh", false, "do all fields again, also those whose files have not changed")
	addBook(fs, &f.book)
	f.workers.add(fs)
	fs.StringVar(&f.MaxGap, "max-gap", "", `the longest silence of a log that a swath bridges, such as "5 s"`)
	return c
}

// run assesses fields one after the other, keeps of each what it wasted, and
// writes the answer.
func (f *wasteFlags) run(c *cobra.Command, args []string) error {
	units, err := unitsOf(f.units)
	if err != nil {
		return err
	}
	if f.runs < 0 {
		return &callError{fmt.Sprintf("--runs: found %d, want 0 or more", f.runs)}
	}
	if err := f.workers.check(f.book, f.fresh); err != nil {
		return err
	}
	jobs, err := jobsGiven(args, f.out)
	if err != nil {
		return err
	}
	w := &wasteJobs{flags: f, question: book.Ask(book.Waste, units, f.Overrides), in: disk.Inputs(c.InOrStdin()), found: map[string][]waste.Field{}}
	w.question.Runs = f.runs
	if f.book != "" {
		if w.book, err = openBook(c, f.book, f.fresh, w.question.String()); err != nil {
			return err
		}
		defer w.book.Close()
	}
	out, err := output.Open(f.out, waste.Files.Names()...)
	if err != nil {
		return err
	}
	defer out.Discard()
	if err := out.HoldOrSay(c.Context(), seasonPatience); err != nil {
		return err
	}
	if err := output.TidyBelow(filepath.Join(f.out, keptDir)); err != nil {
		return err
	}
	if f.workers {
		wait, back, err := handingOut(c, f.book, workers.Asking{Book: w.book, Question: w.question, Offer: w.offer}, jobs)
		if err != nil {
			return err
		}
		defer back()
		w.wait = wait
	}
	// One at a time: a field is measured again on all processors.
	failed, tally, err := eachJob(c, jobs, 1, w.do)
	if err != nil {
		return err
	}
	if len(jobs) == 1 && len(failed) == 1 {
		return failed[jobs[0].Path]
	}
	var fields []waste.Field
	var wrong []waste.Failure
	for _, j := range jobs {
		if err := failed[j.Path]; err != nil {
			wrong = append(wrong, waste.Failure{Job: j.Path, Why: oneLine(err)})
			fmt.Fprintf(c.ErrOrStderr(), "failed: %s\n", oneLine(err))
		}
		fields = append(fields, w.found[j.Path]...)
	}
	if len(fields) == 0 {
		return jobfiles.Failures(failed, len(jobs), "nothing is written")
	}
	d, err := waste.New(units, fields, wrong)
	if err != nil {
		return err
	}
	if err := output.Write(c.Context(), out, waste.Files.Of(d)); err != nil {
		return err
	}
	for i := range d.Fields {
		warn(c, d.Fields[i].InputWarnings())
	}
	if f.json {
		err = d.JSON(c.OutOrStdout())
	} else if err = d.Text(c.OutOrStdout()); err == nil {
		_, err = fmt.Fprintf(c.OutOrStdout(), "\nThe page: %s%s\n", filepath.Join(f.out, waste.PageFile), jobfiles.KeptWords(tally, len(jobs)))
	}
	if err != nil {
		return err
	}
	sayUnkept(c, w.book)
	return jobfiles.Failures(failed, len(jobs), "all others are told of")
}

// keptDir is where the waste of each job is kept, in the directory of the answer,
// so that a job whose files have not changed is not done again.
const keptDir = "kept"

// wasteJobs does jobs, and gathers the waste of their fields by the job's path.
type wasteJobs struct {
	flags    *wasteFlags
	question book.Question // of each job
	in       job.Inputs
	book     *book.Keeper // nil for none
	// wait, where it is set, returns when workers have done with the job at a path.
	wait  func(ctx context.Context, path string) error
	found map[string][]waste.Field
}

// look says what the job at a path is made of now.
func (w *wasteJobs) look(path string, before *book.Record) (*book.Record, error) {
	return book.Look(disk.Inputs(nil), path, programHash(), w.question.String(), before)
}

// offer returns a job for workers, as entries.Writer.Offer does for those of a season.
func (w *wasteJobs) offer(ctx context.Context, j jobfiles.Job) (*book.Sought, error) {
	now, err := w.look(j.Path, book.Read(os.DirFS(filepath.Join(w.flags.out, keptDir, j.Slug)), nil))
	if err != nil {
		return nil, ctx.Err()
	}
	return w.book.Offer(ctx, j.Path, now)
}

// do finds the waste of a job's fields, or finds that it was found before.
func (w *wasteJobs) do(ctx context.Context, j jobfiles.Job) (how jobfiles.How, err error) {
	dir := filepath.Join(w.flags.out, keptDir, j.Slug)
	before := book.Read(os.DirFS(dir), nil)
	now, err := w.look(j.Path, before)
	if err != nil {
		now = nil // what is wrong with the job is said on loading it; a log from standard input is not kept
	} else if !w.flags.fresh && before.Same(now) {
		if kept, ok := fieldsIn(before, j.Path); ok {
			stands, err := w.book.Stands(ctx, j.Path, now)
			if err != nil {
				return jobfiles.Measured, err
			}
			if stands {
				w.found[j.Path] = kept
				return jobfiles.Kept, nil
			}
		}
	}
	fields := &wasteFields{path: j.Path}
	if now != nil && w.book != nil {
		how, err = w.fromBook(ctx, j.Path, now, fields)
	} else {
		err = w.question.Each(ctx, w.in, j.Path, nil, func(parts int) error {
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
func (w *wasteJobs) fromBook(ctx context.Context, path string, now *book.Record, fields *wasteFields) (how jobfiles.How, err error) {
	if w.wait != nil {
		if err := w.wait(ctx, path); err != nil {
			return jobfiles.Measured, err
		}
	}
	found, taken, err := w.book.Assess(ctx, path, now, func(in job.Inputs, path string) ([]*assess.Assessment, error) {
		return w.question.Assess(ctx, in, path, nil)
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
func (w *wasteJobs) keep(ctx context.Context, dir, path string, now *book.Record, fields []waste.Field) error {
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

// wasteFields are the fields of the job at a path; of several, those that were worked.
type wasteFields struct {
	path    string
	parts   int // fields and operations that the job is of
	of      []waste.Field
	crossed []field.Warning // of those that were not
}

func (f *wasteFields) add(a *assess.Assessment) {
	if len(a.Map.Passes) > 0 || f.parts == 1 {
		f.of = append(f.of, waste.FieldOf(a, f.path))
	} else {
		f.crossed = append(f.crossed, notWorked(a.Map.Field.Name))
	}
}

// end says of the first field that others were not worked, and fails where none was.
func (f *wasteFields) end() error {
	if len(f.of) == 0 {
		return noneWorked(f.path, len(f.crossed))
	}
	f.of[0].Warnings = append(f.of[0].Warnings, f.crossed...)
	return nil
}
