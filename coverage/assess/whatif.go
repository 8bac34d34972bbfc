package assess

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/machine"
	"lapwing/coverage/whatif"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// WhatIfOptions say how far to look into what would be with something changed.
type WhatIfOptions struct {
	Runs int // how often the field is measured again; zero means 200
	// OwnGround asks for the waste of products too whose ground is found by a
	// working column of their own: each takes as many runs again.
	OwnGround bool
}

// A WhatIf is what the field would be with something changed.
type WhatIf struct {
	Sure     *whatif.HowSure
	Quality  []geo.Quality      // that most fixes of each machine have
	Wasted   []*whatif.Interval // of each account, in m²; nil where it was not asked for
	Sections []whatif.SectionTrial
	Strip    agronomy.StripCosts
	Laps     []agronomy.LapStudy
	Worths   []agronomy.Worth
}

// ask measures the field many times over: how sure it is, which lap costs least,
// what sections would save, and what is worth going back for.
func (a *Assessment) ask(j *job.Job, q *WhatIfOptions) *WhatIf {
	m := a.Map
	w := &WhatIf{Wasted: make([]*whatif.Interval, len(a.Accounts))}
	for i := range m.Machines {
		w.Quality = append(w.Quality, whatif.QualityOf(m, i))
	}
	opt := whatif.Options{Runs: q.Runs, Errors: receiverErrors(w.Quality, j.GNSS), Steering: j.GNSS.Steering}
	var here []int // the accounts whose ground lies on m
	for i := range a.Accounts {
		if account := &a.Accounts[i]; account.Map == m {
			here = append(here, i)
			opt.Groups = append(opt.Groups, carriers(account))
		}
	}
	w.Sure = whatif.Sure(m, opt)
	a.warnOfFewerRuns(w.Sure)
	for group, i := range here {
		w.Wasted[i] = &w.Sure.Wasted[group]
	}
	if q.OwnGround {
		for i := range a.Accounts {
			if w.Wasted[i] == nil {
				w.Wasted[i] = a.wastedOnOwnGround(&a.Accounts[i], opt)
			}
		}
	}
	w.Sections = whatif.Sections(m, j.Switching)
	w.Strip = a.StripCosts()
	w.Laps = agronomy.Laps(m, w.Strip)
	usual, err := a.drive(MendQuestion{Machine: -1})
	if err != nil { // never: no place was named that could be too far
		panic(err)
	}
	w.Worths, _ = a.weigh(usual, j.GoingBack, w.Sure.Shares())
	return w
}

// receiverErrors are the errors of the machines' receivers: what the job says,
// or else what their fixes are known for.
func receiverErrors(quality []geo.Quality, gnss spec.GNSS) []whatif.ReceiverError {
	out := make([]whatif.ReceiverError, len(quality))
	for i := range out {
		out[i] = receiverError(quality[i], gnss)
	}
	return out
}

// receiverError is the error of one of them.
func receiverError(quality geo.Quality, gnss spec.GNSS) whatif.ReceiverError {
	out := whatif.ErrorOf(quality)
	if gnss.ShortTerm != nil {
		out.ShortTerm = *gnss.ShortTerm
	}
	if gnss.Drift != nil {
		out.Drift = *gnss.Drift
	}
	return out
}

// carriers tells of each machine whether it carries the product of an account.
func carriers(a *agronomy.Account) []bool {
	out := make([]bool, len(a.Map.Machines))
	for i := range out {
		out[i] = a.Product.CarriedBy(a.Map.Machines[i].Name)
	}
	return out
}

// wastedOnOwnGround asks the map of a product that has one of its own, as the
// field's map was asked by opt.
func (a *Assessment) wastedOnOwnGround(account *agronomy.Account, opt whatif.Options) *whatif.Interval {
	errors := make([]whatif.ReceiverError, len(account.Map.Machines))
	for i := range errors {
		name := account.Map.Machines[i].Name
		errors[i] = opt.Errors[slices.IndexFunc(a.Map.Machines, func(m machine.Machine) bool { return m.Name == name })]
	}
	opt.Errors, opt.Groups, opt.MostSkips = errors, [][]bool{carriers(account)}, 1 // no skip is asked for
	sure := whatif.Sure(account.Map, opt)
	a.warnOfFewerRuns(sure)
	return &sure.Wasted[0]
}

// warnOfFewerRuns says where a map was measured again less often than it was to be.
func (a *Assessment) warnOfFewerRuns(h *whatif.HowSure) {
	if h.Runs < h.Asked {
		a.Warnings = append(a.Warnings, field.Warning{Text: fmt.Sprintf(
			"swaths cross one another too often to measure the field again %d times: how sure the figures are is told from %d", h.Asked, h.Runs)})
	}
}

// WastedOnField is the interval of the waste of an account whose ground lies on
// the field's map; nil for one with ground of its own.
func (a *Assessment) WastedOnField(account int) *whatif.Interval {
	if a.Accounts[account].Product.Working != "" {
		return nil
	}
	return a.WhatIf.Wasted[account]
}

// A MeasuredInterval is ground as measured, and the interval that holds the true
// area.
type MeasuredInterval struct {
	Of       string // skip, overlap, excess or overreach
	Measured plane.Area
	In       whatif.Interval
}

// Holds reports whether what was measured lies in the interval.
func (i *MeasuredInterval) Holds() bool {
	m2 := i.Measured.SquareMetres()
	return i.In.Low <= m2 && m2 <= i.In.High
}

