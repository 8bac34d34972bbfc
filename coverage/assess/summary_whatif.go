package assess

import (
	"lapwing/coverage/agronomy"
	"lapwing/coverage/whatif"
)

type SummaryWhatIf struct {
	Sure     summarySure      `json:"how_sure"`
	Laps     SummaryLaps      `json:"laps"`
	Sections []SummarySection `json:"sections"`
	Back     []summaryWorth   `json:"going_back"`
}

type summaryInterval struct {
	Low    Figure `json:"low"`
	Middle Figure `json:"middle"`
	High   Figure `json:"high"`
}

type summarySure struct {
	Runs      int               `json:"runs"`
	Steering  string            `json:"steering"`
	Receivers []summaryReceiver `json:"receivers"`
	Skip      summaryInterval   `json:"skip_m2"`
	Overlap   summaryInterval   `json:"overlap_m2"`
	Excess    summaryInterval   `json:"excess_m2"`
	OverReach summaryInterval   `json:"overreach_m2"`
	Outside   []string          `json:"measured_outside"`
	Products  []summarySureOf   `json:"products"`
	Skips     []summarySkipSure `json:"skips"`
}

type summaryReceiver struct {
	Machine   string `json:"machine"`
	Quality   string `json:"quality"`
	ShortTerm Figure `json:"short_term_m"`
	Drift     Figure `json:"drift_m"`
}

type summarySureOf struct {
	Name   string          `json:"name"`
	Ground summaryInterval `json:"wasted_m2"`
}

type summarySkipSure struct {
	ID        int              `json:"id"`
	Share     Figure           `json:"share"`
	Certainty whatif.Certainty `json:"certainty"`
}

type SummaryLaps struct {
	Skipped  *Figure      `json:"skipped_cost_per_ha"`
	Doubled  *Figure      `json:"doubled_cost_per_ha"`
	Currency string       `json:"currency"`
	Unsaid   []string     `json:"unsaid"`
	Studies  []summaryLap `json:"studies"`
}

type summaryLap struct {
	Kind     string           `json:"kind"`
	Length   Figure           `json:"length_m"`
	Mean     Figure           `json:"lap_m"`
	Spread   Figure           `json:"spread_m"`
	Skipped  Figure           `json:"skipped_m2"`
	Doubled  Figure           `json:"doubled_m2"`
	Cost     Figure           `json:"cost"`
	Best     Figure           `json:"best_lap_m"`
	BestCost Figure           `json:"best_cost"`
	Curve    []summaryLapCost `json:"curve"`
}

type summaryLapCost struct {
	Lap     Figure `json:"lap_m"`
	Skipped Figure `json:"skipped_cost"`
	Doubled Figure `json:"doubled_cost"`
}

type SummarySection struct {
	Sections int                   `json:"sections"`
	Wasted   SquareMetres          `json:"wasted_m2"`
	Saved    SquareMetres          `json:"saved_m2"`
	Products []summarySectionSaves `json:"products"`
}

type summarySectionSaves struct {
	Name     string  `json:"name"`
	Mass     *Figure `json:"saved_kg"`
	Nitrogen *Figure `json:"saved_n_kg"`
	Cost     *Figure `json:"saved_cost"`
}

type summaryWorth struct {
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

func intervalIn(i whatif.Interval) summaryInterval {
	return summaryInterval{Figure(i.Low), Figure(i.Middle), Figure(i.High)}
}

// SummaryWhatIf is what summary.json says of a field with something changed;
// nil where nobody asked. Skips have the numbers of the list.
func (r *Assessment) SummaryWhatIf() *SummaryWhatIf {
	w := r.WhatIf
	if w == nil {
		return nil
	}
	out := &SummaryWhatIf{Sure: r.summarySure(), Laps: r.summaryLaps(), Sections: []SummarySection{}, Back: []summaryWorth{}}
	for k := range w.Sections {
		s := SummarySection{Sections: w.Sections[k].Sections, Wasted: SquareMetres(r.SectionWaste(k)),
			Saved: SquareMetres(r.SectionWaste(0) - r.SectionWaste(k)), Products: []summarySectionSaves{}}
		for i := range r.Accounts {
			p := &r.Accounts[i].Product
			a := p.On(r.CarriedWaste(0, p) - r.CarriedWaste(k, p))
			s.Products = append(s.Products, summarySectionSaves{p.Name, Scaled(a.Mass, 1), Scaled(a.N, 1), Scaled(a.Cost, 1)})
		}
		out.Sections = append(out.Sections, s)
	}
	by, l := r.WorthBySkip(), r.Skips()
	for n, i := range l.Order[:l.Listed] {
		if w := by[i]; w != nil {
			out.Back = append(out.Back, summaryWorth{n + 1, w.Verdict, w.Reason, Scaled(w.Low, 1), Scaled(w.High, 1),
				Figure(w.Time), Scaled(w.Drive, 1), Figure(w.Doubled), Scaled(w.Again, 1)})
		}
	}
	return out
}

func (r *Assessment) summarySure() summarySure {
	s := r.WhatIf.Sure
	out := summarySure{
		Runs: s.Runs, Steering: "other", Skip: intervalIn(s.Skip), Overlap: intervalIn(s.Overlap),
		Excess: intervalIn(s.Excess), OverReach: intervalIn(s.OverReach),
		Outside: []string{}, Receivers: []summaryReceiver{}, Products: []summarySureOf{}, Skips: []summarySkipSure{},
	}
	if s.ByReceiver {
		out.Steering = "receiver"
	}
	for _, i := range r.Intervals() {
		if !i.Holds() {
			out.Outside = append(out.Outside, i.Of)
		}
	}
	for i, e := range s.Errors {
		out.Receivers = append(out.Receivers, summaryReceiver{r.MachineName(i), r.WhatIf.Quality[i].String(),
			Figure(e.ShortTerm), Figure(e.Drift)})
	}
	for i := range r.Accounts {
		if in := r.WastedOnField(i); in != nil {
			out.Products = append(out.Products, summarySureOf{r.Accounts[i].Product.Name, intervalIn(*in)})
		}
	}
	shares, l := s.Shares(), r.Skips()
	for n, i := range l.Order[:l.Listed] {
		if share, ok := shares[i]; ok {
			out.Skips = append(out.Skips, summarySkipSure{n + 1, Figure(share), whatif.CertaintyOf(share)})
		}
	}
	return out
}

func (r *Assessment) summaryLaps() SummaryLaps {
	const perHectare = 1e4
	w := r.WhatIf
	out := SummaryLaps{Currency: w.Strip.Currency, Unsaid: w.Strip.Unsaid, Studies: []summaryLap{}}
	if w.Strip.Known() {
		out.Skipped, out.Doubled = Scaled(&w.Strip.Skipped, perHectare), Scaled(&w.Strip.Doubled, perHectare)
	}
	if out.Unsaid == nil {
		out.Unsaid = []string{}
	}
	for i := range w.Laps {
		l := &w.Laps[i]
		s := summaryLap{"interior", Figure(l.Length), Figure(l.Mean), Figure(l.Spread), Figure(l.Skipped), Figure(l.Doubled),
			Figure(l.Cost), Figure(l.Best), Figure(l.BestCost), nil}
		if l.Headland {
			s.Kind = "headland"
		}
		for _, c := range l.Curve {
			s.Curve = append(s.Curve, summaryLapCost{Figure(c.Lap), Figure(c.Skipped), Figure(c.Doubled)})
		}
		out.Studies = append(out.Studies, s)
	}
	return out
}
