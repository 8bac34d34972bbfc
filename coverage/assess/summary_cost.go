package assess

import (
	"math"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/geo"
)

// What it cost, and when the rest will be done, in summary.json.

// A AmountSummary is what a product comes to on some ground.
type AmountSummary struct {
	Ground    SquareMetres `json:"ground_m2"`
	Mass      *Figure      `json:"kg"`
	Volume    *Figure      `json:"l"`
	N         *Figure      `json:"n_kg"`
	Phosphate *Figure      `json:"p2o5_kg"`
	Potash    *Figure      `json:"k2o_kg"`
	Cost      *Figure      `json:"cost"`
}

func AmountOf(a agronomy.Amount) AmountSummary {
	return AmountSummary{
		SquareMetres(a.Area), Scaled(a.Mass, 1), Scaled(a.Volume, Litres),
		Scaled(a.N, 1), Scaled(a.Phosphate, 1), Scaled(a.Potash, 1), Scaled(a.Cost, 1),
	}
}

type WasteSummary struct {
	Total     AmountSummary   `json:"total"`
	ByCause   []CauseAmount   `json:"by_cause"`
	Slivers   AmountSummary   `json:"too_small"`
	OverReach AmountSummary   `json:"overreach"`
	ByMachine []MachineAmount `json:"by_machine"`
	ByPass    []PassAmount    `json:"by_pass"`
}

type CauseAmount struct {
	Cause coverage.Cause `json:"cause"`
	AmountSummary
}

type MachineAmount struct {
	Machine string `json:"machine"`
	AmountSummary
}

type PassAmount struct {
	Pass int `json:"pass"`
	AmountSummary
}

func summaryWasteOf(a *agronomy.Account) WasteSummary {
	w := &a.Waste
	out := WasteSummary{
		Total: AmountOf(a.Wasted), Slivers: AmountOf(w.Slivers), OverReach: AmountOf(w.OverReach),
		ByCause: []CauseAmount{}, ByMachine: []MachineAmount{}, ByPass: []PassAmount{},
	}
	for _, c := range w.ByCause {
		out.ByCause = append(out.ByCause, CauseAmount{c.Cause, AmountOf(c.Amount)})
	}
	for _, m := range w.ByMachine {
		out.ByMachine = append(out.ByMachine, MachineAmount{a.Map.Machines[m.Machine].Name, AmountOf(m.Amount)})
	}
	for _, p := range w.ByPass {
		out.ByPass = append(out.ByPass, PassAmount{p.Pass, AmountOf(p.Amount)})
	}
	return out
}

type BasisSummary struct {
	Swept  SquareMetres `json:"swept_m2"`
	Wasted SquareMetres `json:"wasted_m2"`
	Short  SquareMetres `json:"short_m2"`
}

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

type StretchSummary struct {
	From   MarkSummary `json:"from"`
	To     MarkSummary `json:"to"`
	Ground Figure      `json:"ground_m2"`
}

type FillSummary struct {
	From   MarkSummary `json:"from"`
	To     MarkSummary `json:"to"`
	Ground Figure      `json:"ground_m2"`
	Left   Figure      `json:"left_l"`
}

type MarkSummary struct {
	Pass  int     `json:"pass"`
	Along Metres  `json:"along_m"`
	Lon   Degrees `json:"lon"`
	Lat   Degrees `json:"lat"`
	Time  string  `json:"time"`
}

