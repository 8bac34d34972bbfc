package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"lapwing/coverage/assess"
	"lapwing/coverage/job"
	"lapwing/report/waste"
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
		RunE: f.run,
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

// run assesses fields one after the other, keeps of each what it wasted, and
// writes the answer.
func (f *wasteFlags) run(c *cobra.Command, args []string) error {
	opt := assess.Options{}
	var err error
	if opt.Units, err = unitsOf(f.units); err != nil {
		return err
	}
	if f.runs < 0 {
		return &callError{fmt.Sprintf("--runs: found %d, want 0 or more", f.runs)}
	}
	if f.runs > 0 {
		opt.WhatIf = &assess.WhatIfOptions{Runs: f.runs, OwnGround: true}
	}
	jobs, err := findJobs(args, f.out)
	if err != nil {
		return err
	}
	out, err := openOutput(f.out, waste.Files.Names()...)
	if err != nil {
		return err
	}
	defer out.discard()
	f.ManyFields = true
	in := onDisk(c.InOrStdin())
	say := progress(c.ErrOrStderr())
	var fields []waste.Field
	for i, found := range jobs {
		say(fmt.Sprintf("field %d of %d", i+1, len(jobs)))
		if err := c.Context().Err(); err != nil {
			return err
		}
		of, err := f.wasted(in, found.path, opt)
		if err != nil {
			return err
		}
		fields = append(fields, of...)
	}
	d, err := waste.New(opt.Units, fields)
	if err != nil {
		return err
	}
	if err := write(c.Context(), out, waste.Files.Of(d)); err != nil {
		return err
	}
	say("")
	for i := range d.Fields {
		warn(c, d.Fields[i].InputWarnings())
	}
	if f.json {
		return d.JSON(c.OutOrStdout())
	}
	return d.Text(c.OutOrStdout())
}

// wasted assesses the fields of a job; of several, those that were worked.
func (f *wasteFlags) wasted(in job.Inputs, path string, opt assess.Options) (of []waste.Field, err error) {
	j, err := job.Load(in, path, f.Overrides)
	if err != nil {
		return nil, err
	}
	works := j.Works()
	for _, one := range works {
		a, err := assess.Do(one, one.Fields[0], opt)
		if err != nil {
			return nil, err
		}
		if len(a.Map.Passes) > 0 || len(works) == 1 {
			of = append(of, waste.FieldOf(a, path))
		}
	}
	return of, nil
}
