package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"lapwing/coverage"
	"lapwing/coverage/job"
	"lapwing/coverage/whatif"
	"lapwing/report"
)

// The files of waste, in the order they get their names.
const (
	wasteCSVFile    = "waste.csv"
	wasteFieldsFile = "waste-fields.csv"
	wastePageFile   = "waste.html"
)

type wasteFlags struct {
	job.Overrides
	out   string
	units string
	json  bool
	runs  int
}

func newWaste() *cobra.Command {
	var f wasteFlags
	c := &cobra.Command{
		Use:   "waste DIR|JOB.yaml ...",
		Short: "Tell what product was put down twice or outside, by cause and field",
		Long: `waste assesses the job files given, and those found in the directories given,
and tells how much nitrogen and how much of every product went down twice or
outside the boundary: by product, by cause and by field, how sure that is, and
which one change would save most. It writes waste.html, waste.csv (by cause)
and waste-fields.csv (by field) into a directory.`,
		Example: `  lapwing waste field.yaml
  lapwing waste jobs/ --out waste-2026`,
		Args: cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, args []string) error { return waste(c, args, &f) },
	}
	fs := c.Flags()
	fs.SortFlags = false
	fs.StringVar(&f.out, "out", "waste", "directory to write into, made if missing")
	fs.StringVar(&f.units, "units", "us", "us or metric")
	fs.BoolVar(&f.json, "json", false, "print it as JSON instead of in words")
	fs.IntVar(&f.runs, "runs", 200, "how often a field is measured again to tell how sure the figures are; 0 leaves that out")
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
	if f.runs < 0 {
		return &callError{fmt.Sprintf("--runs: found %d, want 0 or more", f.runs)}
	}
	jobs, err := findJobs(args, f.out)
	if err != nil {
		return err
	}
	out, err := openOutput(f.out, wasteCSVFile, wasteFieldsFile, wastePageFile)
	if err != nil {
		return err
	}
	defer out.discard()
	in := onDisk(c.InOrStdin())
	say := progress(c.ErrOrStderr())
	w := &report.Waste{Units: units}
	for i, found := range jobs {
		say(fmt.Sprintf("field %d of %d", i+1, len(jobs)))
		if err := c.Context().Err(); err != nil {
			return err
		}
		over := f.Overrides
		over.ManyFields = true
		j, err := job.Load(in, found.path, over)
		if err != nil {
			return err
		}
		for _, field := range j.Fields {
			r, err := measure(j, field, units)
			if err != nil {
				return err
			}
			if len(r.Map.Passes) == 0 && len(j.Fields) > 1 {
				continue // crossed, not worked
			}
			var opt whatif.Options
			if f.runs > 0 {
				if opt, err = lookFurther(r, j, f.runs); err != nil {
					return err
				}
			}
			of := r.WasteField(found.path)
			if f.runs > 0 {
				howSure(r, &of, opt)
			}
			w.Fields = append(w.Fields, of)
		}
	}
	if w.Run, err = wasteRun(w); err != nil {
		return err
	}
	if err := write(c.Context(), out, []outputFile{{wasteCSVFile, w.CSV}, {wasteFieldsFile, w.FieldsCSV}, {wastePageFile, w.Page}}); err != nil {
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

// howSure takes over between what the waste of each product truly lies.
// Products with a working column of their own have a map of their own, which
// is asked by itself.
func howSure(r *report.Report, field *report.WasteField, opt whatif.Options) {
	for i := range r.Accounts {
		a := &r.Accounts[i]
		var in whatif.Interval
		if g := r.WhatIf.Groups[i]; g >= 0 {
			in = r.WhatIf.Sure.Wasted[g]
		} else {
			carries := make([]bool, len(a.Map.Machines))
			own := opt
			own.Errors = nil
			for k := range a.Map.Machines {
				carries[k] = a.Product.CarriedBy(a.Map.Machines[k].Name)
				own.Errors = append(own.Errors, errorOf(r, opt, a.Map.Machines[k].Name))
			}
			own.Groups, own.MostSkips = [][]bool{carries}, 1 // no skip is asked for
			in = whatif.Sure(a.Map, own).Wasted[0]
		}
		span := a.Span(in.Low, in.Middle, in.High)
		field.Tallies[i].Likely = &span
	}
	for i, e := range r.WhatIf.Sure.Errors {
		field.Receivers = append(field.Receivers, report.Receiver{Machine: r.Map.Machines[i].Name, ShortTerm: e.ShortTerm, Drift: e.Drift})
	}
}

// errorOf is the error of the receiver of the machine of that name.
func errorOf(r *report.Report, opt whatif.Options, name string) whatif.Error {
	i := slices.IndexFunc(r.Map.Machines, func(m coverage.Machine) bool { return m.Name == name })
	return opt.Errors[i]
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
