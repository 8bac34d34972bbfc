package main

import (
	"bytes"
	"context"
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

// The files of an assessment, in the order they get their names.
const (
	geoJSONFile = "coverage.geojson"
	pageFile    = "report.html"
	summaryFile = "summary.json"
)

// assessFlags are the flags of assess.
type assessFlags struct {
	job.Flags
	out   string
	units string
	json  bool
}

func newAssess() *cobra.Command {
	var f assessFlags
	c := &cobra.Command{
		Use:   "assess JOB.yaml",
		Short: "Assess one field: skips, overlaps, headland, products",
		Long: `assess works out which ground of one field was covered, and writes
summary.json, coverage.geojson and report.html into a directory.`,
		Example: `  lapwing assess field.yaml
  lapwing assess --boundary field.geojson --track drill.csv --width "40 ft"`,
		Args: cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, args []string) error { return assess(c, args, &f) },
	}
	fs := c.Flags()
	fs.SortFlags = false
	fs.StringVar(&f.out, "out", "assessment", "directory to write into, made if missing")
	fs.StringVar(&f.units, "units", "us", "us or metric")
	fs.BoolVar(&f.json, "json", false, "print summary.json instead of the summary in words")
	fs.StringVar(&f.Boundary, "boundary", "", `without a job file: the field's boundary, or "worked"`)
	fs.StringArrayVar(&f.Tracks, "track", nil, "without a job file: a log of fixes; may be given again")
	fs.StringVar(&f.Width, "width", "", `without a job file: working width, such as "40 ft" or "12 m"`)
	fs.StringVar(&f.Implement, "implement", "", "without a job file: a YAML file that describes the implement")
	fs.StringVar(&f.MinArea, "min-area", "", `leave smaller patches out of the lists (default "1 m2")`)
	fs.StringVar(&f.MinWidth, "min-width", "", "leave narrower skips out of the lists (default half a row spacing)")
	fs.StringVar(&f.EdgeTolerance, "edge-tolerance", "", "the boundary is reached if worked ground begins within it (default half a row spacing)")
	fs.StringVar(&f.MaxGap, "max-gap", "", `the longest silence of a log that a swath bridges, such as "5 s"`)
	return c
}

// assess loads a job, measures it, prices it and writes the answer.
func assess(c *cobra.Command, args []string, f *assessFlags) error {
	units, err := unitsOf(f.units)
	if err != nil {
		return err
	}
	say := progress(c.ErrOrStderr())
	say("reading")
	j, err := load(c, args, f)
	if err != nil {
		return err
	}
	out, err := openOutput(f.out, geoJSONFile, pageFile, summaryFile)
	if err != nil {
		return err
	}
	defer out.discard()
	say("measuring")
	m, err := coverage.Measure(j.Field, j.Machines, j.Options)
	if err != nil {
		return &job.InputError{Found: err.Error()}
	}
	m.Warnings = append(j.Warnings, m.Warnings...)
	products, err := j.Grounds(m)
	if err != nil {
		return &job.InputError{Found: err.Error()}
	}
	a := agronomy.Assess(m, products)
	r := &report.Report{Assessment: a, Units: units, MinArea: j.MinArea, MinWidth: j.MinWidth, EdgeTolerance: m.Headland.Edge.Tolerance}
	if r.Run, err = runID(r); err != nil {
		return err
	}
	say("writing")
	if err := write(c.Context(), out, r); err != nil {
		return err
	}
	say("")
	for _, w := range m.Warnings {
		fmt.Fprintln(c.ErrOrStderr(), "warning:", w)
	}
	if f.json {
		return r.Summary(c.OutOrStdout())
	}
	return r.Text(c.OutOrStdout())
}

// load reads the job file or, without one, the flags.
func load(c *cobra.Command, args []string, f *assessFlags) (*job.Job, error) {
	f.Stdin = c.InOrStdin()
	switch {
	case len(args) > 1:
		return nil, &callError{fmt.Sprintf("found %q after the job file, want one job file", args[1])}
	case len(args) == 0:
		return job.FromFlags(f.Flags)
	}
	for _, name := range []string{"boundary", "track", "width", "implement"} {
		if c.Flags().Changed(name) {
			return nil, &callError{fmt.Sprintf("found --%s beside a job file, want one or the other", name)}
		}
	}
	return job.Load(args[0], f.Overrides)
}

// write writes all files of an assessment, or none.
func write(ctx context.Context, out *output, r *report.Report) error {
	for _, file := range []struct {
		name  string
		write func(io.Writer) error
	}{{geoJSONFile, r.GeoJSON}, {pageFile, r.Page}, {summaryFile, r.Summary}} {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := out.add(file.name, file.write); err != nil {
			return err
		}
	}
	return out.commit()
}

// runID returns a short name for what a run found. The same input gives the
// same one, so that files of different runs can be told apart and a run can be
// repeated to the byte.
func runID(r *report.Report) (string, error) {
	var b bytes.Buffer
	if err := r.Summary(&b); err != nil {
		return "", err
	}
	fmt.Fprint(&b, r.Units)
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
