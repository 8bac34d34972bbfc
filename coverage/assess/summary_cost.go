package assess

import (
	"math"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/cause"
	"lapwing/coverage/pace"
	"lapwing/coverage/sweep"
	"lapwing/geo"
)

// What it cost, and when the rest will be done, in summary.json.

// A SummaryAmount is what a product comes to on some ground.
type SummaryAmount struct {
	Ground    SquareMetres `json:"ground_m2"`
	Mass      *Figure      `json:"kg"`
	Volume    *Figure      `json:"l"`
	N         *Figure      `json:"n_kg"`
	Phosphate *Figure      `json:"p2o5_kg"`
	Potash    *Figure      `json:"k2o_kg"`
	Cost      *Figure      `json:"cost"`
}

func AmountOf(a agronomy.Amount) SummaryAmount {
	return SummaryAmount{
		SquareMetres(a.Area), Scaled(a.Mass, 1), Scaled(a.Volume, Litres),
		Scaled(a.N, 1), Scaled(a.Phosphate, 1), Scaled(a.Potash, 1), Scaled(a.Cost, 1),
	}
}

type summaryWaste struct {
	Total     SummaryAmount  `json:"total"`
	ByCause   []CauseAmount  `json:"by_cause"`
	Slivers   SummaryAmount  `json:"too_small"`
	OverReach SummaryAmount  `json:"overreach"`
	ByMachine []machineShare `json:"by_machine"`
	ByPass    []passShare    `json:"by_pass"`
}

type CauseAmount struct {
	Cause cause.OverlapCause `json:"cause"`
	SummaryAmount
}

type machineShare struct {
	Machine string `json:"machine"`
	SummaryAmount
}

type passShare struct {
	Pass int `json:"pass"`
	SummaryAmount
}

func summaryWasteOf(a *agronomy.Account) summaryWaste {
	w := &a.Waste
	out := summaryWaste{
		Total: AmountOf(a.Wasted), Slivers: AmountOf(w.Slivers), OverReach: AmountOf(w.OverReach),
		ByCause: []CauseAmount{}, ByMachine: []machineShare{}, ByPass: []passShare{},
	}
	for _, c := range w.ByCause {
		out.ByCause = append(out.ByCause, CauseAmount{c.Cause, AmountOf(c.Amount)})
	}
	for _, m := range w.ByMachine {
		out.ByMachine = append(out.ByMachine, machineShare{a.Map.Machines[m.Machine].Name, AmountOf(m.Amount)})
	}
	for _, p := range w.ByPass {
		out.ByPass = append(out.ByPass, passShare{p.Pass, AmountOf(p.Amount)})
	}
	return out
}

type summaryProductGround struct {
	Swept  SquareMetres `json:"swept_m2"`
	Wasted SquareMetres `json:"wasted_m2"`
	Short  SquareMetres `json:"short_m2"`
}

// A summaryTank is one machine's tank of a product.
type summaryTank struct {
	Machine  string            `json:"machine"`
	Filled   Figure            `json:"filled_l"`
	Ground   Figure            `json:"fill_m2"`
	Expected int               `json:"expected"`
	Reported *int              `json:"reported"`
	Fills    []summaryFill     `json:"fills"`
	Dry      []summaryStretch  `json:"dry"`
	DryBy    agronomy.Evidence `json:"dry_by"`
}

type summaryStretch struct {
	From   summaryMark `json:"from"`
	To     summaryMark `json:"to"`
	Ground Figure      `json:"ground_m2"`
}

type summaryFill struct {
	From   summaryMark `json:"from"`
	To     summaryMark `json:"to"`
	Ground Figure      `json:"ground_m2"`
	Left   Figure      `json:"left_l"`
}

type summaryMark struct {
	Pass  int     `json:"pass"`
	Along Metres  `json:"along_m"`
	Lon   Degrees `json:"lon"`
	Lat   Degrees `json:"lat"`
	Time  string  `json:"time"`
}

