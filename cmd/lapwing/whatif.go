package main

import (
	"lapwing/coverage/agronomy"
	"lapwing/coverage/job"
	"lapwing/coverage/whatif"
	"lapwing/report"
)

// lookFurther answers what takes a measured field many times over: how sure it
// is, which lap costs least, what sections would save, and what is worth going
// back for. The run gets an id of its own, since the files say more. It runs
// so many times, 0 for the usual number, and returns what it took for given.
func lookFurther(r *report.Report, j *job.Job, runs int) (whatif.Options, error) {
	m := r.Map
	opt := whatif.Options{Runs: runs, Errors: receivers(r, j), Steering: j.GNSS.Steering}
	w := &report.WhatIf{With: j.Switching}
	for i := range r.Accounts {
		a := &r.Accounts[i]
		if a.Map != m {
			w.Groups = append(w.Groups, -1) // on ground of its own
			continue
		}
		carries := make([]bool, len(m.Machines))
		for k := range carries {
			carries[k] = a.Product.CarriedBy(m.Machines[k].Name)
		}
		w.Groups = append(w.Groups, len(opt.Groups))
		opt.Groups = append(opt.Groups, carries)
	}
	w.Sure = whatif.Sure(m, opt)
	w.Sections = whatif.Sections(m, w.With)
	w.Strip = r.StripCosts(j.Crop)
	w.Laps = agronomy.Laps(m, w.Strip)
	w.Worths = r.Worths(j.Crop, j.GoingBack, w.Sure.Shares())
	r.WhatIf = w
	var err error
	r.Run, err = runID(r)
	return opt, err
}

// receivers are the errors of the machines' receivers: what the job says, or
// else what their fixes are known for.
func receivers(r *report.Report, j *job.Job) []whatif.Error {
	out := make([]whatif.Error, len(r.Map.Machines))
	for i := range out {
		out[i] = whatif.ErrorOf(whatif.QualityOf(&r.Map.Machines[i]))
		if j.GNSS.ShortTerm != nil {
			out[i].ShortTerm = *j.GNSS.ShortTerm
		}
		if j.GNSS.Drift != nil {
			out[i].Drift = *j.GNSS.Drift
		}
	}
	return out
}
