package main

import (
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/jobfiles"
	"lapwing/cmd/lapwing/output"
	"lapwing/coverage/job"
	"lapwing/coverage/propose"
	"lapwing/coverage/quantity"
	"lapwing/geo/source"
	"lapwing/report"
	"lapwing/report/words"
)

// Where new writes unless the call says otherwise.
const (
	newFile = "job.yaml" // of one field
	newJobs = "jobs"     // of several, or of a folder
)

// newFlags are the flags of new.
type newFlags struct {
	out   string
	width string
	units string
}

func newNew() *cobra.Command {
	var f newFlags
	c := &cobra.Command{
		Use:   "new FILE|FOLDER ...",
		Short: "Write job files from logs, boundaries and task sets",
		Long: `new looks at logs of fixes, boundaries and task sets, which it tells apart by
what is in them, and writes a commented job file: what it saw, and what it
guessed, with how sure that is. assess takes the file as it stands.

From a folder, a stick or a zip archive it writes a directory of a season: one
job a field, and one implement file a machine. Logs go to the fields that they
work on; work on one field with days between, and work over all of it twice,
is a job each. season, waste and assess take the directory as it is.
What has no place in a job is listed with the reason.

new asks nothing. Where no file tells a width, and passes do not lie evenly
enough to tell it by, the implement file of that machine has one line to fill
in; new names it and ends with status 2. All other jobs are complete.
It never writes over a file.`,
		Example: `  lapwing new field.geojson day1.csv day2.csv
  lapwing new /media/stick --out 2026
  lapwing new day1.csv --width "40 ft" --out jobs/home.yaml`,
		Args: cobra.ArbitraryArgs,
		RunE: f.run,
	}
	fs := c.Flags()
	fs.SortFlags = false
	fs.StringVar(&f.out, "out", "", "the job file to write, or the directory of a season (default "+newFile+" for one field of files, else "+newJobs+")")
	fs.StringVar(&f.width, "width", "", `the working width of all machines, such as "40 ft" (default told from the files)`)
	fs.StringVar(&f.units, "units", "us", "us or metric, for a width that no file tells")
	return c
}

// run writes the job of one field, or those of a season.
func (f *newFlags) run(c *cobra.Command, args []string) error {
	units, err := unitsOf(f.units)
	if err != nil {
		return err
	}
	if len(args) == 0 {
		return &callError{"found no file, want a boundary and one log of fixes or more, or a folder of them"}
	}
	in := disk.Inputs(c.InOrStdin(), args...)
	folder := false
	for _, path := range args {
		if in.Once(path) {
			return &callError{fmt.Sprintf("found %s, which can be read only once, want a file: the job is to name it", source.Shown(path))}
		}
		folder = folder || isFolder(path)
	}
	isFile := jobfiles.IsYAML(f.out)
	dir := f.out
	if dir == "" || isFile {
		dir = newJobs
	}
	if f.out != "" {
		if err := f.free(folder); err != nil {
			return err
		}
	}
	season, err := propose.Look(in, args, propose.Options{Dir: dir, Width: f.width, Units: units})
	if err != nil {
		return err
	}
	defer season.Close()
	one := len(season.Proposals) == 1 && len(season.Copies) == 0 && !folder && (f.out == "" || isFile)
	switch {
	case one && f.out == "":
		f.out = newFile
	case !one && isFile:
		return output.Wrong(f.out, fmt.Sprintf("found a file, and %s in what was given", words.Count(len(season.Proposals), "job")), "a directory")
	case !one:
		f.out = dir
	}
	if err := f.free(!one); err != nil {
		return err
	}
	if err := f.write(c, season, one); err != nil {
		return err
	}
	if err := f.say(c.OutOrStdout(), season, one, units); err != nil {
		return err
	}
	return f.open(c.ErrOrStderr(), season, one)
}

