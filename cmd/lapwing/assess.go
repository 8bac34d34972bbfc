package main

import (
	"io"
	"slices"

	"github.com/spf13/cobra"

	"lapwing/report"
	fieldreport "lapwing/report/field"
	"lapwing/report/waste"
)

// The files of an assessment that others read.
const (
	geoJSONFile = "coverage.geojson"
	pageFile    = "report.html"
	summaryFile = "summary.json"
)

// assessed are the files of the assessment of one field, tabled its tables
// beside them, for who asks for them.
var (
	assessed = report.Table[*fieldreport.Document]{
		{Name: geoJSONFile, Write: (*fieldreport.Document).GeoJSON},
		{Name: pageFile, Write: (*fieldreport.Document).Page},
		{Name: summaryFile, Write: func(r *fieldreport.Document, w io.Writer) error { return r.WriteSummary(w) }},
	}
	tabled = report.Table[*fieldreport.Document]{
		{Name: "products.csv", Write: (*fieldreport.Document).ProductsCSV},
		{Name: "waste.csv", Write: func(r *fieldreport.Document, w io.Writer) error { return wasteOf(r).CSV(w) }},
		{Name: "fills.csv", Write: (*fieldreport.Document).FillsCSV},
		{Name: "times.csv", Write: (*fieldreport.Document).TimesCSV},
	}
)

// assessment says which files the assessment of one field is written into.
func assessment(tables bool) report.Table[*fieldreport.Document] {
	if tables {
		return slices.Concat(tabled, assessed)
	}
	return assessed
}

// wasteOf is what one field wasted.
func wasteOf(r *fieldreport.Document) *waste.Document {
	return &waste.Document{Fields: []waste.Field{waste.FieldOf(r.Assessment, "")}}
}

func newAssess() *cobra.Command {
	var f assessFlags
	c := &cobra.Command{
		Use:   "assess JOB.yaml",
		Short: "Assess a field: skips, overlaps, headland, products",
		Long: `assess works out which ground of a field was covered, and writes
summary.json, coverage.geojson and report.html into a directory. Where the
boundaries are those of several fields, each field gets a directory of its own
in there, and --json prints an array. With --csv the products, their waste by
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

// run loads a job, measures it, prices it and writes the answer.
func (f *assessFlags) run(c *cobra.Command, args []string) error {
	units, err := unitsOf(f.units)
	if err != nil {
		return err
	}
	say := progress(c.ErrOrStderr())
	say("reading")
	j, err := f.load(c, args)
	if err != nil {
		return err
	}
	if len(j.Others) > 0 {
		return assessFields(c, j, f, units, say)
	}
	out, err := openOutput(f.out, assessment(f.tables).Names()...)
	if err != nil {
		return err
	}
	defer out.discard()
	say("measuring")
	r, err := measure(j, units)
	if err != nil {
		return err
	}
	r.OffRates = r.Map.OffRates() // for the plat
	if f.whatIf {
		say("asking what if")
		if _, err := lookFurther(r, j, 0); err != nil {
			return err
		}
	}
	say("writing")
	err = write(c.Context(), out, assessment(f.tables).Of(r))
	if err != nil {
		return err
	}
	say("")
	warn(c, slices.Concat(r.Map.Warnings, r.Warnings))
	if f.json {
		return r.WriteSummary(c.OutOrStdout())
	}
	return r.Text(c.OutOrStdout())
}
