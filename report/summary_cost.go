package report

import (
	"math"
	"time"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/geo"
)

// What it cost, and when the rest will be done, in summary.json.

// A summaryAmount is what a product comes to on some ground.
type summaryAmount struct {
	Ground    squareMetres `json:"ground_m2"`
	Mass      *figure      `json:"kg"`
	Volume    *figure      `json:"l"`
	N         *figure      `json:"n_kg"`
	Phosphate *figure      `json:"p2o5_kg"`
	Potash    *figure      `json:"k2o_kg"`
	Cost      *figure      `json:"cost"`
}

func amountOf(a agronomy.Amount) summaryAmount {
	return summaryAmount{
		squareMetres(a.Ground), scaled(a.Mass, 1), scaled(a.Volume, litres),
		scaled(a.N, 1), scaled(a.Phosphate, 1), scaled(a.Potash, 1), scaled(a.Cost, 1),
	}
}

type summaryWaste struct {
	Total     summaryAmount  `json:"total"`
	ByCause   []causeAmount  `json:"by_cause"`
	Slivers   summaryAmount  `json:"too_small"`
	OverReach summaryAmount  `json:"overreach"`
	ByMachine []machineShare `json:"by_machine"`
	ByPass    []passShare    `json:"by_pass"`
}

type causeAmount struct {
	Cause coverage.Cause `json:"cause"`
	summaryAmount
}

type machineShare struct {
	Machine string `json:"machine"`
	summaryAmount
}

type passShare struct {
	Pass int `json:"pass"`
	summaryAmount
}

func summaryWasteOf(a *agronomy.Account) summaryWaste {
	w := &a.Waste
	out := summaryWaste{
		Total: amountOf(w.Total), Slivers: amountOf(w.Slivers), OverReach: amountOf(w.OverReach),
		ByCause: []causeAmount{}, ByMachine: []machineShare{}, ByPass: []passShare{},
	}
	for _, c := range w.ByCause {
		out.ByCause = append(out.ByCause, causeAmount{c.Cause, amountOf(c.Amount)})
	}
	for _, m := range w.ByMachine {
		out.ByMachine = append(out.ByMachine, machineShare{a.Map.Machines[m.Machine].Name, amountOf(m.Amount)})
	}
	for _, p := range w.ByPass {
		out.ByPass = append(out.ByPass, passShare{p.Pass, amountOf(p.Amount)})
	}
	return out
}

type summaryProductGround struct {
	Swept  squareMetres `json:"swept_m2"`
	Wasted squareMetres `json:"wasted_m2"`
	Short  squareMetres `json:"short_m2"`
}

// A summaryTank is one machine's tank of a product.
type summaryTank struct {
	Machine  string             `json:"machine"`
	Filled   figure             `json:"filled_l"`
	Ground   figure             `json:"fill_m2"`
	Expected int                `json:"expected"`
	Reported *int               `json:"reported"`
	Fills    []summaryFill      `json:"fills"`
	Dry      []summaryStretch   `json:"dry"`
	DryBy    agronomy.Knowledge `json:"dry_by"`
}

type summaryStretch struct {
	From   summaryMark `json:"from"`
	To     summaryMark `json:"to"`
	Ground figure      `json:"ground_m2"`
}

type summaryFill struct {
	From   summaryMark `json:"from"`
	To     summaryMark `json:"to"`
	Ground figure      `json:"ground_m2"`
	Left   figure      `json:"left_l"`
}

type summaryMark struct {
	Pass  int     `json:"pass"`
	Along metres  `json:"along_m"`
	Lon   degrees `json:"lon"`
	Lat   degrees `json:"lat"`
	Time  string  `json:"time"`
}

func summaryTanksOf(a *agronomy.Account) []summaryTank {
	out := []summaryTank{}
	mark := func(m agronomy.Mark) summaryMark { return summaryMarkOf(a.Map, m) }
	for _, l := range a.Tanks {
		t := summaryTank{
			Machine: a.Map.Machines[l.Machine].Name, Filled: figure(l.Filled * litres), Ground: figure(l.Ground),
			Expected: l.Expected, Reported: nonZero(l.Reported), Dry: []summaryStretch{}, DryBy: l.DryBy,
		}
		for _, f := range l.Fills {
			t.Fills = append(t.Fills, summaryFill{mark(f.From), mark(f.To), figure(f.Ground), figure(f.Left * litres)})
		}
		for _, d := range l.Dry {
			on := dryMap(a, &l)
			t.Dry = append(t.Dry, summaryStretch{summaryMarkOf(on, d.From), summaryMarkOf(on, d.To), figure(d.Ground)})
		}
		out = append(out, t)
	}
	return out
}

