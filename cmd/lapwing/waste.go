package main

import (
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/jobfiles"
	"lapwing/cmd/lapwing/output"
	"lapwing/cmd/lapwing/wasted"
	"lapwing/cmd/lapwing/workers"
	"lapwing/coverage/book"
	"lapwing/coverage/job"
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
	question := book.Ask(book.Waste, units, f.Overrides)
	question.Runs = f.runs
	w := &wasted.Jobs{Out: f.out, Fresh: f.fresh, Question: question, Program: programHash(), Inputs: disk.Inputs(c.InOrStdin())}
	if f.book != "" {
		if w.Book, err = openBook(c, f.book, f.fresh, question.String()); err != nil {
			return err
		}
		defer w.Book.Close()
	}
	out, err := output.Open(f.out, waste.Files.Names()...)
	if err != nil {
		return err
	}
	defer out.Discard()
	if err := out.HoldOrSay(c.Context(), seasonPatience); err != nil {
		return err
	}
	if err := output.TidyBelow(filepath.Join(f.out, wasted.Folder)); err != nil {
		return err
	}
	if f.workers {
		wait, back, err := handingOut(c, f.book, workers.Asking{Book: w.Book, Question: question, Offer: w.Offer}, jobs)
		if err != nil {
			return err
		}
		defer back()
		w.Wait = wait
	}
	// One at a time: a field is measured again on all processors.
	failed, tally, err := eachJob(c, jobs, 1, w.Do)
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
		fields = append(fields, w.Of(j)...)
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
	sayUnkept(c, w.Book)
	return jobfiles.Failures(failed, len(jobs), "all others are told of")
}
