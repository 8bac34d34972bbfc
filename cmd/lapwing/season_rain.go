package main

import (
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"lapwing/cmd/lapwing/disk"
	"lapwing/cmd/lapwing/rainplan"
	"lapwing/coverage/job"
	"lapwing/coverage/quantity"
)

// rainFlags are the flags of season that ask for the fields before the rain.
type rainFlags struct {
	at, next, roadSpeed, hours string
	machines                   []string
}

func (f *rainFlags) add(c *cobra.Command) {
	fs := c.Flags()
	fs.StringVar(&f.at, "rain-at", "", `when rain is expected, such as "2026-05-04T18:00", in the time zone of the job worked last: with --next says which fields can be finished before`)
	fs.StringVar(&f.next, "next", "", "boundary file of the fields not begun")
	fs.StringVar(&f.roadSpeed, "road-speed", "", `speed between fields, such as "20 mph" (default: no time on the road)`)
	fs.StringVar(&f.hours, "hours", "", `hours worked in a day, such as "7:00-21:00" (default as in the logs of the last days)`)
	fs.StringArrayVar(&f.machines, "machine", nil, "a machine that goes on; may be repeated (default all of the last day)")
}

// mostNext is how many fields may be to come: the roads between them are as many as
// its square. Judgement.
const mostNext = 1000

// read reads the flags and the fields to come; nil where the call does not ask about rain.
func (f *rainFlags) read(c *cobra.Command) (*rainplan.Call, error) {
	changed := c.Flags().Changed
	if !changed("rain-at") {
		for _, flag := range []string{"next", "road-speed", "hours", "machine"} {
			if changed(flag) {
				return nil, rainplan.Wrong("--"+flag, "found without --rain-at", "both")
			}
		}
		return nil, nil
	}
	if !changed("next") {
		return nil, rainplan.Wrong("--rain-at", "found without --next", "both: the boundaries of the fields not begun")
	}
	a := &rainplan.Call{At: f.at, File: f.next, Machines: f.machines}
	_, err := job.TimeFlag("--rain-at", f.at, time.UTC) // its zone comes later
	if err != nil {
		return nil, err
	}
	if changed("road-speed") {
		if a.RoadSpeed, err = job.SpeedFlag("--road-speed", f.roadSpeed); err != nil {
			return nil, err
		}
	}
	if changed("hours") {
		if a.Day, err = rainplan.DayOf(f.hours); err != nil {
			return nil, err
		}
	}
	if a.Next, a.Warnings, err = job.Fields(disk.Inputs(nil), "--next", f.next); err != nil {
		return nil, err
	}
	if n := len(a.Next); n > mostNext {
		return nil, rainplan.Wrong("--next", fmt.Sprintf("found %s fields", quantity.Number(float64(n), 0)), quantity.Number(mostNext, 0)+" at most")
	}
	return a, nil
}
