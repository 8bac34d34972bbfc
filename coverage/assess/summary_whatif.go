package assess

import (
	"lapwing/coverage/agronomy"
	"lapwing/coverage/figure"
	"lapwing/coverage/whatif"
)

// A WhatIfSummary is what the field would be with something changed.
type WhatIfSummary struct {
	Sure     SureSummary         `json:"how_sure"`
	Laps     LapsSummary         `json:"laps"`
	Driven   figure.SquareMetres `json:"wasted_as_driven_m2"` // what sections are told against
	Sections []SectionSummary    `json:"sections"`
	Back     []WorthSummary      `json:"going_back"`
}

// An IntervalSummary holds the true figure in nine cases of ten.
type IntervalSummary struct {
	Low    figure.Number `json:"low"`
	Middle figure.Number `json:"middle"`
	High   figure.Number `json:"high"`
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
	Machine   string        `json:"machine"`
	Quality   string        `json:"quality"`
	ShortTerm figure.Number `json:"short_term_m"`
	Drift     figure.Number `json:"drift_m"`
}

// A ProductInterval is the ground that a product was truly wasted on.
type ProductInterval struct {
	Name   string          `json:"name"`
	Ground IntervalSummary `json:"wasted_m2"`
}

// A SkipCertainty is how sure a listed skip is.
type SkipCertainty struct {
	ID        int              `json:"id"`
	Share     figure.Number    `json:"share"`
	Certainty whatif.Certainty `json:"certainty"`
}

// A LapsSummary is which lap would have cost least.
type LapsSummary struct {
	Skipped  *figure.Number `json:"skipped_cost_per_ha"`
	Doubled  *figure.Number `json:"doubled_cost_per_ha"`
	Currency string         `json:"currency"`
	Unsaid   []string       `json:"unsaid"`
	Studies  []LapSummary   `json:"studies"`
}

// A LapSummary is the laps of the interior, or of the headland.
type LapSummary struct {
	Kind     string           `json:"kind"`
	Length   figure.Number    `json:"length_m"`
	Mean     figure.Number    `json:"lap_m"`
	Spread   figure.Number    `json:"spread_m"`
	Skipped  figure.Number    `json:"skipped_m2"`
	Doubled  figure.Number    `json:"doubled_m2"`
	Cost     figure.Number    `json:"cost"`
	Best     figure.Number    `json:"best_lap_m"`
	BestCost figure.Number    `json:"best_cost"`
	Curve    []LapCostSummary `json:"curve"`
}

// A LapCostSummary is what one mean lap would have cost.
type LapCostSummary struct {
	Lap     figure.Number `json:"lap_m"`
	Skipped figure.Number `json:"skipped_cost"`
	Doubled figure.Number `json:"doubled_cost"`
}

// A SectionSummary is what bars in so many sections would have wasted, and saved
// against what was driven; below zero where they are worse.
type SectionSummary struct {
	Sections int                 `json:"sections"`
	Own      bool                `json:"own"` // today's sections of each bar
	Wasted   figure.SquareMetres `json:"wasted_m2"`
	Saved    figure.SquareMetres `json:"saved_m2"`
	Products []SectionSaving     `json:"products"`
}

// A SectionSaving is what sections would have saved of a product.
type SectionSaving struct {
	Name     string         `json:"name"`
	Mass     *figure.Number `json:"saved_kg"`
	Nitrogen *figure.Number `json:"saved_n_kg"`
	Cost     *figure.Number `json:"saved_cost"`
}

// A WorthSummary says whether a skip is worth going back for.
type WorthSummary struct {
	Skip    int              `json:"skip"`
	Verdict agronomy.Verdict `json:"verdict"`
	Reason  string           `json:"reason"`
	Low     *figure.Number   `json:"brings_low"`
	High    *figure.Number   `json:"brings_high"`
	Time    figure.Number    `json:"time_s"`
	Drive   *figure.Number   `json:"drive_cost"`
	Doubled figure.Number    `json:"doubled_m2"`
	Again   *figure.Number   `json:"doubled_cost"`
}

func intervalIn(i whatif.Interval) IntervalSummary {
	return IntervalSummary{figure.Number(i.Low), figure.Number(i.Middle), figure.Number(i.High)}
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
			out.Back = append(out.Back, WorthSummary{number, w.Verdict, w.Reason, figure.Scaled(w.Low, 1), figure.Scaled(w.High, 1),
				figure.Number(w.Time), figure.Scaled(w.Drive, 1), figure.Number(w.Doubled), figure.Scaled(w.Again, 1)})
		}
	}
	return out
}

// summarySections tells of the trials after the first, which is what was driven,
// against it.
func (a *Assessment) summarySections() (driven figure.SquareMetres, out []SectionSummary) {
	out = []SectionSummary{}
	choices := a.SectionChoices()
	for k := 1; k < len(choices); k++ {
		c := &choices[k]
		driven = figure.SquareMetres(choices[0].Ground)
		s := SectionSummary{Sections: c.Sections, Own: c.Bar == whatif.OwnSections, Wasted: figure.SquareMetres(c.Ground),
			Saved: driven - figure.SquareMetres(c.Ground), Products: []SectionSaving{}}
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
func less(x, y *float64) *figure.Number {
	if x == nil || y == nil {
		return nil
	}
	f := figure.Number(*x - *y)
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
			figure.Number(e.ShortTerm), figure.Number(e.Drift)})
	}
	for i := range a.Accounts {
		if in := a.WastedOnField(i); in != nil {
			out.Products = append(out.Products, ProductInterval{a.Accounts[i].Product.Name, intervalIn(*in)})
		}
	}
	shares, l := s.Shares(), a.Skips()
	for number, i := range l.Each() {
		if share, ok := shares[i]; ok {
			out.Skips = append(out.Skips, SkipCertainty{number, figure.Number(share), whatif.CertaintyOf(share)})
		}
	}
	return out
}

func (a *Assessment) summaryLaps() LapsSummary {
	const perHectare = 1e4
	w := a.WhatIf
	out := LapsSummary{Currency: w.Strip.Currency, Unsaid: w.Strip.Unsaid, Studies: []LapSummary{}}
	if w.Strip.Known() {
		out.Skipped, out.Doubled = figure.Scaled(&w.Strip.Skipped, perHectare), figure.Scaled(&w.Strip.Doubled, perHectare)
	}
	if out.Unsaid == nil {
		out.Unsaid = []string{}
	}
	for i := range w.Laps {
		l := &w.Laps[i]
		s := LapSummary{"interior", figure.Number(l.Length), figure.Number(l.Mean), figure.Number(l.Spread), figure.Number(l.Skipped), figure.Number(l.Doubled),
			figure.Number(l.Cost), figure.Number(l.Best), figure.Number(l.BestCost), nil}
		if l.Headland {
			s.Kind = "headland"
		}
		for _, c := range l.Curve {
			s.Curve = append(s.Curve, LapCostSummary{figure.Number(c.Lap), figure.Number(c.Skipped), figure.Number(c.Doubled)})
		}
		out.Studies = append(out.Studies, s)
	}
	return out
}
