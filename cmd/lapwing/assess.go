package main

import (
	"slices"

	"github.com/spf13/cobra"

	"lapwing/report"
)

// The files of an assessment, in the order they get their names.
const (
	geoJSONFile = "coverage.geojson"
	pageFile    = "report.html"
	summaryFile = "summary.json"
)

// The tables of an assessment, for who asks for them.
const (
	productsCSVFile = "products.csv"
	fillsCSVFile    = "fills.csv"
	timesCSVFile    = "times.csv"
)

// assessment is the files of the assessment of one field.
func assessment(r *report.Report, tables bool) []outputFile {
	files := []outputFile{{geoJSONFile, r.GeoJSON}, {pageFile, r.Page}}
	if tables {
		files = append(files, outputFile{productsCSVFile, r.ProductsCSV}, outputFile{wasteCSVFile, r.WasteCSV},
			outputFile{fillsCSVFile, r.FillsCSV}, outputFile{timesCSVFile, r.TimesCSV})
	}
	return append(files, outputFile{summaryFile, r.Summary})
}

// assessmentNames are their names.
func assessmentNames(tables bool) (names []string) {
	for _, f := range assessment(nil, tables) {
		names = append(names, f.name)
	}
	return names
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
		RunE: func(c *cobra.Command, args []string) error { return assess(c, args, &f) },
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

// assess loads a job, measures it, prices it and writes the answer.
func assess(c *cobra.Command, args []string, f *assessFlags) error {
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
	if len(j.Fields) > 1 {
		return assessFields(c, j, f, units, say)
	}
	out, err := openOutput(f.out, assessmentNames(f.tables)...)
	if err != nil {
		return err
	}
	defer out.discard()
	say("measuring")
	r, err := measure(j, j.Fields[0], units)
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
	err = write(c.Context(), out, assessment(r, f.tables))
	if err != nil {
		return err
	}
	say("")
	warn(c, slices.Concat(r.Map.Warnings, r.Warnings))
	if f.json {
		return r.Summary(c.OutOrStdout())
	}
	return r.Text(c.OutOrStdout())
}
