package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/errand"
	"lapwing/coverage/job"
	"lapwing/report"
)

// The files of an errand, in the order they get their names.
const (
	mendGeoJSON = "mend.geojson"
	mendGPX     = "mend.gpx"
	mendKML     = "mend.kml"
	mendPage    = "mend.html"
	mendSummary = "mend.json"
)

// mendFlags are the flags of mend.
type mendFlags struct {
	jobFlags
	machine, from, radius, hour string
	all                         bool
}

func newMend() *cobra.Command {
	var f mendFlags
	c := &cobra.Command{
		Use:   "mend JOB.yaml",
		Short: "Plan the drive that mends the skips worth going back for",
		Long: `mend measures a field as assess does and plans the drive back: which skips are
worth it, in which order, from which end and on which heading each is entered,
and which sections to shut so that only the skip is worked. It writes mend.html,
and mend.gpx, mend.kml and mend.geojson for a handheld.`,
		Example: `  lapwing mend field.yaml
  lapwing mend field.yaml --machine "drill A" --from "-104.61,50.44"`,
		Args: cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, args []string) error { return mend(c, args, &f) },
	}
	f.add(c, "assessment", "print mend.json instead of the plan in words")
	fs := c.Flags()
	fs.StringVar(&f.machine, "machine", "", "who mends (default the machine that worked last)")
	fs.StringVar(&f.from, "from", "", `where it stands, "LON,LAT" (default where its log ends)`)
	fs.StringVar(&f.radius, "turn-radius", "", `how tight it turns, such as "30 ft" (default half its working width, 25 ft at least)`)
	fs.StringVar(&f.hour, "hour", "", `what an hour of going back costs, such as "180 USD": weighs each skip against the job's crop`)
	fs.BoolVar(&f.all, "all", false, "mend every listed skip, small ones too")
	return c
}

// mend loads a job, measures it, plans the errand and writes it.
func mend(c *cobra.Command, args []string, f *mendFlags) error {
	units, err := unitsOf(f.units)
	if err != nil {
		return err
	}
	say := progress(c.ErrOrStderr())
	say("reading")
	j, err := f.loadOne(c, args)
	if err != nil {
		return err
	}
	opt := errand.Options{All: f.all}
	if opt.Machine, err = machineOf(j.Machines, f.machine); err != nil {
		return err
	}
	if f.radius != "" {
		if opt.Radius, err = job.LengthFlag("--turn-radius", f.radius); err != nil {
			return err
		}
	}
	out, err := openOutput(f.out, mendGeoJSON, mendGPX, mendKML, mendPage, mendSummary)
	if err != nil {
		return err
	}
	defer out.discard()
	say("measuring")
	r, err := measure(j, j.Fields[0], units)
	if err != nil {
		return err
	}
	say("planning")
	e, err := plan(r, j.Crop, opt, f)
	if err != nil {
		return err
	}
	say("writing")
	err = write(c.Context(), out, []outputFile{
		{mendGeoJSON, e.GeoJSON}, {mendGPX, e.GPX}, {mendKML, e.KML}, {mendPage, e.Page}, {mendSummary, e.Summary},
	})
	if err != nil {
		return err
	}
	say("")
	warn(c, r.Map.Warnings)
	if f.json {
		return e.Summary(c.OutOrStdout())
	}
	if err := e.Text(c.OutOrStdout()); err != nil {
		return err
	}
	_, err = fmt.Fprintf(c.OutOrStdout(), "Map: %s. For a handheld: %s, %s, %s.\n", out.path(mendPage), mendGPX, mendKML, mendGeoJSON)
	return err
}

// plan chooses the skips and plans the errand.
func plan(r *report.Report, crop *agronomy.Crop, opt errand.Options, f *mendFlags) (*report.Errand, error) {
	m := r.Map
	e := &report.Errand{Report: r, Given: f.from != ""}
	if opt.Machine < 0 {
		opt.Machine = m.LastAtWork()
	}
	opt.Start = m.Stopped(opt.Machine)
	if f.from != "" {
		at, err := job.PlaceFlag("--from", f.from)
		if err != nil {
			return nil, err
		}
		start, near := m.Field.Frame.ToPlane(at)
		if !near {
			return nil, &job.InputError{Where: "--from", Found: fmt.Sprintf("found %q, more than 50 km from the field", f.from), Want: "a place near it, longitude first"}
		}
		opt.Start = start
	}
	verdicts, err := weigh(r, crop, f.hour)
	if err != nil {
		return nil, err
	}
	r.EachSkip(func(i int) {
		switch {
		case verdicts[i] == agronomy.Leave && !f.all:
			e.NotWorth = append(e.NotWorth, i)
			return
		case verdicts[i] == agronomy.Go:
			opt.Must = append(opt.Must, i)
		}
		opt.Skips = append(opt.Skips, i)
	})
	e.Plan = errand.New(m, opt)
	return e, nil
}

// weigh says which skips are worth going back for, where the job has a crop
// and the call what an hour costs.
func weigh(r *report.Report, crop *agronomy.Crop, hour string) (map[int]agronomy.Verdict, error) {
	if hour == "" {
		return nil, nil
	}
	cost, currency, err := job.HourFlag("--hour", hour)
	if err != nil {
		return nil, err
	}
	if crop == nil || crop.Price == nil {
		return nil, &job.InputError{Where: "--hour", Found: "found it, but no crop with a price in the job", Want: "crop: {yield: 45 bu/ac, bushel: 60 lb, price: 6 USD/bu}"}
	}
	if currency != crop.Price.Currency {
		return nil, &job.InputError{Where: "--hour", Found: "found " + currency + ", the crop's price is in " + crop.Price.Currency, Want: "one currency"}
	}
	verdicts := map[int]agronomy.Verdict{}
	for _, w := range r.Worths(crop, agronomy.GoingBack{Cost: cost, Currency: currency}, nil) {
		verdicts[w.Skip] = w.Verdict
	}
	return verdicts, nil
}

// machineOf finds a machine by its name; -1 for none named.
func machineOf(machines []coverage.Machine, name string) (int, error) {
	if name == "" {
		return -1, nil
	}
	var names []string
	for i := range machines {
		if strings.EqualFold(machines[i].Name, name) {
			return i, nil
		}
		names = append(names, machines[i].Name)
	}
	return 0, &job.InputError{Where: "--machine", Found: fmt.Sprintf("found %q", name), Want: strings.Join(names, " or ")}
}
