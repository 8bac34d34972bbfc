package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"github.com/spf13/cobra"

	"lapwing/cmd/lapwing/entries"
	"lapwing/cmd/lapwing/jobfiles"
	"lapwing/cmd/lapwing/output"
	"lapwing/cmd/lapwing/workers"
	"lapwing/coverage/book"
	"lapwing/coverage/job"
	"lapwing/report"
	rainreport "lapwing/report/rain"
	"lapwing/report/season"
	seasongpkg "lapwing/report/season/gpkg"
)

// seasonPatience is how long a season waits for another run that writes into its
// directory: if that is one on a single field it is done by then, and if it is
// another season one should hear of it soon.
const seasonPatience = time.Second

// seasonFlags are the flags of season.
type seasonFlags struct {
	job.Overrides
	out   string
	units string
	jobs  int
	fresh bool
	book  string
	farm  string
	// workers has the workers of the book measure what it does not have.
	workers workersFlag
	// noOperators leaves operators out of what is for all.
	noOperators bool
	rain        rainFlags
}

func newSeason() *cobra.Command {
	var f seasonFlags
	c := &cobra.Command{
		Use:   "season DIR|JOB.yaml ...",
		Short: "Assess many fields and bind them into a season book",
		Long: `season assesses every job file given, and every one found in the directories
and zip archives given, several at a time. Each field gets a page of its own, as assess writes
it, and the plan of the drive that mends its skips, as mend does; season.html is
their index, one year at a time, in the order of what needs attention: by what
going back would bring where every field is priced, else by the ground to go back
for. It has what changed from the year before, the skips that come back, and lists
by field, machine and operator. season-print.html is for paper: a cover, and a
page for each field. season.csv, season-machines.csv, season-laps.csv and
season.gpkg hold all of it for other programs.

Whoever learns to drive the line has a page of their own, operators/NAME.html
beside the season's: the lap kept against the lap aimed for, day by day and pass by
pass, mean and spread, and beside them what the receiver alone moves it by. With
--no-operators the lists for all leave operators out; the pages are written all the
same. A machine whose job names no operator has the page.

A field whose files have not changed is not done again: after a stop of any
kind the same command goes on where it was. One run at a time may write into a
directory.

With --book all jobs are kept in a book too, whatever their directories: a job that was
done before with the same files, by whomever and wherever they lay, is taken from there.
file:book.gpkg is a GeoPackage on a disk of this computer, made where it is missing, with
the files themselves in a folder beside it; postgres://host/database is PostgreSQL with
PostGIS, for many. What is written is the same to the byte with a book and without.
A password stands in PGPASSWORD or ~/.pgpass. ?files=s3://bucket?region=... at the end
of either has the files in a bucket, whose key stands in AWS_ACCESS_KEY_ID and
AWS_SECRET_ACCESS_KEY or ~/.aws; ?files=/srv/files in a folder.

With --workers what the book does not have is measured by lapwing work, on as many
computers as run it, and waited for; the pages are written here. work --help says more.

With --rain-at and --next it also says which fields not begun are done before the
rain, in which order, and what is better left: rain.html, a page for the crew.

A job that fails is listed with what is wrong and stops nothing. The exit
status is 0 when all fields were assessed; 2 when the input of some was wrong,
the others being done; 1 when something else failed; 130 or 143 when a signal
stopped the run, which then goes on from there.`,
		Example: `  lapwing season jobs/
  lapwing season 2025/ 2026/ --out book
  lapwing season jobs/ --book file:book.gpkg
  lapwing season jobs/ --rain-at 2026-05-04T18:00 --next to-come.geojson`,
		Args: cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, args []string) error { return bind(c, args, &f) },
	}
	fs := c.Flags()
	fs.SortFlags = false
	fs.StringVar(&f.out, "out", "season", "directory to write into, made if missing")
	fs.StringVar(&f.units, "units", "us", "us or metric")
	fs.IntVar(&f.jobs, "jobs", 0, "fields at a time (default one a processor)")
	fs.BoolVar(&f.fresh, "fresh", false, "do all fields again, also those whose files have not changed")
	addBook(fs, &f.book)
	fs.StringVar(&f.farm, "farm", "", "with --book: the farm that the jobs are of, for the people whom serve lets at the book")
	f.workers.add(fs)
	fs.BoolVar(&f.noOperators, "no-operators", false, "leave operators out of the lists for all; each one's own page is written all the same")
	f.rain.add(c)
	fs.StringVar(&f.MinArea, "min-area", "", `leave smaller patches out of the lists (default "1 m2")`)
	fs.StringVar(&f.MinWidth, "min-width", "", "leave narrower skips out of the lists (default half a row spacing)")
	fs.StringVar(&f.EdgeTolerance, "edge-tolerance", "", "the boundary is reached if worked ground begins within it (default half a row spacing)")
	fs.StringVar(&f.MaxGap, "max-gap", "", `the longest silence of a log that a swath bridges, such as "5 s"`)
	return c
}