// Intervals are those of skip, overlap, excess and over-reach.
func (a *Assessment) Intervals() []MeasuredInterval {
	g, s := a.Map.Totals, a.WhatIf.Sure
	return []MeasuredInterval{
		{"skip", g.Skip - g.Remainder, s.Skip},
		{"overlap", g.Overlap, s.Overlap},
		{"excess", g.Excess, s.Excess},
		{"overreach", g.OverReach, s.OverReach},
	}
}

// AreaOf is the area of so many square metres, to the nearest that is one.
func AreaOf(m2 float64) plane.Area { return plane.Area(math.Round(m2 * float64(plane.SquareMetre))) }

// A SectionChoice is what a field, or several, would have wasted with the bars of a
// [whatif.SectionTrial].
type SectionChoice struct {
	Bar      whatif.Bar
	Sections int  // of the bar that has most; 0 as driven
	OneBar   bool // all machines have so many
	Ground   plane.Area
	N        *float64 // kg of nitrogen in the products that have some; nil where none has
	Costs    []Money  // of the products with a price, by currency
}

// Money is an amount of one currency.
type Money struct {
	Value    float64
	Currency string
}

// SectionChoices are the trials with sections, priced at the products' rates: what
// was driven, the bars' own sections, then more.
func (a *Assessment) SectionChoices() []SectionChoice {
	var out []SectionChoice
	for k := range a.WhatIf.Sections {
		trial := &a.WhatIf.Sections[k]
		c := SectionChoice{Bar: trial.Bar, Sections: trial.Sections, OneBar: true}
		sum := 0.0
		for i, m2 := range trial.Wasted {
			sum += m2
			if trial.Bar == whatif.OwnSections {
				c.OneBar = c.OneBar && max(1, len(a.Map.Machines[i].Implement.Sections)) == trial.Sections
			}
		}
		c.Ground = AreaOf(sum)
		for i := range a.Accounts {
			p := &a.Accounts[i].Product
			amount := p.On(a.carriedWaste(k, p))
			if amount.N != nil {
				c.N = plus(c.N, *amount.N)
			}
			if amount.Cost != nil {
				c.pay(Money{*amount.Cost, p.Price.Currency})
			}
		}
		out = append(out, c)
	}
	return out
}

// pay adds money to what a choice costs.
func (c *SectionChoice) pay(m Money) {
	for i := range c.Costs {
		if c.Costs[i].Currency == m.Currency {
			c.Costs[i].Value += m.Value
			return
		}
	}
	c.Costs = append(c.Costs, m)
}

// CostIn is what a choice costs in a currency.
func (c *SectionChoice) CostIn(currency string) float64 {
	for _, m := range c.Costs {
		if m.Currency == currency {
			return m.Value
		}
	}
	return 0
}

// plus returns x + y, where a nil x is none.
func plus(x *float64, y float64) *float64 {
	if x != nil {
		y += *x
	}
	return &y
}

// TogetherChoices adds up the choices of several fields. A field whose bars cannot
// be cut into so many sections counts with the most, up to those, that they can.
func TogetherChoices(fields [][]SectionChoice) []SectionChoice {
	var out []SectionChoice
	for _, choices := range fields {
		for _, c := range choices {
			i := slices.IndexFunc(out, func(o SectionChoice) bool {
				return o.Bar == c.Bar && (c.Bar != whatif.Equal || o.Sections == c.Sections)
			})
			if i < 0 {
				out = append(out, SectionChoice{Bar: c.Bar, Sections: c.Sections, OneBar: c.OneBar})
				continue
			}
			o := &out[i]
			o.OneBar = o.OneBar && c.OneBar && o.Sections == c.Sections
			o.Sections = max(o.Sections, c.Sections)
		}
	}
	order := []whatif.Bar{whatif.AsDriven, whatif.OwnSections, whatif.Equal}
	slices.SortStableFunc(out, func(c, d SectionChoice) int {
		return cmp.Or(cmp.Compare(slices.Index(order, c.Bar), slices.Index(order, d.Bar)), cmp.Compare(c.Sections, d.Sections))
	})
	for i := range out {
		sum := &out[i]
		for _, choices := range fields {
			var best *SectionChoice
			for k := range choices {
				c := &choices[k]
				if c.Bar == sum.Bar && c.Sections <= sum.Sections || sum.Bar == whatif.Equal && c.Bar == whatif.OwnSections {
					best = c
				}
			}
			if best == nil {
				continue
			}
			sum.Ground += best.Ground
			if best.N != nil {
				sum.N = plus(sum.N, *best.N)
			}
			for _, m := range best.Costs {
				sum.pay(m)
			}
		}
	}
	return out
}

// carriedWaste is the waste of a trial by the machines that carry a product.
func (a *Assessment) carriedWaste(trial int, p *agronomy.Product) plane.Area {
	sum := 0.0
	for i, m2 := range a.WhatIf.Sections[trial].Wasted {
		if p.CarriedBy(a.Map.Machines[i].Name) {
			sum += m2
		}
	}
	return AreaOf(sum)
}

// WorthBySkip is what is worth going back for, by the skips' indices into
// Map.Skips.
func (a *Assessment) WorthBySkip() map[int]*agronomy.Worth {
	out := map[int]*agronomy.Worth{}
	for k := range a.WhatIf.Worths {
		out[a.WhatIf.Worths[k].Skip] = &a.WhatIf.Worths[k]
	}
	return out
}
