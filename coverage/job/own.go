package job

import (
	"slices"
	"strconv"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/machine"
	"lapwing/coverage/worklog"
)

// An Own is a product whose ground is not that of the machines that carry it: its logs
// have a working column of its own, such as the ammonia of a machine that can seed with
// its tank empty, it ran out, or its rate is not known everywhere.
type Own struct {
	Product int // index into Job.Products
	// Machines are those that carry it, at work only where that column says
	// so and, where the log has a working state of the machine, that too; nil where
	// its ground is the field's.
	Machines []machine.Logged
	// Told are the same machines, at work only where the logs tell the rate as well;
	// nil where they do throughout.
	Told []machine.Logged
}

// An ownDraft is an Own before the logs are read.
type ownDraft struct {
	Own
	column spec.Text
}

// ownOf notes that a product has a column of its own, if it has.
func (u *understanding) ownOf(product int) {
	column := u.spec.Products[product].Column
	if !column.Given {
		return
	}
	own := ownDraft{Own: Own{Product: product}, column: column}
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

// ProductMaps finds the ground of each product with a column of its own, on the
// field as measured, and returns the products with it.
func (j *Job) ProductMaps(m *coverage.Map) ([]agronomy.Product, error) {
	products := slices.Clone(j.Products)
	for _, o := range j.Own {
		p := &products[o.Product]
		for _, of := range []struct {
			machines []machine.Logged
			to       **coverage.Map
		}{{o.Machines, &p.Map}, {o.Told, &p.Told}} {
			if of.machines == nil {
				continue
			}
			own, err := coverage.Measure(m.Field, of.machines, j.Options)
			if err != nil {
				return nil, err
			}
			*of.to = own
		}
	}
	return products, nil
}