// summaryMarkOf writes a place on the way of a pass of m.
func summaryMarkOf(m *coverage.Map, at agronomy.Mark) summaryMark {
	place := m.Field.Frame.ToEarth(at.At)
	s := summaryMark{Pass: at.Pass, Along: metres(at.Along), Lon: degrees(place.Lon), Lat: degrees(place.Lat)}
	if clockOn(m, &m.Passes[at.Pass-1]) {
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
	Cause    coverage.Cause `json:"cause"`
	Cost     *figure        `json:"cost"`
	Currency string         `json:"currency"`
	Saves    []productShare `json:"saves"`
}

type productShare struct {
	Product string `json:"product"`
	summaryAmount
}

func (r *Assessment) summaryChange() *summaryChange {
	if len(r.Changes) == 0 {
		return nil
	}
	c := &r.Changes[0]
	out := &summaryChange{Cause: c.Cause, Cost: scaled(c.Cost, 1), Currency: c.Currency, Saves: []productShare{}}
	for i, s := range c.Saves {
		out.Saves = append(out.Saves, productShare{r.Accounts[i].Product.Name, amountOf(s)})
	}
	return out
}

type summaryLoss struct {
	Ground   squareMetres `json:"ground_m2"`
	Crop     figure       `json:"crop_kg"`
	Value    *figure      `json:"value"`
	Unspent  *figure      `json:"unspent"`
	Net      *figure      `json:"net"`
	Currency string       `json:"currency"`
	Unsaid   []string     `json:"not_said"`
}

func (r *Assessment) summaryLoss() *summaryLoss {
	l := r.Loss
	if l == nil {
		return nil
	}
	return &summaryLoss{
		squareMetres(l.Ground), figure(l.Crop), scaled(l.Value, 1), scaled(l.Unspent, 1), scaled(l.Net, 1), l.Currency,
		append([]string{}, l.Unsaid...),
	}
}

// A summaryDose is the rate in turns. All figures are of ground as swept,
// every visit by itself.
type summaryDose struct {
	Bounds    []figure `json:"bounds"`
	Ground    []figure `json:"ground_m2"`
	Reversing figure   `json:"reversing_m2"`
	OffTarget figure   `json:"off_target_m2"`
	Share     figure   `json:"off_target_share"`
	Least     *figure  `json:"least"`
	Most      *figure  `json:"most"`
}

func (r *Assessment) summaryDose() summaryDose {
	d := &r.Dose
	out := summaryDose{Reversing: figure(d.Reversing), OffTarget: figure(d.OffTarget()), Share: figure(d.OffTarget() / d.Total())}
	for _, b := range coverage.DoseBounds {
		out.Bounds = append(out.Bounds, figure(b))
	}
	for _, g := range d.Ground {
		out.Ground = append(out.Ground, figure(g))
	}
	if d.Most > 0 {
		out.Least, out.Most = scaled(&d.Least, 1), scaled(&d.Most, 1)
	}
	return out
}

// A summaryTime is where the time of one machine went.
type summaryTime struct {
	Machine     string        `json:"machine"`
	From        string        `json:"from"`
	To          string        `json:"to"`
	Working     figure        `json:"working_s"`
	Turning     figure        `json:"turning_s"`
	Standing    figure        `json:"standing_s"`
	Stopped     figure        `json:"stopped_s"`
	Travelling  figure        `json:"travelling_s"`
	Silent      figure        `json:"silent_s"`
	Stops       []summaryStop `json:"stops"`
	New         squareMetres  `json:"new_m2"`
	Speed       figure        `json:"speed_mps"`
	Capacity    figure        `json:"capacity_m2_per_s"`
	Theoretical figure        `json:"theoretical_m2_per_s"`
	Efficiency  figure        `json:"efficiency"`
}

type summaryStop struct {
	Lon   degrees `json:"lon"`
	Lat   degrees `json:"lat"`
	From  string  `json:"from"`
	Stood figure  `json:"stood_s"`
}

func (r *Assessment) summaryTimes() []summaryTime {
	out := []summaryTime{}
	for i := range r.Clocks {
		c := &r.Clocks[i]
		t := summaryTime{
			Machine: r.machineName(c.Machine), From: stamp(c.From), To: stamp(c.To),
			Working: seconds(c.Working), Turning: seconds(c.Turning), Standing: seconds(c.Standing),
			Stopped: seconds(c.Stopped), Travelling: seconds(c.Travelling), Silent: seconds(c.Silent),
			Stops: []summaryStop{}, New: squareMetres(c.New), Speed: figure(c.Speed),
			Capacity: figure(c.Capacity()), Theoretical: figure(c.Theoretical()), Efficiency: figure(c.Efficiency()),
		}
		for _, s := range c.Stops {
			at := r.Map.Field.Frame.ToEarth(s.At)
			t.Stops = append(t.Stops, summaryStop{degrees(at.Lon), degrees(at.Lat), stamp(s.From), seconds(s.Stood)})
		}
		out = append(out, t)
	}
	return out
}

type summaryForecast struct {
	Left     squareMetres  `json:"left_m2"`
	Now      string        `json:"now"`
	Machines []string      `json:"machines"`
	Capacity figure        `json:"capacity_m2_per_s"`
	Finish   string        `json:"finish"`
	Early    *string       `json:"early"`
	Late     *string       `json:"late"`
	RainAt   *string       `json:"rain_at"`
	ByRain   *squareMetres `json:"left_at_rain_m2"`
	Before   *string       `json:"before_rain"`
}

func (r *Assessment) summaryForecast() *summaryForecast {
	f := r.Forecast
	if f == nil {
		return nil
	}
	out := &summaryForecast{
		Left: squareMetres(f.Left), Now: stamp(f.Now), Machines: r.machineNames(f.Machines),
		Capacity: figure(f.Capacity), Finish: stampSecond(f.Finish),
	}
	if f.Late != 0 {
		early, late := stampSecond(f.Early), stampSecond(f.Late)
		out.Early, out.Late = &early, &late
	}
	if r.RainAt != nil {
		rain := geo.InstantOf(*r.RainAt)
		at, left, before := stamp(rain), squareMetres(f.By(rain)), beforeRain(f, rain)
		out.RainAt, out.ByRain, out.Before = &at, &left, &before
	}
	return out
}

// beforeRain says whether the finish comes before the rain: "yes" or "no"
// where the whole interval says so, else "likely" or "unlikely".
func beforeRain(f *coverage.Forecast, rain geo.Instant) string {
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

const litres = 1e3 // in a cubic metre

// stampSecond writes a time that is reckoned, not logged.
func stampSecond(i geo.Instant) string { return stamp(geo.InstantOf(i.Time().Round(time.Second))) }

// seconds are written to the millisecond.
func seconds(d time.Duration) figure { return figure(math.Round(d.Seconds()*1e3) / 1e3) }