func summaryTanksOf(a *agronomy.Account) []summaryTank {
	out := []summaryTank{}
	mark := func(m agronomy.Mark) summaryMark { return SummaryMarkOf(a.Map, m) }
	for _, l := range a.Tanks {
		t := summaryTank{
			Machine: a.Map.Machines[l.Machine].Name, Filled: Figure(l.Filled * Litres), Ground: Figure(l.FillArea),
			Expected: l.Expected, Reported: NonZero(l.Reported), Dry: []summaryStretch{}, DryBy: l.DryBy,
		}
		for _, f := range l.Fills {
			t.Fills = append(t.Fills, summaryFill{mark(f.From), mark(f.To), Figure(f.Area), Figure(f.Left * Litres)})
		}
		for _, d := range l.Dry {
			on := dryMap(a, &l)
			t.Dry = append(t.Dry, summaryStretch{SummaryMarkOf(on, d.From), SummaryMarkOf(on, d.To), Figure(d.Area)})
		}
		out = append(out, t)
	}
	return out
}

// SummaryMarkOf writes a place on the way of a pass of m.
func SummaryMarkOf(m *coverage.Map, at agronomy.Mark) summaryMark {
	place := m.Field.Frame.ToEarth(at.At)
	s := summaryMark{Pass: at.Pass, Along: Metres(at.Along), Lon: Degrees(place.Lon), Lat: Degrees(place.Lat)}
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

type summaryChange struct {
	Cause    cause.OverlapCause `json:"cause"`
	Cost     *Figure            `json:"cost"`
	Currency string             `json:"currency"`
	Saves    []ProductShare     `json:"saves"`
}

type ProductShare struct {
	Product string `json:"product"`
	SummaryAmount
}

func (r *Assessment) summaryChange() *summaryChange {
	if len(r.Changes) == 0 {
		return nil
	}
	c := &r.Changes[0]
	out := &summaryChange{Cause: c.Cause, Cost: Scaled(c.Cost, 1), Currency: c.Currency, Saves: []ProductShare{}}
	for i, s := range c.Saves {
		out.Saves = append(out.Saves, ProductShare{r.Accounts[i].Product.Name, AmountOf(s)})
	}
	return out
}

type summaryLoss struct {
	Ground   SquareMetres `json:"ground_m2"`
	Crop     Figure       `json:"crop_kg"`
	Value    *Figure      `json:"value"`
	Unspent  *Figure      `json:"unspent"`
	Net      *Figure      `json:"net"`
	Currency string       `json:"currency"`
	Unsaid   []string     `json:"not_said"`
}

func (r *Assessment) summaryLoss() *summaryLoss {
	l := r.Loss
	if l == nil {
		return nil
	}
	return &summaryLoss{
		SquareMetres(l.Area), Figure(l.Crop), Scaled(l.Value, 1), Scaled(l.Unspent, 1), Scaled(l.Net, 1), l.Currency,
		append([]string{}, l.Unsaid...),
	}
}

// A summaryDose is the rate in turns. All figures are of ground as swept,
// every visit by itself.
type summaryDose struct {
	Bounds    []Figure `json:"bounds"`
	Ground    []Figure `json:"ground_m2"`
	Reversing Figure   `json:"reversing_m2"`
	OffTarget Figure   `json:"off_target_m2"`
	Share     Figure   `json:"off_target_share"`
	Least     *Figure  `json:"least"`
	Most      *Figure  `json:"most"`
}

func (r *Assessment) summaryDose() summaryDose {
	d := &r.TurnRates
	out := summaryDose{Reversing: Figure(d.Reversing), OffTarget: Figure(d.OffTarget()), Share: Figure(d.OffTarget() / d.Total())}
	for _, b := range sweep.DoseBounds {
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

// A summaryTime is where the time of one machine went.
type summaryTime struct {
	Machine     string        `json:"machine"`
	From        string        `json:"from"`
	To          string        `json:"to"`
	Working     Figure        `json:"working_s"`
	Turning     Figure        `json:"turning_s"`
	Standing    Figure        `json:"standing_s"`
	Stopped     Figure        `json:"stopped_s"`
	Travelling  Figure        `json:"travelling_s"`
	Silent      Figure        `json:"silent_s"`
	Stops       []summaryStop `json:"stops"`
	New         SquareMetres  `json:"new_m2"`
	Speed       Figure        `json:"speed_mps"`
	Capacity    Figure        `json:"capacity_m2_per_s"`
	Theoretical Figure        `json:"theoretical_m2_per_s"`
	Efficiency  Figure        `json:"efficiency"`
}

type summaryStop struct {
	Lon   Degrees `json:"lon"`
	Lat   Degrees `json:"lat"`
	From  string  `json:"from"`
	Stood Figure  `json:"stood_s"`
}

func (r *Assessment) SummaryTimes() []summaryTime {
	out := []summaryTime{}
	for i := range r.Clocks {
		c := &r.Clocks[i]
		t := summaryTime{
			Machine: r.MachineName(c.Machine), From: Stamp(c.From), To: Stamp(c.To),
			Working: seconds(c.Working), Turning: seconds(c.Turning), Standing: seconds(c.Standing),
			Stopped: seconds(c.Stopped), Travelling: seconds(c.Travelling), Silent: seconds(c.Silent),
			Stops: []summaryStop{}, New: SquareMetres(c.New), Speed: Figure(c.Speed),
			Capacity: Figure(c.Capacity()), Theoretical: Figure(c.Theoretical()), Efficiency: Figure(c.Efficiency()),
		}
		for _, s := range c.Stops {
			at := r.Map.Field.Frame.ToEarth(s.At)
			t.Stops = append(t.Stops, summaryStop{Degrees(at.Lon), Degrees(at.Lat), Stamp(s.From), seconds(s.Stood)})
		}
		out = append(out, t)
	}
	return out
}

type summaryForecast struct {
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

func (r *Assessment) summaryForecast() *summaryForecast {
	f := r.Forecast
	if f == nil {
		return nil
	}
	out := &summaryForecast{
		Left: SquareMetres(f.Left), Now: Stamp(f.Now), Machines: r.MachineNames(f.Machines),
		Capacity: Figure(f.Capacity), Finish: stampSecond(f.Finish),
	}
	if f.Late != 0 {
		early, late := stampSecond(f.Early), stampSecond(f.Late)
		out.Early, out.Late = &early, &late
	}
	if r.RainAt != nil {
		rain := geo.InstantOf(*r.RainAt)
		at, left, before := Stamp(rain), SquareMetres(f.By(rain)), BeforeRain(f, rain)
		out.RainAt, out.ByRain, out.Before = &at, &left, &before
	}
	return out
}

// BeforeRain says whether the finish comes before the rain: "yes" or "no"
// where the whole interval says so, else "likely" or "unlikely".
func BeforeRain(f *pace.Forecast, rain geo.Instant) string {
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

// A summaryLogged is what the logs tell of a product's rate.
type summaryLogged struct {
	Ground Figure       `json:"ground_m2"`
	Mean   *Figure      `json:"mean"` // as a share of the product's rate
	Dry    []summaryDry `json:"dry"`
}

type summaryDry struct {
	Machine string `json:"machine"`
	summaryStretch
}

func summaryLoggedOf(a *agronomy.Account) *summaryLogged {
	l := a.Logged
	if l == nil {
		return nil
	}
	out := &summaryLogged{Ground: Figure(l.Area), Dry: []summaryDry{}}
	if mean := l.Mean(); !math.IsNaN(mean) {
		out.Mean = Scaled(&mean, 1)
	}
	for _, d := range l.Dry {
		out.Dry = append(out.Dry, summaryDry{l.Map.Machines[d.Machine].Name,
			summaryStretch{SummaryMarkOf(l.Map, d.From), SummaryMarkOf(l.Map, d.To), Figure(d.Area)}})
	}
	return out
}
