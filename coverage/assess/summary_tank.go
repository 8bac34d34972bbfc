package assess

import (
	"math"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
)

// A TankSummary is one machine's tank of a product.
type TankSummary struct {
	Machine  string            `json:"machine"`
	Filled   Figure            `json:"filled_l"`
	Ground   Figure            `json:"fill_m2"`
	Expected int               `json:"expected"`
	Reported *int              `json:"reported"`
	Fills    []FillSummary     `json:"fills"`
	Dry      []StretchSummary  `json:"dry"`
	DryBy    agronomy.Evidence `json:"dry_by"`
}

// A StretchSummary is ground worked from one place to another.
type StretchSummary struct {
	From   MarkSummary `json:"from"`
	To     MarkSummary `json:"to"`
	Ground Figure      `json:"ground_m2"`
}

// A FillSummary is one tankful on its way over the field.
type FillSummary struct {
	From   MarkSummary `json:"from"`
	To     MarkSummary `json:"to"`
	Ground Figure      `json:"ground_m2"`
	Left   Figure      `json:"left_l"`
}

// A MarkSummary is a place on the way of a pass. Time is "" where its log has no
// clock.
type MarkSummary struct {
	Pass  int     `json:"pass"`
	Along Metres  `json:"along_m"`
	Lon   Degrees `json:"lon"`
	Lat   Degrees `json:"lat"`
	Time  string  `json:"time"`
}

func summaryTanksOf(a *agronomy.Account) []TankSummary {
	out := []TankSummary{}
	mark := func(m agronomy.PassPlace) MarkSummary { return MarkOf(a.Map, m) }
	for _, l := range a.Tanks {
		t := TankSummary{
			Machine: a.Map.Machines[l.Machine].Name, Filled: Figure(l.Filled * Litres), Ground: Figure(l.FillArea),
			Expected: l.Expected, Reported: nonZero(l.Reported), Dry: []StretchSummary{}, DryBy: l.DryBy,
		}
		for _, f := range l.Fills {
			t.Fills = append(t.Fills, FillSummary{mark(f.From), mark(f.To), Figure(f.Area), Figure(f.Left * Litres)})
		}
		for _, d := range l.Dry {
			on := dryMap(a, &l)
			t.Dry = append(t.Dry, StretchSummary{MarkOf(on, d.From), MarkOf(on, d.To), Figure(d.Area)})
		}
		out = append(out, t)
	}
	return out
}

// MarkOf writes a place on the way of a pass of m.
func MarkOf(m *coverage.Map, at agronomy.PassPlace) MarkSummary {
	place := m.Field.Frame.ToEarth(at.At)
	s := MarkSummary{Pass: at.Pass, Along: MetresOf(at.Along), Lon: DegreesOf(place.Lon), Lat: DegreesOf(place.Lat)}
	if HasClock(m, &m.Passes[at.Pass-1]) {
		s.Time = stampSecond(at.Time)
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
	Ground Figure       `json:"ground_m2"`
	Mean   *Figure      `json:"mean"` // as a share of the product's rate
	Dry    []DrySummary `json:"dry"`
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
	out := &LoggedSummary{Ground: Figure(l.Area), Dry: []DrySummary{}}
	if mean := l.Mean(); !math.IsNaN(mean) {
		out.Mean = Scaled(&mean, 1)
	}
	for _, d := range l.Dry {
		out.Dry = append(out.Dry, DrySummary{l.Map.Machines[d.Machine].Name,
			StretchSummary{MarkOf(l.Map, d.From), MarkOf(l.Map, d.To), Figure(d.Area)}})
	}
	return out
}
