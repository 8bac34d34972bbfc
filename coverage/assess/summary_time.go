package assess

import (
	"lapwing/coverage/pace"
	"lapwing/coverage/sweep"
	"lapwing/geo"
)

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
	Parked      Figure        `json:"parked_s,omitempty"`
	Stops       []StopSummary `json:"stops"`
	New         SquareMetres  `json:"new_m2"`
	Speed       Figure        `json:"speed_mps"`
	Capacity    Figure        `json:"capacity_m2_per_s"`
	Theoretical Figure        `json:"theoretical_m2_per_s"`
	Efficiency  Figure        `json:"efficiency"`
}

// A StopSummary is a stop of three minutes or more.
type StopSummary struct {
	Lon   Degrees `json:"lon"`
	Lat   Degrees `json:"lat"`
	From  string  `json:"from"`
	Stood Figure  `json:"stood_s"`
}

// Times writes where the time of each machine with a clock went.
func (a *Assessment) Times() []TimeSummary {
	out := []TimeSummary{}
	for i := range a.Clocks {
		c := &a.Clocks[i]
		t := TimeSummary{
			Machine: a.MachineName(c.Machine), From: Stamp(c.From), To: Stamp(c.To),
			Working: seconds(c.Working), Turning: seconds(c.Turning), Standing: seconds(c.Standing),
			Stopped: seconds(c.Stopped), Travelling: seconds(c.Travelling), Silent: seconds(c.Silent), Parked: seconds(c.Parked),
			Stops: []StopSummary{}, New: SquareMetres(c.New), Speed: Figure(c.Speed()),
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

// A ForecastSummary says when the ground left will be worked.
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