// bind assesses all jobs and writes the season book.
func bind(c *cobra.Command, args []string, f *seasonFlags) error {
	units, err := unitsOf(f.units)
	if err != nil {
		return err
	}
	if f.jobs < 0 {
		return &callError{fmt.Sprintf("--jobs: found %d, want 1 or more", f.jobs)}
	}
	if f.jobs == 0 {
		f.jobs = runtime.GOMAXPROCS(0)
	}
	if err := f.workers.check(f.book, f.fresh); err != nil {
		return err
	}
	jobs, err := jobsGiven(args, f.out)
	if err != nil {
		return err
	}
	ahead, err := f.rain.read(c)
	if err != nil {
		return err
	}
	writer := &entries.Writer{Out: f.out, Overrides: f.Overrides, Fresh: f.fresh, Units: units, Program: programHash()}
	if f.book != "" {
		if writer.Book, err = openBook(c, f.book, f.fresh, entries.Question(units, f.Overrides)); err != nil {
			return err
		}
		defer writer.Book.Close()
		writer.Book.Place = computer() + ":/"
		if f.farm != "" {
			if writer.Book.Farm, err = farmNamed(c.Context(), writer.Book, f.farm); err != nil {
				return err
			}
		}
	} else if f.farm != "" {
		return &callError{"found --farm without --book, want the book that has the farm"}
	}
	names := append([]string{season.PackageFile}, season.Files.Names()...)
	if ahead != nil {
		names = append(names, rainreport.Files.Names()...)
	}
	out, err := output.Open(f.out, names...)
	if err != nil {
		return err
	}
	defer out.Discard()
	if err := out.HoldOrSay(c.Context(), seasonPatience); err != nil {
		return err
	}
	if err := output.TidyBelow(filepath.Join(f.out, entries.Folder)); err != nil {
		return err
	}
	if f.workers {
		wait, back, err := handingOut(c, f.book, workers.Asking{Book: writer.Book, Question: book.Ask(book.Season, units, f.Overrides), Offer: writer.Offer}, jobs)
		if err != nil {
			return err
		}
		defer back()
		writer.Wait = wait
	}
	failed, tally, err := eachJob(c, jobs, f.jobs, writer.Write)
	if err != nil {
		return err
	}
	bound, err := writer.Bind(jobs, failed)
	if err != nil {
		return err
	}
	bound.NoOperators = f.noOperators
	for _, j := range jobs {
		if err := failed[j.Path]; err != nil {
			bound.Failed = append(bound.Failed, season.Failure{Job: j.Path, Why: oneLine(err)})
			fmt.Fprintf(c.ErrOrStderr(), "failed: %s\n", oneLine(err))
		}
	}
	var crew *rainreport.Document
	var more []report.File
	if ahead != nil {
		if crew, err = ahead.Plan(f.out, bound, writer.Shapes); err != nil {
			return err
		}
		more = rainreport.Files.Of(crew)
	}
	more = append(more, bound.OperatorFiles()...)
	var there packageThere
	if !f.fresh {
		there = lookAtPackage(out.Path(season.PackageFile), bound)
	}
	if err := writeBook(c.Context(), out, bound, writer.Shapes, there, more...); err != nil {
		return err
	}
	if err := bound.Text(c.OutOrStdout()); err != nil {
		return err
	}
	if crew != nil {
		if err := crew.Text(c.OutOrStdout()); err != nil {
			return err
		}
		fmt.Fprintln(c.OutOrStdout(), "The page for the crew:", filepath.Join(f.out, rainreport.PageFile))
		warn(c, crew.Warnings)
	}
	fmt.Fprintf(c.OutOrStdout(), "\nThe season book: %s%s\n", filepath.Join(f.out, season.PageFile), jobfiles.KeptWords(tally, len(jobs)))
	if writer.Book != nil {
		if err := sayBook(c.Context(), c.OutOrStdout(), f.book, writer.Book); err != nil {
			return err
		}
		sayUnkept(c, writer.Book)
	}
	return jobfiles.Failures(failed, len(jobs), "all others are in the book")
}

// jobsGiven finds the jobs of a call.
func jobsGiven(args []string, out string) ([]jobfiles.Job, error) {
	if len(args) == 0 {
		return nil, &callError{"found no job file, want job files or directories with them"}
	}
	return jobfiles.Find(args, out)
}

// packageThere says what the GeoPackage that is there is good for: of 1,000 fields it has
// gigabytes.
type packageThere int

const (
	ofOthers packageThere = iota
	ofFormer              // what it has of the fields that are kept would be written the same
	ofSame                // it would be written the same
)

func lookAtPackage(path string, book *season.Book) packageThere {
	f, err := os.Open(path)
	if err != nil {
		return ofOthers
	}
	defer f.Close()
	info, err := f.Stat()
	switch {
	case err != nil:
		return ofOthers
	case seasongpkg.IsIn(book, f, info.Size()):
		return ofSame
	case seasongpkg.WasMade(book, f, info.Size()):
		return ofFormer
	}
	return ofOthers
}

// writeBook writes the files of the season. The GeoPackage that is there stays
// where the book is the one it was made of. More files get their places with it.
func writeBook(ctx context.Context, out *output.Dir, book *season.Book, shapes season.Shapes, there packageThere, more ...report.File) error {
	if there != ofSame {
		if err := out.StageAt(ctx, season.PackageFile, func(path string) error {
			if there == ofFormer && seasongpkg.Write(path, book, shapes, out.Path(season.PackageFile)) == nil {
				return nil
			}
			// Whatever is wrong with the one that is there, it can be done without.
			if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return err
			}
			return seasongpkg.Write(path, book, shapes, "")
		}); err != nil {
			return err
		}
	}
	return output.Write(ctx, out, append(season.Files.Of(book), more...))
}
