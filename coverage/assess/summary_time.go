package assess

import (
	"lapwing/coverage/figure"
	"lapwing/coverage/pace"
	"lapwing/coverage/sweep"
	"lapwing/geo"
)

// A TurnsSummary is the rate in turns. All figures are of ground as swept,
// every visit by itself.
type TurnsSummary struct {
	Bounds    []figure.Number `json:"bounds"`
	Ground    []figure.Number `json:"ground_m2"`
	Reversing figure.Number   `json:"reversing_m2"`
	OffTarget figure.Number   `json:"off_target_m2"`
	Share     figure.Number   `json:"off_target_share"`
	Least     *figure.Number  `json:"least"`
	Most      *figure.Number  `json:"most"`
}

func (a *Assessment) summaryDose() TurnsSummary {
	d := &a.TurnRates
	out := TurnsSummary{Reversing: figure.Number(d.Reversing), OffTarget: figure.Number(d.OffTarget()), Share: figure.Number(d.OffTarget() / d.Total())}
	for _, b := range sweep.DoseBounds {
		out.Bounds = append(out.Bounds, figure.Number(b))
	}
	for _, g := range d.Ground {
		out.Ground = append(out.Ground, figure.Number(g))
	}
	if d.Most > 0 {
		out.Least, out.Most = figure.Scaled(&d.Least, 1), figure.Scaled(&d.Most, 1)
	}
	return out
}

// A TimeSummary is where the time of one machine went.
type TimeSummary struct {
	Machine     string              `json:"machine"`
	From        string              `json:"from"`
	To          string              `json:"to"`
	Working     figure.Number       `json:"working_s"`
	Turning     figure.Number       `json:"turning_s"`
	Standing    figure.Number       `json:"standing_s"`
	Stopped     figure.Number       `json:"stopped_s"`
	Travelling  figure.Number       `json:"travelling_s"`
	Silent      figure.Number       `json:"silent_s"`
	Parked      figure.Number       `json:"parked_s,omitempty"`
	Stops       []StopSummary       `json:"stops"`
	New         figure.SquareMetres `json:"new_m2"`
	Speed       figure.Number       `json:"speed_mps"`
	Capacity    figure.Number       `json:"capacity_m2_per_s"`
	Theoretical figure.Number       `json:"theoretical_m2_per_s"`
	Efficiency  figure.Number       `json:"efficiency"`
}

// A StopSummary is a stop of three minutes or more.
type StopSummary struct {
	Lon   figure.Degrees `json:"lon"`
	Lat   figure.Degrees `json:"lat"`
	From  string         `json:"from"`
	Stood figure.Number  `json:"stood_s"`
}

// Times writes where the time of each machine with a clock went.
func (a *Assessment) Times() []TimeSummary {
	out := []TimeSummary{}
	for i := range a.Clocks {
		c := &a.Clocks[i]
		t := TimeSummary{
			Machine: a.MachineName(c.Machine), From: figure.Stamp(c.From), To: figure.Stamp(c.To),
			Working: figure.Seconds(c.Working), Turning: figure.Seconds(c.Turning), Standing: figure.Seconds(c.Standing),
			Stopped: figure.Seconds(c.Stopped), Travelling: figure.Seconds(c.Travelling), Silent: figure.Seconds(c.Silent), Parked: figure.Seconds(c.Parked),
			Stops: []StopSummary{}, New: figure.SquareMetres(c.New), Speed: figure.Number(c.Speed()),
			Capacity: figure.Number(c.Capacity()), Theoretical: figure.Number(c.Theoretical()), Efficiency: figure.Number(c.Efficiency()),
		}
		for _, s := range c.Stops {
			at := a.Map.Field.Frame.ToEarth(s.At)
			t.Stops = append(t.Stops, StopSummary{figure.DegreesOf(at.Lon), figure.DegreesOf(at.Lat), figure.Stamp(s.From), figure.Seconds(s.Stood)})
		}
		out = append(out, t)
	}
	return out
}

// A ForecastSummary says when the ground left will be worked.
type ForecastSummary struct {
	Left     figure.SquareMetres  `json:"left_m2"`
	Now      string               `json:"now"`
	Machines []string             `json:"machines"`
	Capacity figure.Number        `json:"capacity_m2_per_s"`
	Finish   string               `json:"finish"`
	Early    *string              `json:"early"`
	Late     *string              `json:"late"`
	RainAt   *string              `json:"rain_at"`
	ByRain   *figure.SquareMetres `json:"left_at_rain_m2"`
	Before   *string              `json:"before_rain"`
}

func (a *Assessment) summaryForecast() *ForecastSummary {
	f := a.Forecast
	if f == nil {
		return nil
	}
	out := &ForecastSummary{
		Left: figure.SquareMetres(f.Left), Now: figure.Stamp(f.Now), Machines: a.MachineNames(f.Machines),
		Capacity: figure.Number(f.Capacity), Finish: figure.StampSecond(f.Finish),
	}
	if f.Late != 0 {
		early, late := figure.StampSecond(f.Early), figure.StampSecond(f.Late)
		out.Early, out.Late = &early, &late
	}
	if a.RainAt != nil {
		rain := geo.InstantOf(*a.RainAt)
		at, left, before := figure.Stamp(rain), figure.SquareMetres(f.By(rain)), BeforeRain(f, rain)
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
