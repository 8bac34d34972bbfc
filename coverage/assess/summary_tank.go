package assess

import (
	"math"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/figure"
)

// A TankSummary is one machine's tank of a product.
type TankSummary struct {
	Machine  string            `json:"machine"`
	Filled   figure.Number     `json:"filled_l"`
	Ground   figure.Number     `json:"fill_m2"`
	Expected int               `json:"expected"`
	Reported *int              `json:"reported"`
	Fills    []FillSummary     `json:"fills"`
	Dry      []StretchSummary  `json:"dry"`
	DryBy    agronomy.Evidence `json:"dry_by"`
}

// A StretchSummary is ground worked from one place to another.
type StretchSummary struct {
	From   MarkSummary   `json:"from"`
	To     MarkSummary   `json:"to"`
	Ground figure.Number `json:"ground_m2"`
}

// A FillSummary is one tankful on its way over the field.
type FillSummary struct {
	From   MarkSummary   `json:"from"`
	To     MarkSummary   `json:"to"`
	Ground figure.Number `json:"ground_m2"`
	Left   figure.Number `json:"left_l"`
}

// A MarkSummary is a place on the way of a pass. Time is "" where its log has no
// clock.
type MarkSummary struct {
	Pass  int            `json:"pass"`
	Along figure.Metres  `json:"along_m"`
	Lon   figure.Degrees `json:"lon"`
	Lat   figure.Degrees `json:"lat"`
	Time  string         `json:"time"`
}

func summaryTanksOf(a *agronomy.Account) []TankSummary {
	out := []TankSummary{}
	mark := func(m agronomy.PassPlace) MarkSummary { return MarkOf(a.Map, m) }
	for _, l := range a.Tanks {
		t := TankSummary{
			Machine: a.Map.Machines[l.Machine].Name, Filled: figure.Number(l.Filled * figure.Litres), Ground: figure.Number(l.FillArea),
			Expected: l.Expected, Reported: nonZero(l.Reported), Dry: []StretchSummary{}, DryBy: l.DryBy,
		}
		for _, f := range l.Fills {
			t.Fills = append(t.Fills, FillSummary{mark(f.From), mark(f.To), figure.Number(f.Area), figure.Number(f.Left * figure.Litres)})
		}
		for _, d := range l.Dry {
			on := dryMap(a, &l)
			t.Dry = append(t.Dry, StretchSummary{MarkOf(on, d.From), MarkOf(on, d.To), figure.Number(d.Area)})
		}
		out = append(out, t)
	}
	return out
}

// MarkOf writes a place on the way of a pass of m.
func MarkOf(m *coverage.Map, at agronomy.PassPlace) MarkSummary {
	place := m.Field.Frame.ToEarth(at.At)
	s := MarkSummary{Pass: at.Pass, Along: figure.MetresOf(at.Along), Lon: figure.DegreesOf(place.Lon), Lat: figure.DegreesOf(place.Lat)}
	if HasClock(m, &m.Passes[at.Pass-1]) {
		s.Time = figure.StampSecond(at.Time)
	}
	return s
}

// dryMap is the map whose passes the marks of a tank's dry stretches are of.
func dryMap(a *agronomy.Account, l *agronomy.Ledger) *coverage.Map {
	if l.DryBy == agronomy.ByRate {
		return a.Logged.Map
	}
	return a.Map
}

// A LoggedSummary is what the logs tell of a product's rate.
type LoggedSummary struct {
	Ground figure.Number  `json:"ground_m2"`
	Mean   *figure.Number `json:"mean"` // as a share of the product's rate
	Dry    []DrySummary   `json:"dry"`
}

// A DrySummary is a stretch that a machine worked while no product came.
type DrySummary struct {
	Machine string `json:"machine"`
	StretchSummary
}

func summaryLoggedOf(a *agronomy.Account) *LoggedSummary {
	l := a.Logged
	if l == nil {
		return nil
	}
	out := &LoggedSummary{Ground: figure.Number(l.Area), Dry: []DrySummary{}}
	if mean := l.Mean(); !math.IsNaN(mean) {
		out.Mean = figure.Scaled(&mean, 1)
	}
	for _, d := range l.Dry {
		out.Dry = append(out.Dry, DrySummary{l.Map.Machines[d.Machine].Name,
			StretchSummary{MarkOf(l.Map, d.From), MarkOf(l.Map, d.To), figure.Number(d.Area)}})
	}
	return out
}
