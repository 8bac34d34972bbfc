package main

import (
	"io"
	"slices"

	"github.com/spf13/cobra"

	"lapwing/cmd/lapwing/output"
	"lapwing/coverage/assess"
	"lapwing/report"
	fieldreport "lapwing/report/field"
	"lapwing/report/waste"
)

func newAssess() *cobra.Command {
	var f assessFlags
	c := &cobra.Command{
		Use:   "assess JOB.yaml",
		Short: "Assess a field: skips, overlaps, headland, products",
		Long: `assess works out which ground of a field was covered, and writes
summary.json, coverage.geojson and report.html into a directory. Where the
boundaries are those of several fields, or the tasks of a set are of several
operations on one, each gets a directory of its own in there, and --json prints
an array. With --csv the products, their waste by
cause, the fills of their tanks and the machines' times are tables beside them:
products.csv, waste.csv, fills.csv and times.csv.`,
		Example: `  lapwing assess field.yaml
  lapwing assess --boundary field.geojson --track drill.csv --width "40 ft"`,
		Args: cobra.ArbitraryArgs,
		RunE: f.run,
	}
	f.ManyFields = true
	f.add(c, "assessment", "print summary.json instead of the summary in words")
	c.Flags().BoolVar(&f.tables, "csv", false, "write products, waste, fills and times as CSV too")
	c.Flags().BoolVar(&f.whatIf, "what-if", false, "also tell how sure it is, which lap costs least, what sections would save, and what is worth going back for")
	return c
}

// assessFlags are what assess takes beside what all commands on one field do.
type assessFlags struct {
	jobFlags
	tables bool // CSV files beside the others
	whatIf bool
}

// files says which files the assessment of a field is written into.
func (f *assessFlags) files() report.Table[*fieldreport.Document] {
	if !f.tables {
		return fieldreport.Files
	}
	wasted := report.Table[*fieldreport.Document]{{"waste.csv", func(d *fieldreport.Document, w io.Writer) error {
		return (&waste.Document{Run: d.Run, Fields: []waste.Field{waste.FieldOf(d.Assessment, "")}}).CSV(w)
	}}}
	return slices.Concat(fieldreport.Tables, wasted, fieldreport.Files)
}

// run loads a job, assesses its field and writes the answer.
func (f *assessFlags) run(c *cobra.Command, args []string) error {
	j, opt, err := f.load(c, args)
	if err != nil {
		return err
	}
	opt.OffRates = true
	if f.whatIf {
		opt.WhatIf = &assess.WhatIfOptions{}
	}
	if len(j.Works()) > 1 {
		return f.runFields(c, j, opt)
	}
	out, err := output.Open(f.out, f.files().Names()...)
	if err != nil {
		return err
	}
	defer out.Discard()
	opt.Once = true
	a, err := assess.Do(j, j.Fields[0], opt)
	if err != nil {
		return err
	}
	d := &fieldreport.Document{Assessment: a}
	opt.Progress("writing")
	if err := output.Write(c.Context(), out, f.files().Of(d)); err != nil {
		return err
	}
	opt.Progress("")
	return f.print(c, d, a.AllWarnings())
}
