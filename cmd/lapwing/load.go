package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/heap"
	"lapwing/coverage/assess"
	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/coverage/quantity"
	"lapwing/report/words"
)

// jobFlags are what every command takes that measures one field: which field,
// how finely, in which units, and where the files go.
type jobFlags struct {
	job.Flags
	out   string
	units string
	json  bool
}

// add gives c the flags. out is the usual directory; json says what --json
// prints.
func (f *jobFlags) add(c *cobra.Command, out, json string) {
	fs := c.Flags()
	fs.SortFlags = false
	fs.StringVar(&f.out, "out", out, "directory to write into, made if missing")
	fs.StringVar(&f.units, "units", "us", "us or metric")
	fs.BoolVar(&f.json, "json", false, json)
	fs.StringArrayVar(&f.Boundaries, "boundary", nil, `without a job file: the field's boundary, or "worked"`)
	fs.StringArrayVar(&f.Tracks, "track", nil, "without a job file: a log of fixes; may be given again")
	fs.StringVar(&f.Width, "width", "", `without a job file: working width, such as "40 ft" or "12 m"`)
	fs.StringVar(&f.Implement, "implement", "", "without a job file: a YAML file that describes the implement")
	fs.StringVar(&f.MinArea, "min-area", "", `leave smaller patches out of the lists (default "1 m2")`)
	fs.StringVar(&f.MinWidth, "min-width", "", "leave narrower skips out of the lists (default half a row spacing)")
	fs.StringVar(&f.EdgeTolerance, "edge-tolerance", "", "the boundary is reached if worked ground begins within it (default half a row spacing)")
	fs.StringVar(&f.MaxGap, "max-gap", "", `the longest silence of a log that a swath bridges, such as "5 s"`)
}

// load reads the job file or, without one, the flags, and begins the options of
// its assessment.
func (f *jobFlags) load(c *cobra.Command, args []string) (*job.Job, assess.Options, error) {
	opt := assess.Options{Progress: progress(c.ErrOrStderr())}
	var err error
	if opt.Units, err = unitsOf(f.units); err != nil {
		return nil, opt, err
	}
	opt.Progress("reading")
	j, err := f.read(c, args)
	heap.Collect() // the tables of the files are as large as the job that was made of them
	return j, opt, err
}

func (f *jobFlags) read(c *cobra.Command, args []string) (*job.Job, error) {
	in := disk.Inputs(c.InOrStdin(), slices.Concat(args, f.Boundaries, f.Tracks, []string{f.Implement})...)
	switch {
	case len(args) > 1:
		return nil, &callError{fmt.Sprintf("found %q after the job file, want one job file", args[1])}
	case len(args) == 0 && len(f.Boundaries)+len(f.Tracks) == 0 && f.Width == "" && f.Implement == "":
		return nil, &callError{"no job, want a job file, such as field.yaml, or --boundary, --track and --width; lapwing new writes one"}
	case len(args) == 0:
		return job.FromFlags(in, f.Flags)
	}
	for _, name := range []string{"boundary", "track", "width", "implement"} {
		if c.Flags().Changed(name) {
			return nil, &callError{fmt.Sprintf("found --%s beside a job file, want one or the other", name)}
		}
	}
	return job.Load(in, args[0], f.Overrides)
}

// loadOne is load for a command that answers for one field only.
func (f *jobFlags) loadOne(c *cobra.Command, args []string) (*job.Job, assess.Options, error) {
	j, opt, err := f.load(c, args)
	if err == nil && len(j.Fields) > 1 {
		err = &job.InputError{Where: "boundary", Found: fmt.Sprintf("found %d fields", len(j.Fields)), Want: "one; lapwing assess takes several"}
	}
	return j, opt, err
}

// A document can be told in words and as JSON.
type document interface {
	Text(io.Writer) error
	JSON(io.Writer) error
}

// print tells a document on standard output, and after it, on standard error, what is
// to be known about the input.
func (f *jobFlags) print(c *cobra.Command, d document, warnings []field.Warning) error {
	write := d.Text
	if f.json {
		write = d.JSON
	}
	err := write(c.OutOrStdout())
	warn(c, warnings)
	return err
}

// machineOf finds the machine of a job by its name; -1 for none named.
func machineOf(j *job.Job, name string) (int, error) {
	if name == "" {
		return -1, nil
	}
	var names []string
	for i := range j.Machines {
		if strings.EqualFold(j.Machines[i].Name, name) {
			return i, nil
		}
		names = append(names, j.Machines[i].Name)
	}
	return 0, &job.InputError{Where: "--machine", Found: fmt.Sprintf("found %q", name), Want: strings.Join(names, " or ")}
}

// warn says on standard error what the reader should know about the input: each warning
// in a line, for scripts, and on a terminal wrapped.
func warn(c *cobra.Command, warnings []field.Warning) {
	var text bytes.Buffer
	for _, w := range field.Once(warnings) {
		if onTerminal(c.ErrOrStderr()) {
			words.Hang(&text, "warning: ", w.String())
		} else {
			fmt.Fprintln(&text, "warning:", w)
		}
	}
	c.ErrOrStderr().Write(text.Bytes()) // an error here has nowhere to be told
}

func onTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

func unitsOf(name string) (quantity.Units, error) {
	switch name {
	case "us":
		return quantity.US, nil
	case "metric":
		return quantity.Metric, nil
	}
	return 0, &callError{fmt.Sprintf("--units: found %q, want us or metric", name)}
}

// progress returns a function that says what is going on, on a terminal only.
// An empty word takes the last one away.
func progress(w io.Writer) func(word string) {
	if !onTerminal(w) {
		return func(string) {}
	}
	return func(word string) {
		fmt.Fprint(w, "\r\x1b[K")
		if word != "" {
			fmt.Fprintf(w, "%s …", word)
		}
	}
}
