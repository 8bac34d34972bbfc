package job

import (
	"slices"
	"strconv"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/machine"
	"lapwing/geo/gnsslog"
)

// An Own is a product whose logs have a working column of its own, such as
// the ammonia of a machine that can seed with its tank empty.
type Own struct {
	Product int // index into Job.Products
	// Machines are those that carry it, at work only where that column says
	// so and, where the log has a working state of the machine, that too.
	Machines []machine.Logged
}

// An ownDraft is an Own before the logs are read.
type ownDraft struct {
	Own
	column entry
}

// ownOf notes that a product has a column of its own.
func (r *reading) ownOf(product int, column entry) {
	const want = "the name of a column of the logs"
	if !column.given() {
		return
	}
	if name, _ := plainName(column.name(want)); name == "" {
		column.fail("found "+strconv.Quote(column.text(want)), want)
	}
	r.job.Products[product].Working = column.text(want)
	own := ownDraft{Own: Own{Product: product}, column: column}
	for _, m := range r.job.Machines {
		if r.job.Products[product].CarriedBy(m.Name) {
			m.Working = machine.AsLogged
			own.Machines = append(own.Machines, m)
		}
	}
	r.own = append(r.own, own)
}

// keeps reports whether a column of that plain name is to be read.
func (r *reading) keeps(plain string) bool {
	return isOurs(plain) || len(r.job.Products) > 0 && isRate(plain) || slices.ContainsFunc(r.rateKeys, func(k rateKey) bool {
		name, _ := plainName(k.entry.text(""))
		return k.entry.given() && name == plain
	}) || slices.ContainsFunc(r.own, func(o ownDraft) bool {
		name, _ := plainName(o.column.text(""))
		return name == plain
	})
}

// ownTrack adds a track of a machine to the products that have a column of
// their own in it.
func (r *reading) ownTrack(c columns, driven *machine.Logged, track machine.Track, pick func(int) bool) error {
	for k := range r.own {
		o := &r.own[k]
		i := slices.IndexFunc(o.Machines, func(m machine.Logged) bool { return m.Name == driven.Name })
		if i < 0 {
			continue
		}
		own := c
		if own.working = c.named(o.column.text("")); own.working == nil {
			o.column.fail("found "+strconv.Quote(o.column.text(""))+", no column of "+c.file,
				"one of each log of the machines that carry "+r.job.Products[o.Product].Name)
			return o.column.page.err
		}
		t, err := newTracker(own, driven.Implement)
		if err != nil {
			return err
		}
		for _, w := range t.warnings {
			if !slices.Contains(r.job.Warnings, w) {
				r.warn(w)
			}
		}
		mine, err := t.track(pick)
		if err != nil {
			return err
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

// named returns the column of a name, however it is written, or nil.
func (c columns) named(name string) *gnsslog.Column {
	want, _ := plainName(name)
	for i := range c.log.Columns {
		if plain, _ := plainName(c.log.Columns[i].Name); plain == want {
			return &c.log.Columns[i]
		}
	}
	return nil
}

// Grounds finds the ground of each product with a column of its own, on the
// field as measured, and returns the products with it.
func (j *Job) Grounds(m *coverage.Map) ([]agronomy.Product, error) {
	products := slices.Clone(j.Products)
	for _, o := range j.Own {
		own, err := coverage.Measure(m.Field, o.Machines, j.Options)
		if err != nil {
			return nil, err
		}
		products[o.Product].Map = own
	}
	return products, nil
}