// isFolder reports whether a path leads to a folder of files, and not to one that is
// a task set.
func isFolder(path string) bool {
	entries, err := os.ReadDir(path)
	return err == nil && !slices.ContainsFunc(entries, func(e fs.DirEntry) bool { return strings.EqualFold(e.Name(), "taskdata.xml") })
}

// free says early that what is to be written is there already.
func (f *newFlags) free(directory bool) error {
	taken := func(path, found, want string) error {
		return &job.InputError{File: path, Where: "--out", Found: found, Want: want + "; nothing is written over"}
	}
	switch {
	case !directory && jobfiles.IsYAML(f.out):
		if _, err := os.Lstat(f.out); err == nil {
			return taken(f.out, "found a file of this name", "a new one")
		}
		return nil
	case jobfiles.IsYAML(f.out):
		return nil // whether it may be a file is known later
	}
	if there, err := os.ReadDir(f.out); err == nil && len(there) > 0 {
		return taken(f.out, "found a directory with something in it", "a new one")
	}
	return nil
}

// write writes the files of a season, all or none.
func (f *newFlags) write(c *cobra.Command, season *propose.Season, one bool) error {
	dir, files := f.out, season.Files
	if one {
		dir = filepath.Dir(f.out)
		files = func() []propose.File { return season.One(dir, filepath.Base(f.out)) }
	}
	var all []report.File
	for _, file := range files() {
		all = append(all, report.File{Name: file.Name, Write: file.Write})
	}
	for _, copied := range season.Copies {
		all = append(all, report.File{Name: copied.Name, Write: func(w io.Writer) error {
			r, err := copied.Open()
			if err != nil {
				return err
			}
			defer r.Close()
			_, err = io.Copy(w, r)
			return err
		}})
	}
	out, err := output.Open(dir)
	if err != nil {
		return err
	}
	defer out.Discard()
	return output.WriteNew(c.Context(), out, all...)
}

// say tells what was written and what was not placed.
func (f *newFlags) say(w io.Writer, season *propose.Season, one bool, units quantity.Units) error {
	var b strings.Builder
	if one {
		fmt.Fprintf(&b, "Wrote %s. Read the lines with GUESS in it, then: lapwing assess %s\n", f.out, quotedArg(f.out))
	} else {
		fmt.Fprintf(&b, "Wrote %s of %s into %s. Read the lines with GUESS in them, then: lapwing season %s\n\n",
			words.Count(len(season.Proposals), "job"), words.Count(len(season.Machines), "machine"), f.out, quotedArg(f.out))
		for _, p := range season.Proposals {
			fmt.Fprintf(&b, "%s\n    %s\n", filepath.Join(f.out, filepath.FromSlash(p.File)), p.Text(units))
		}
	}
	if len(season.Left) > 0 {
		b.WriteString("\nIn no job:\n")
		for _, line := range season.LeftText() {
			fmt.Fprintf(&b, "    %s\n", line)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// open names the lines that are to be filled in, one a line; the last is the error.
func (f *newFlags) open(stderr io.Writer, season *propose.Season, one bool) error {
	dir := f.out
	if one {
		dir = filepath.Dir(f.out)
	}
	var last error
	for _, q := range season.Questions() {
		if last != nil {
			fmt.Fprintf(stderr, "lapwing: %s\n", oneLine(last))
		}
		path := filepath.Join(dir, filepath.FromSlash(q.Machine.File))
		last = &job.InputError{File: path, Line: season.LineOf(q), Where: q.About, Found: q.Best.Why,
			Want: fmt.Sprintf(`the %s of %s on this line, such as "40 ft"`, q.About, q.Machine.Name)}
	}
	return last
}

// quotedArg writes an argument so that it can be pasted into a shell.
func quotedArg(s string) string {
	for _, c := range s {
		if !(c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '.' || c == '-' || c == '_' || c == filepath.Separator) {
			return fmt.Sprintf("%q", s)
		}
	}
	return s
}
