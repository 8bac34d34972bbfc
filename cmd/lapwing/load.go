package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/job"
	"lapwing/report"
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

// load reads the job file or, without one, the flags.
func (f *jobFlags) load(c *cobra.Command, args []string) (*job.Job, error) {
	in := onDisk(c.InOrStdin())
	switch {
	case len(args) > 1:
		return nil, &callError{fmt.Sprintf("found %q after the job file, want one job file", args[1])}
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
func (f *jobFlags) loadOne(c *cobra.Command, args []string) (*job.Job, error) {
	j, err := f.load(c, args)
	if err == nil && len(j.Fields) > 1 {
		return nil, &job.InputError{Where: "boundary", Found: fmt.Sprintf("found %d fields", len(j.Fields)), Want: "one; lapwing assess takes several"}
	}
	return j, err
}

// measure measures a field of a job and prices it. Every wrong input it finds
// is a [*job.InputError].
func measure(j *job.Job, field coverage.Field, units report.Units) (*report.Report, error) {
	m, err := coverage.Measure(field, j.Machines, j.Options)
	if err != nil {
		return nil, &job.InputError{Found: err.Error()}
	}
	m.Warnings = append(j.Warnings, m.Warnings...)
	products, err := j.Grounds(m)
	if err != nil {
		return nil, &job.InputError{Found: err.Error()}
	}
	a := agronomy.Assess(m, products)
	a.SkipLoss(j.Crop)
	r := &report.Report{
		Assessment: a, Units: units, Zone: j.Zone, RainAt: j.RainAt,
		MinArea: j.MinArea, MinWidth: j.MinWidth, EdgeTolerance: m.Headland.Edge.Tolerance,
	}
	r.Run, err = runID(r)
	return r, err
}

// warn says on standard error what the reader should know about the input.
func warn(c *cobra.Command, warnings []coverage.Warning) {
	for _, w := range warnings {
		fmt.Fprintln(c.ErrOrStderr(), "warning:", w)
	}
}

// runID returns a short name for what a run found. The same input gives the
// same one, so that files of different runs can be told apart and a run can be
// repeated to the byte.
func runID(r *report.Report) (string, error) {
	var b bytes.Buffer
	if err := r.Summary(&b); err != nil {
		return "", err
	}
	fmt.Fprint(&b, r.Units, r.Zone)
	sum := sha256.Sum256(b.Bytes())
	return hex.EncodeToString(sum[:6]), nil
}

func unitsOf(name string) (report.Units, error) {
	switch name {
	case "us":
		return report.US, nil
	case "metric":
		return report.Metric, nil
	}
	return 0, &callError{fmt.Sprintf("--units: found %q, want us or metric", name)}
}

// progress returns a function that says what is going on, on a terminal only.
// An empty word takes the last one away.
func progress(w io.Writer) func(word string) {
	f, ok := w.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return func(string) {}
	}
	return func(word string) {
		fmt.Fprint(w, "\r\x1b[K")
		if word != "" {
			fmt.Fprintf(w, "%s …", word)
		}
	}
}