func summaryTanksOf(a *agronomy.Account) []TankSummary {
	out := []TankSummary{}
	mark := func(m agronomy.Mark) MarkSummary { return MarkOf(a.Map, m) }
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
func MarkOf(m *coverage.Map, at agronomy.Mark) MarkSummary {
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

type ChangeSummary struct {
	Cause    coverage.Cause  `json:"cause"`
	Cost     *Figure         `json:"cost"`
	Currency string          `json:"currency"`
	Saves    []ProductAmount `json:"saves"`
}

type ProductAmount struct {
	Product string `json:"product"`
	AmountSummary
}

func (a *Assessment) summaryChange() *ChangeSummary {
	if len(a.Changes) == 0 {
		return nil
	}
	c := &a.Changes[0]
	out := &ChangeSummary{Cause: c.Cause, Cost: Scaled(c.Cost, 1), Currency: c.Currency, Saves: []ProductAmount{}}
	for i, s := range c.Saves {
		out.Saves = append(out.Saves, ProductAmount{a.Accounts[i].Product.Name, AmountOf(s)})
	}
	return out
}

type LossSummary struct {
	Ground   SquareMetres `json:"ground_m2"`
	Crop     Figure       `json:"crop_kg"`
	Value    *Figure      `json:"value"`
	Unspent  *Figure      `json:"unspent"`
	Net      *Figure      `json:"net"`
	Currency string       `json:"currency"`
	Unsaid   []string     `json:"not_said"`
}

func (a *Assessment) summaryLoss() *LossSummary {
	l := a.Loss
	if l == nil {
		return nil
	}
	return &LossSummary{
		SquareMetres(l.Area), Figure(l.Crop), Scaled(l.Value, 1), Scaled(l.Unspent, 1), Scaled(l.Net, 1), l.Currency,
		append([]string{}, l.Unsaid...),
	}
}

// A TurnsSummary is the rate in turns. All figures are of ground as swept,
// every visit by itself.
type TurnsSummary struct {
	Bounds    []Figure `json:"bounds"`
	Ground    []Figure `json:"ground_m2"`
	Reversing Figure   `json:"reversing_m2"`
	OffTarget Figure   `json:"off_target_m2"`
	Share     Figure   `json:"off_target_share"`
	Least     *Figure  `json:"least"`
	Most      *Figure  `json:"most"`
}

func (a *Assessment) summaryDose() TurnsSummary {
	d := &a.TurnRates
	out := TurnsSummary{Reversing: Figure(d.Reversing), OffTarget: Figure(d.OffTarget()), Share: Figure(d.OffTarget() / d.Total())}
	for _, b := range coverage.DoseBounds {
		out.Bounds = append(out.Bounds, Figure(b))
	}
	for _, g := range d.Ground {
		out.Ground = append(out.Ground, Figure(g))
	}
	if d.Most > 0 {
		out.Least, out.Most = Scaled(&d.Least, 1), Scaled(&d.Most, 1)
	}
	return out
}

// A TimeSummary is where the time of one machine went.
type TimeSummary struct {
	Machine     string        `json:"machine"`
	From        string        `json:"from"`
	To          string        `json:"to"`
	Working     Figure        `json:"working_s"`
	Turning     Figure        `json:"turning_s"`
	Standing    Figure        `json:"standing_s"`
	Stopped     Figure        `json:"stopped_s"`
	Travelling  Figure        `json:"travelling_s"`
	Silent      Figure        `json:"silent_s"`
	Stops       []StopSummary `json:"stops"`
	New         SquareMetres  `json:"new_m2"`
	Speed       Figure        `json:"speed_mps"`
	Capacity    Figure        `json:"capacity_m2_per_s"`
	Theoretical Figure        `json:"theoretical_m2_per_s"`
	Efficiency  Figure        `json:"efficiency"`
}

type StopSummary struct {
	Lon   Degrees `json:"lon"`
	Lat   Degrees `json:"lat"`
	From  string  `json:"from"`
	Stood Figure  `json:"stood_s"`
}

func (a *Assessment) Times() []TimeSummary {
	out := []TimeSummary{}
	for i := range a.Clocks {
		c := &a.Clocks[i]
		t := TimeSummary{
			Machine: a.MachineName(c.Machine), From: Stamp(c.From), To: Stamp(c.To),
			Working: seconds(c.Working), Turning: seconds(c.Turning), Standing: seconds(c.Standing),
			Stopped: seconds(c.Stopped), Travelling: seconds(c.Travelling), Silent: seconds(c.Silent),
			Stops: []StopSummary{}, New: SquareMetres(c.New), Speed: Figure(c.Speed),
			Capacity: Figure(c.Capacity()), Theoretical: Figure(c.Theoretical()), Efficiency: Figure(c.Efficiency()),
		}
		for _, s := range c.Stops {
			at := a.Map.Field.Frame.ToEarth(s.At)
			t.Stops = append(t.Stops, StopSummary{DegreesOf(at.Lon), DegreesOf(at.Lat), Stamp(s.From), seconds(s.Stood)})
		}
		out = append(out, t)
	}
	return out
}

type ForecastSummary struct {
	Left     SquareMetres  `json:"left_m2"`
	Now      string        `json:"now"`
	Machines []string      `json:"machines"`
	Capacity Figure        `json:"capacity_m2_per_s"`
	Finish   string        `json:"finish"`
	Early    *string       `json:"early"`
	Late     *string       `json:"late"`
	RainAt   *string       `json:"rain_at"`
	ByRain   *SquareMetres `json:"left_at_rain_m2"`
	Before   *string       `json:"before_rain"`
}

func (a *Assessment) summaryForecast() *ForecastSummary {
	f := a.Forecast
	if f == nil {
		return nil
	}
	out := &ForecastSummary{
		Left: SquareMetres(f.Left), Now: Stamp(f.Now), Machines: a.MachineNames(f.Machines),
		Capacity: Figure(f.Capacity), Finish: stampSecond(f.Finish),
	}
	if f.Late != 0 {
		early, late := stampSecond(f.Early), stampSecond(f.Late)
		out.Early, out.Late = &early, &late
	}
	if a.RainAt != nil {
		rain := geo.InstantOf(*a.RainAt)
		at, left, before := Stamp(rain), SquareMetres(f.By(rain)), BeforeRain(f, rain)
		out.RainAt, out.ByRain, out.Before = &at, &left, &before
	}
	return out
}

// BeforeRain says whether the finish comes before the rain: "yes" or "no"
// where the whole interval says so, else "likely" or "unlikely".
func BeforeRain(f *coverage.Forecast, rain geo.Instant) string {
	switch {
	case f.Late != 0 && f.Late <= rain:
		return "yes"
	case f.Early != 0 && f.Early > rain:
		return "no"
	case f.Finish <= rain:
		return "likely"
	}
	return "unlikely"
}

// A LoggedSummary is what the logs tell of a product's rate.
type LoggedSummary struct {
	Ground Figure       `json:"ground_m2"`
	Mean   *Figure      `json:"mean"` // as a share of the product's rate
	Dry    []DrySummary `json:"dry"`
}

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
