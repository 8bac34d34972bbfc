package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"github.com/spf13/cobra"

	"lapwing/coverage"
	"lapwing/coverage/job"
	"lapwing/report"
)

// The files of waste, in the order they get their names.
const (
	wasteCSVFile  = "waste.csv"
	wastePageFile = "waste.html"
)

type wasteFlags struct {
	job.Overrides
	out   string
	units string
	json  bool
}

func newWaste() *cobra.Command {
	var f wasteFlags
	c := &cobra.Command{
		Use:   "waste JOB.yaml ...",
		Short: "Tell what product was put down twice or outside, by cause and field",
		Long: `waste assesses the job files given and tells how much nitrogen and how much of every product went down twice or
outside the boundary: by product, by cause and by field, and which one change
would save most. It writes waste.html and waste.csv into a directory.`,
		Example: `  lapwing waste field.yaml
  lapwing waste jobs/*.yaml --out waste-2026`,
		Args: cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, args []string) error { return waste(c, args, &f) },
	}
	fs := c.Flags()
	fs.SortFlags = false
	fs.StringVar(&f.out, "out", "waste", "directory to write into, made if missing")
	fs.StringVar(&f.units, "units", "us", "us or metric")
	fs.BoolVar(&f.json, "json", false, "print it as JSON instead of in words")
	fs.StringVar(&f.MaxGap, "max-gap", "", `the longest silence of a log that a swath bridges, such as "5 s"`)
	return c
}

// waste assesses fields one after the other, keeps of each what it wasted, and
// writes the answer.
func waste(c *cobra.Command, args []string, f *wasteFlags) error {
	units, err := unitsOf(f.units)
	if err != nil {
		return err
	}
	if len(args) == 0 {
		return &callError{"found no job file, want one or more"}
	}
	out, err := openOutput(f.out, wasteCSVFile, wastePageFile)
	if err != nil {
		return err
	}
	defer out.discard()
	f.Stdin = c.InOrStdin()
	say := progress(c.ErrOrStderr())
	w := &report.Waste{Units: units}
	for i, path := range args {
		say(fmt.Sprintf("field %d of %d", i+1, len(args)))
		if err := c.Context().Err(); err != nil {
			return err
		}
		j, err := job.Load(path, f.Overrides)
		if err != nil {
			return err
		}
		r, err := measure(j, units)
		if err != nil {
			return err
		}
		w.Fields = append(w.Fields, r.WasteField(path))
	}
	if w.Run, err = wasteRun(w); err != nil {
		return err
	}
	if err := write(c.Context(), out, []outputFile{{wasteCSVFile, w.CSV}, {wastePageFile, w.Page}}); err != nil {
		return err
	}
	say("")
	for _, field := range w.Fields {
		warn(c, wherein(field))
	}
	if f.json {
		return w.JSON(c.OutOrStdout())
	}
	return w.Text(c.OutOrStdout())
}

// wherein returns the warnings of a field, those of no file under its job.
func wherein(f report.WasteField) []coverage.Warning {
	out := make([]coverage.Warning, len(f.Warnings))
	for i, w := range f.Warnings {
		if w.File == "" {
			w.File = f.Job
		}
		out[i] = w
	}
	return out
}

// wasteRun names the run as [runID] does.
func wasteRun(w *report.Waste) (string, error) {
	var b bytes.Buffer
	if err := w.JSON(&b); err != nil {
		return "", err
	}
	fmt.Fprint(&b, w.Units)
	sum := sha256.Sum256(b.Bytes())
	return hex.EncodeToString(sum[:6]), nil
}
