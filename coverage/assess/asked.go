package assess

import (
	"math"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/whatif"
	"lapwing/geo/plane"
)

// A WhatIf is what the field would be with something changed.
type WhatIf struct {
	Sure     *whatif.HowSure
	Groups   []int // of each account, its index in Sure.Wasted; -1 where it has none
	Sections []whatif.SectionRun
	With     whatif.Switching // of those sections
	Strip    agronomy.StripCosts
	Laps     []agronomy.LapStudy
	Worths   []agronomy.Worth
}

// Squared is an area of so many square metres.
func Squared(m2 float64) plane.Area { return plane.Area(math.Round(m2 * float64(plane.SquareMetre))) }

// A SureRow is ground as measured, with the interval that holds the true area.
type SureRow struct {
	Name string
	Now  plane.Area
	In   whatif.Interval
}

func (r *Assessment) SureRows() []SureRow {
	g, s := r.Map.Ground, r.WhatIf.Sure
	return []SureRow{
		{"Skip", g.Skip - g.Remainder, s.Skip},
		{"Overlap, twice or more", g.Overlap, s.Overlap},
		{"Every visit after the first", g.Excess, s.Excess},
		{"Over-reach, outside", g.OverReach, s.OverReach},
	}
}

// SectionWaste is the waste of a run with sections, by all machines.
func (r *Assessment) SectionWaste(k int) plane.Area {
	sum := 0.0
	for _, m2 := range r.WhatIf.Sections[k].Wasted {
		sum += m2
	}
	return Squared(sum)
}

// CarriedWaste is the waste of a run by the machines that carry a product.
func (r *Assessment) CarriedWaste(k int, p *agronomy.Product) plane.Area {
	sum := 0.0
	for i, m2 := range r.WhatIf.Sections[k].Wasted {
		if p.CarriedBy(r.Map.Machines[i].Name) {
			sum += m2
		}
	}
	return Squared(sum)
}

// SectionCost is what all products with a price would cost on the waste of a
// run; false where none has one, or they differ in currency.
func (r *Assessment) SectionCost(k int) (float64, string, bool) {
	sum, currency := 0.0, ""
	for i := range r.Accounts {
		p := &r.Accounts[i].Product
		if p.Price == nil || currency != "" && p.Price.Currency != currency {
			continue
		}
		if c := p.On(r.CarriedWaste(k, p)).Cost; c != nil {
			sum, currency = sum+*c, p.Price.Currency
		}
	}
	return sum, currency, currency != ""
}

func (r *Assessment) WorthBySkip() map[int]*agronomy.Worth {
	out := map[int]*agronomy.Worth{}
	for k := range r.WhatIf.Worths {
		out[r.WhatIf.Worths[k].Skip] = &r.WhatIf.Worths[k]
	}
	return out
}
