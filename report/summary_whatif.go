package report

import (
	"lapwing/coverage/agronomy"
	"lapwing/coverage/whatif"
)

type summaryWhatIf struct {
	Sure     summarySure      `json:"how_sure"`
	Laps     summaryLaps      `json:"laps"`
	Sections []summarySection `json:"sections"`
	Back     []summaryWorth   `json:"going_back"`
}

type summaryInterval struct {
	Low    figure `json:"low"`
	Middle figure `json:"middle"`
	High   figure `json:"high"`
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
	ShortTerm figure `json:"short_term_m"`
	Drift     figure `json:"drift_m"`
}

type summarySureOf struct {
	Name   string          `json:"name"`
	Ground summaryInterval `json:"wasted_m2"`
}

type summarySkipSure struct {
	ID        int              `json:"id"`
	Share     figure           `json:"share"`
	Certainty whatif.Certainty `json:"certainty"`
}

type summaryLaps struct {
	Skipped  *figure      `json:"skipped_cost_per_ha"`
	Doubled  *figure      `json:"doubled_cost_per_ha"`
	Currency string       `json:"currency"`
	Unsaid   []string     `json:"unsaid"`
	Studies  []summaryLap `json:"studies"`
}

type summaryLap struct {
	Kind     string           `json:"kind"`
	Length   figure           `json:"length_m"`
	Mean     figure           `json:"lap_m"`
	Spread   figure           `json:"spread_m"`
	Skipped  figure           `json:"skipped_m2"`
	Doubled  figure           `json:"doubled_m2"`
	Cost     figure           `json:"cost"`
	Best     figure           `json:"best_lap_m"`
	BestCost figure           `json:"best_cost"`
	Curve    []summaryLapCost `json:"curve"`
}

type summaryLapCost struct {
	Lap     figure `json:"lap_m"`
	Skipped figure `json:"skipped_cost"`
	Doubled figure `json:"doubled_cost"`
}

type summarySection struct {
	Sections int                   `json:"sections"`
	Wasted   squareMetres          `json:"wasted_m2"`
	Saved    squareMetres          `json:"saved_m2"`
	Products []summarySectionSaves `json:"products"`
}

type summarySectionSaves struct {
	Name     string  `json:"name"`
	Mass     *figure `json:"saved_kg"`
	Nitrogen *figure `json:"saved_n_kg"`
	Cost     *figure `json:"saved_cost"`
}

type summaryWorth struct {
	Skip    int              `json:"skip"`
	Verdict agronomy.Verdict `json:"verdict"`
	Reason  string           `json:"reason"`
	Low     *figure          `json:"brings_low"`
	High    *figure          `json:"brings_high"`
	Time    figure           `json:"time_s"`
	Drive   *figure          `json:"drive_cost"`
	Doubled figure           `json:"doubled_m2"`
	Again   *figure          `json:"doubled_cost"`
}

func intervalIn(i whatif.Interval) summaryInterval {
	return summaryInterval{figure(i.Low), figure(i.Middle), figure(i.High)}
}

// summaryWhatIf is what summary.json says of a field with something changed;
// nil where nobody asked. Skips have the numbers of the list.
func (r *Assessment) summaryWhatIf() *summaryWhatIf {
	w := r.WhatIf
	if w == nil {
		return nil
	}
	out := &summaryWhatIf{Sure: r.summarySure(), Laps: r.summaryLaps(), Sections: []summarySection{}, Back: []summaryWorth{}}
	for k := range w.Sections {
		s := summarySection{Sections: w.Sections[k].Sections, Wasted: squareMetres(r.sectionWaste(k)),
			Saved: squareMetres(r.sectionWaste(0) - r.sectionWaste(k)), Products: []summarySectionSaves{}}
		for i := range r.Accounts {
			p := &r.Accounts[i].Product
			a := p.On(r.carriedWaste(0, p) - r.carriedWaste(k, p))
			s.Products = append(s.Products, summarySectionSaves{p.Name, scaled(a.Mass, 1), scaled(a.N, 1), scaled(a.Cost, 1)})
		}
		out.Sections = append(out.Sections, s)
	}
	by, l := r.worthBySkip(), r.skips()
	for n, i := range l.order[:l.listed] {
		if w := by[i]; w != nil {
			out.Back = append(out.Back, summaryWorth{n + 1, w.Verdict, w.Reason, scaled(w.Low, 1), scaled(w.High, 1),
				figure(w.Time), scaled(w.Drive, 1), figure(w.Doubled), scaled(w.Again, 1)})
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
	for i, row := range r.sureRows() {
		if now := row.Now.SquareMetres(); now < row.In.Low || now > row.In.High {
			out.Outside = append(out.Outside, [...]string{"skip", "overlap", "excess", "overreach"}[i])
		}
	}
	for i, e := range s.Errors {
		out.Receivers = append(out.Receivers, summaryReceiver{r.machineName(i), whatif.QualityOf(&r.Map.Machines[i]).String(),
			figure(e.ShortTerm), figure(e.Drift)})
	}
	for i := range r.Accounts {
		if g := r.WhatIf.Groups[i]; g >= 0 {
			out.Products = append(out.Products, summarySureOf{r.Accounts[i].Product.Name, intervalIn(s.Wasted[g])})
		}
	}
	shares, l := s.Shares(), r.skips()
	for n, i := range l.order[:l.listed] {
		if share, ok := shares[i]; ok {
			out.Skips = append(out.Skips, summarySkipSure{n + 1, figure(share), whatif.CertaintyOf(share)})
		}
	}
	return out
}

func (r *Assessment) summaryLaps() summaryLaps {
	const perHectare = 1e4
	w := r.WhatIf
	out := summaryLaps{Currency: w.Strip.Currency, Unsaid: w.Strip.Unsaid, Studies: []summaryLap{}}
	if w.Strip.Known() {
		out.Skipped, out.Doubled = scaled(&w.Strip.Skipped, perHectare), scaled(&w.Strip.Doubled, perHectare)
	}
	if out.Unsaid == nil {
		out.Unsaid = []string{}
	}
	for i := range w.Laps {
		l := &w.Laps[i]
		s := summaryLap{"interior", figure(l.Length), figure(l.Mean), figure(l.Spread), figure(l.Skipped), figure(l.Doubled),
			figure(l.Cost), figure(l.Best), figure(l.BestCost), nil}
		if l.Headland {
			s.Kind = "headland"
		}
		for _, c := range l.Curve {
			s.Curve = append(s.Curve, summaryLapCost{figure(c.Lap), figure(c.Skipped), figure(c.Doubled)})
		}
		out.Studies = append(out.Studies, s)
	}
	return out
}
