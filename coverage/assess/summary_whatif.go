package assess

import (
	"lapwing/coverage/agronomy"
	"lapwing/coverage/whatif"
)

// A WhatIfSummary is what the field would be with something changed.
type WhatIfSummary struct {
	Sure     SureSummary      `json:"how_sure"`
	Laps     LapsSummary      `json:"laps"`
	Driven   SquareMetres     `json:"wasted_as_driven_m2"` // what sections are told against
	Sections []SectionSummary `json:"sections"`
	Back     []WorthSummary   `json:"going_back"`
}

// An IntervalSummary holds the true figure in nine cases of ten.
type IntervalSummary struct {
	Low    Figure `json:"low"`
	Middle Figure `json:"middle"`
	High   Figure `json:"high"`
}

// A SureSummary is how far the figures may be off because the receivers are.
type SureSummary struct {
	Runs      int               `json:"runs"`
	Steering  string            `json:"steering"`
	Receivers []ReceiverSummary `json:"receivers"`
	Skip      IntervalSummary   `json:"skip_m2"`
	Overlap   IntervalSummary   `json:"overlap_m2"`
	Excess    IntervalSummary   `json:"excess_m2"`
	OverReach IntervalSummary   `json:"overreach_m2"`
	Outside   []string          `json:"measured_outside"`
	Products  []ProductInterval `json:"products"`
	Skips     []SkipCertainty   `json:"skips"`
}

// A ReceiverSummary is what a receiver was taken to err by.
type ReceiverSummary struct {
	Machine   string `json:"machine"`
	Quality   string `json:"quality"`
	ShortTerm Figure `json:"short_term_m"`
	Drift     Figure `json:"drift_m"`
}

// A ProductInterval is the ground that a product was truly wasted on.
type ProductInterval struct {
	Name   string          `json:"name"`
	Ground IntervalSummary `json:"wasted_m2"`
}

// A SkipCertainty is how sure a listed skip is.
type SkipCertainty struct {
	ID        int              `json:"id"`
	Share     Figure           `json:"share"`
	Certainty whatif.Certainty `json:"certainty"`
}

// A LapsSummary is which lap would have cost least.
type LapsSummary struct {
	Skipped  *Figure      `json:"skipped_cost_per_ha"`
	Doubled  *Figure      `json:"doubled_cost_per_ha"`
	Currency string       `json:"currency"`
	Unsaid   []string     `json:"unsaid"`
	Studies  []LapSummary `json:"studies"`
}

// A LapSummary is the laps of the interior, or of the headland.
type LapSummary struct {
	Kind     string           `json:"kind"`
	Length   Figure           `json:"length_m"`
	Mean     Figure           `json:"lap_m"`
	Spread   Figure           `json:"spread_m"`
	Skipped  Figure           `json:"skipped_m2"`
	Doubled  Figure           `json:"doubled_m2"`
	Cost     Figure           `json:"cost"`
	Best     Figure           `json:"best_lap_m"`
	BestCost Figure           `json:"best_cost"`
	Curve    []LapCostSummary `json:"curve"`
}

// A LapCostSummary is what one mean lap would have cost.
type LapCostSummary struct {
	Lap     Figure `json:"lap_m"`
	Skipped Figure `json:"skipped_cost"`
	Doubled Figure `json:"doubled_cost"`
}

// A SectionSummary is what bars in so many sections would have wasted, and saved
// against what was driven; below zero where they are worse.
type SectionSummary struct {
	Sections int             `json:"sections"`
	Own      bool            `json:"own"` // today's sections of each bar
	Wasted   SquareMetres    `json:"wasted_m2"`
	Saved    SquareMetres    `json:"saved_m2"`
	Products []SectionSaving `json:"products"`
}

// A SectionSaving is what sections would have saved of a product.
type SectionSaving struct {
	Name     string  `json:"name"`
	Mass     *Figure `json:"saved_kg"`
	Nitrogen *Figure `json:"saved_n_kg"`
	Cost     *Figure `json:"saved_cost"`
}

// A WorthSummary says whether a skip is worth going back for.
type WorthSummary struct {
	Skip    int              `json:"skip"`
	Verdict agronomy.Verdict `json:"verdict"`
	Reason  string           `json:"reason"`
	Low     *Figure          `json:"brings_low"`
	High    *Figure          `json:"brings_high"`
	Time    Figure           `json:"time_s"`
	Drive   *Figure          `json:"drive_cost"`
	Doubled Figure           `json:"doubled_m2"`
	Again   *Figure          `json:"doubled_cost"`
}

func intervalIn(i whatif.Interval) IntervalSummary {
	return IntervalSummary{Figure(i.Low), Figure(i.Middle), Figure(i.High)}
}

