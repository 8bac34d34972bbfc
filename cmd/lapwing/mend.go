package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"lapwing/cmd/lapwing/output"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/job"
	"lapwing/report/mend"
)

// mendFlags are the flags of mend.
type mendFlags struct {
	jobFlags
	machine, from, fromLonLat, radius, hour string
	all                                     bool
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
  lapwing mend field.yaml --machine "drill A" --from "50.44,-104.61"`,
		Args: cobra.ArbitraryArgs,
		RunE: f.run,
	}
	f.add(c, "assessment", "print mend.json instead of the plan in words")
	fs := c.Flags()
	fs.StringVar(&f.machine, "machine", "", "who mends (default the machine that worked last)")
	fs.StringVar(&f.from, "from", "", `where it stands, "LAT,LON" (default where its log ends)`)
	fs.StringVar(&f.fromLonLat, "from-lonlat", "", `the same, "LON,LAT"`)
	c.MarkFlagsMutuallyExclusive("from", "from-lonlat")
	fs.StringVar(&f.radius, "turn-radius", "", `how tight it turns, such as "30 ft" (default half its working width, 25 ft at least)`)
	fs.StringVar(&f.hour, "hour", "", `what an hour of going back costs, such as "180 USD": weighs each skip against the job's crop`)
	fs.BoolVar(&f.all, "all", false, "mend every listed skip, small ones too")
	return c
}

// run loads a job, measures its field, plans the drive and writes it.
func (f *mendFlags) run(c *cobra.Command, args []string) error {
	j, opt, err := f.loadOne(c, args)
	if err != nil {
		return err
	}
	if opt.Mend, err = f.question(j); err != nil {
		return err
	}
	out, err := output.Open(f.out, mend.Files.Names()...)
	if err != nil {
		return err
	}
	defer out.Discard()
	opt.Once = true
	a, err := assess.Do(j, j.Fields[0], opt)
	if errors.Is(err, assess.ErrFar) {
		if f.from == "" {
			return &job.InputError{Where: "--from-lonlat", Found: fmt.Sprintf("found %q, more than 50 km from the field", f.fromLonLat), Want: "a place near it, longitude first"}
		}
		return &job.InputError{Where: "--from", Found: fmt.Sprintf("found %q, more than 50 km from the field", f.from), Want: "a place near it, latitude first (--from-lonlat takes the longitude first)"}
	}
	if err != nil {
		return err
	}
	d := &mend.Document{Assessment: a}
	opt.Progress("writing")
	if err := output.Write(c.Context(), out, mend.Files.Of(d)); err != nil {
		return err
	}
	opt.Progress("")
	if f.json {
		return f.print(c, d, a.Warnings)
	}
	if err := f.print(c, d, nil); err != nil {
		return err
	}
	_, err = fmt.Fprintf(c.OutOrStdout(), "Map: %s. For a handheld: mend.gpx, mend.kml, mend.geojson.\n", out.Path(mend.PageFile))
	warn(c, a.Warnings)
	return err
}

// question says what the flags ask.
func (f *mendFlags) question(j *job.Job) (*assess.MendQuestion, error) {
	q := &assess.MendQuestion{All: f.all}
	var err error
	if q.Machine, err = machineOf(j, f.machine); err != nil {
		return nil, err
	}
	if f.radius != "" {
		if q.Radius, err = job.LengthFlag("--turn-radius", f.radius); err != nil {
			return nil, err
		}
	}
	switch {
	case f.from != "":
		at, err := job.PlaceFlag("--from", f.from)
		if err != nil {
			return nil, err
		}
		q.Start = &at
	case f.fromLonLat != "":
		at, err := job.LonLatFlag("--from-lonlat", f.fromLonLat)
		if err != nil {
			return nil, err
		}
		q.Start = &at
	}
	q.GoingBack, err = goingBack(j, f.hour)
	return q, err
}

// goingBack is what going back costs by the job, or by what --hour says of an hour, which
// the crop's price is weighed against.
func goingBack(j *job.Job, hour string) (agronomy.GoingBack, error) {
	back := j.GoingBack
	if hour == "" {
		return back, nil
	}
	var err error
	back.Cost, back.Currency, err = job.HourFlag("--hour", hour)
	switch {
	case err != nil:
	case j.Crop == nil || j.Crop.Price == nil:
		err = &job.InputError{Where: "--hour", Found: "found it, but no crop with a price in the job", Want: "crop: {yield: 45 bu/ac, bushel: 60 lb, price: 6 USD/bu}"}
	case back.Currency != j.Crop.Price.Currency:
		err = &job.InputError{Where: "--hour", Found: "found " + back.Currency + ", the crop's price is in " + j.Crop.Price.Currency, Want: "one currency"}
	}
	return back, err
}
