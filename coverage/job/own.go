package job

import (
	"slices"
	"strconv"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/machine"
	"lapwing/coverage/worklog"
)

// An ownDraft is an [agronomy.Own] before the logs are read.
type ownDraft struct {
	agronomy.Own
	column spec.Text
}

// ownOf notes that a product has a column of its own, if it has.
func (u *understanding) ownOf(product int) {
	column := u.spec.Products[product].Column
	if !column.Given {
		return
	}
	own := ownDraft{Own: agronomy.Own{Product: product}, column: column}
	for _, m := range u.job.Machines {
		if u.job.Products[product].CarriedBy(m.Name) {
			m.Working = machine.AsLogged
			own.Machines = append(own.Machines, m)
		}
	}
	u.own = append(u.own, own)
}

// ownTrack adds a track of a machine to the products that have a column of
// their own in it.
func (u *understanding) ownTrack(l worklog.Log, driven *machine.Logged, track machine.Track, pick func(int) bool) error {
	for k := range u.own {
		o := &u.own[k]
		i := slices.IndexFunc(o.Machines, func(m machine.Logged) bool { return m.Name == driven.Name })
		if i < 0 {
			continue
		}
		own, ok := l.WithWorking(o.column.Text)
		if !ok {
			return o.column.Wrong("found "+strconv.Quote(o.column.Text)+", no column of "+l.File,
				"one of each log of the machines that carry "+u.job.Products[o.Product].Name)
		}
		mine, warnings, err := own.Track(driven.Implement, pick)
		if err != nil {
			return err
		}
		for _, w := range warnings {
			u.warnOnce(w)
		}
		if track.Rates != nil {
			mine.Rates = track.Rates
			for j := range mine.Fixes {
				mine.Fixes[j].Fix = track.Fixes[j].Fix
			}
		}
		if track.WorkingLogged && driven.Working == machine.AsLogged {
			for j := range mine.Fixes {
				mine.Fixes[j].Working = mine.Fixes[j].Working && track.Fixes[j].Working
			}
		}
		o.Machines[i].Tracks = append(o.Machines[i].Tracks, mine)
	}
	return nil
}