// SummarizeWhatIf is what summary.json says of a field with something changed;
// nil where that was not asked. Skips have the numbers of the list.
func (a *Assessment) SummarizeWhatIf() *WhatIfSummary {
	w := a.WhatIf
	if w == nil {
		return nil
	}
	out := &WhatIfSummary{Sure: a.summarySure(), Laps: a.summaryLaps(), Back: []WorthSummary{}}
	out.Driven, out.Sections = a.summarySections()
	by, l := a.WorthBySkip(), a.Skips()
	for number, i := range l.Each() {
		if w := by[i]; w != nil {
			out.Back = append(out.Back, WorthSummary{number, w.Verdict, w.Reason, Scaled(w.Low, 1), Scaled(w.High, 1),
				Figure(w.Time), Scaled(w.Drive, 1), Figure(w.Doubled), Scaled(w.Again, 1)})
		}
	}
	return out
}

// summarySections tells of the trials after the first, which is what was driven,
// against it.
func (a *Assessment) summarySections() (driven SquareMetres, out []SectionSummary) {
	out = []SectionSummary{}
	choices := a.SectionChoices()
	for k := 1; k < len(choices); k++ {
		c := &choices[k]
		driven = SquareMetres(choices[0].Ground)
		s := SectionSummary{Sections: c.Sections, Own: c.Bar == whatif.OwnSections, Wasted: SquareMetres(c.Ground),
			Saved: driven - SquareMetres(c.Ground), Products: []SectionSaving{}}
		for i := range a.Accounts {
			p := &a.Accounts[i].Product
			was, would := p.On(a.carriedWaste(0, p)), p.On(a.carriedWaste(k, p))
			s.Products = append(s.Products, SectionSaving{p.Name, less(was.Mass, would.Mass), less(was.N, would.N), less(was.Cost, would.Cost)})
		}
		out = append(out, s)
	}
	return driven, out
}

// less is x - y; nil where one is not known.
func less(x, y *float64) *Figure {
	if x == nil || y == nil {
		return nil
	}
	f := Figure(*x - *y)
	return &f
}

func (a *Assessment) summarySure() SureSummary {
	s := a.WhatIf.Sure
	out := SureSummary{
		Runs: s.Runs, Steering: "other", Skip: intervalIn(s.Skip), Overlap: intervalIn(s.Overlap),
		Excess: intervalIn(s.Excess), OverReach: intervalIn(s.OverReach),
		Outside: []string{}, Receivers: []ReceiverSummary{}, Products: []ProductInterval{}, Skips: []SkipCertainty{},
	}
	if s.ByReceiver {
		out.Steering = "receiver"
	}
	for _, i := range a.Intervals() {
		if !i.Holds() {
			out.Outside = append(out.Outside, i.Of)
		}
	}
	for i, e := range s.Errors {
		out.Receivers = append(out.Receivers, ReceiverSummary{a.MachineName(i), a.WhatIf.Quality[i].String(),
			Figure(e.ShortTerm), Figure(e.Drift)})
	}
	for i := range a.Accounts {
		if in := a.WastedOnField(i); in != nil {
			out.Products = append(out.Products, ProductInterval{a.Accounts[i].Product.Name, intervalIn(*in)})
		}
	}
	shares, l := s.Shares(), a.Skips()
	for number, i := range l.Each() {
		if share, ok := shares[i]; ok {
			out.Skips = append(out.Skips, SkipCertainty{number, Figure(share), whatif.CertaintyOf(share)})
		}
	}
	return out
}

func (a *Assessment) summaryLaps() LapsSummary {
	const perHectare = 1e4
	w := a.WhatIf
	out := LapsSummary{Currency: w.Strip.Currency, Unsaid: w.Strip.Unsaid, Studies: []LapSummary{}}
	if w.Strip.Known() {
		out.Skipped, out.Doubled = Scaled(&w.Strip.Skipped, perHectare), Scaled(&w.Strip.Doubled, perHectare)
	}
	if out.Unsaid == nil {
		out.Unsaid = []string{}
	}
	for i := range w.Laps {
		l := &w.Laps[i]
		s := LapSummary{"interior", Figure(l.Length), Figure(l.Mean), Figure(l.Spread), Figure(l.Skipped), Figure(l.Doubled),
			Figure(l.Cost), Figure(l.Best), Figure(l.BestCost), nil}
		if l.Headland {
			s.Kind = "headland"
		}
		for _, c := range l.Curve {
			s.Curve = append(s.Curve, LapCostSummary{Figure(c.Lap), Figure(c.Skipped), Figure(c.Doubled)})
		}
		out.Studies = append(out.Studies, s)
	}
	return out
}
