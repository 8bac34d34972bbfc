package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"lapwing/coverage/inspect"
	"lapwing/coverage/job"
	"lapwing/coverage/propose"
	"lapwing/coverage/quantity"
	"lapwing/geo/source"
	"lapwing/report"
)

// newFlags are the flags of new.
type newFlags struct {
	job.Flags
	out   string
	units string
}

func newNew() *cobra.Command {
	var f newFlags
	c := &cobra.Command{
		Use:   "new FILE ...",
		Short: "Write a job file to begin with, from a boundary and logs",
		Long: `new looks at a boundary and logs of fixes, which it tells apart by what is in
them, and writes a commented job file: what it saw, and what it guessed, such
as the working width from how far passes lie apart. assess takes the file as it
stands. It never writes over a file.`,
		Example: `  lapwing new field.geojson day1.csv day2.csv
  lapwing new day1.csv --width "40 ft" --out jobs/home.yaml`,
		Args: cobra.ArbitraryArgs,
		RunE: f.run,
	}
	fs := c.Flags()
	fs.SortFlags = false
	fs.StringVar(&f.out, "out", "job.yaml", "the job file to write")
	fs.StringVar(&f.Width, "width", "", `the working width, such as "40 ft" (default told from the logs)`)
	fs.StringVar(&f.units, "units", "us", "us or metric, for the width")
	return c
}

// run writes a job file.
func (f *newFlags) run(c *cobra.Command, args []string) error {
	units, err := unitsOf(f.units)
	if err != nil {
		return err
	}
	if len(args) == 0 {
		return &callError{"found no file, want a boundary and one log of fixes or more"}
	}
	if _, err := os.Lstat(f.out); err == nil {
		return &job.InputError{File: f.out, Where: "--out", Found: "found a file of this name", Want: "a new one; nothing is written over"}
	}
	in := onDisk(c.InOrStdin(), args...)
	for _, path := range args {
		if in.Once(path) {
			return &callError{fmt.Sprintf("found %s, which can be read only once, want a file: new reads each twice", source.Shown(path))}
		}
	}
	if err := sortOut(in, args, &f.Flags); err != nil {
		return err
	}
	p, err := propose.New(in, f.Flags, units == quantity.US)
	if err != nil {
		return err
	}
	var text bytes.Buffer
	if err := p.Write(&text, filepath.Dir(f.out)); err != nil {
		return err
	}
	out, err := openOutput(filepath.Dir(f.out))
	if err != nil {
		return err
	}
	defer out.discard()
	err = writeNew(c.Context(), out, report.File{Name: filepath.Base(f.out), Write: func(w io.Writer) error {
		_, err := text.WriteTo(w)
		return err
	}})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(c.OutOrStdout(), "Wrote %s. Read the lines with GUESS in it, then: lapwing assess %s\n", f.out, quotedArg(f.out))
	return err
}

// sortOut tells boundaries from logs.
func sortOut(in job.Inputs, args []string, f *job.Flags) error {
	for _, path := range args {
		found, err := inspect.File(in, path, nil)
		switch {
		case err != nil:
			return err
		case len(found.Boundaries) == 0 || found.Log != nil || found.Set != nil:
			f.Tracks = append(f.Tracks, path)
		case len(f.Boundaries) > 0:
			return &callError{fmt.Sprintf("found two boundaries, %s and %s, want one", f.Boundaries[0], path)}
		default:
			f.Boundaries = []string{path}
		}
	}
	return nil
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
