package mend

import (
	"io"

	"lapwing/coverage/assess"
	"lapwing/coverage/cause"
	"lapwing/coverage/figure"
	"lapwing/coverage/mend"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
)

// Schema names the layout of mend.json.
const Schema = "lapwing/mend/1"

// JSON writes mend.json: SI units, stops in driving order.
func (d *Document) JSON(w io.Writer) error {
	return figure.WriteJSON(w, d.summarize())
}

type summary struct {
	Schema   string                  `json:"schema"`
	Run      string                  `json:"run"`
	Field    string                  `json:"field"`
	Machine  string                  `json:"machine"`
	Start    figure.Place            `json:"start"`
	Shortest bool                    `json:"shortest"`
	Work     figure.Metres           `json:"work_m"`
	Travel   figure.Metres           `json:"travel_m"`
	Worked   figure.Metres           `json:"travel_worked_m"`
	Time     figure.Number           `json:"time_s"`
	Balance  *balanceSummary         `json:"balance"` // null where it was not weighed in money
	Stops    []stopSummary           `json:"stops"`
	Left     []leftSummary           `json:"left"`
	Warnings []assess.WarningSummary `json:"warnings"`
}

type stopSummary struct {
	Stop      int                 `json:"stop"`
	Label     string              `json:"label"` // on the map and the waypoints
	Skips     []int               `json:"skips"`
	Drive     int                 `json:"drive"`
	Drives    int                 `json:"drives"`
	Area      figure.SquareMetres `json:"area_m2"`
	Cause     cause.SkipCause     `json:"cause"`
	Enter     figure.Place        `json:"enter"`
	End       figure.Place        `json:"end"`
	LineUp    figure.Place        `json:"line_up"`
	EnterEnd  string              `json:"enter_end"`
	Heading   figure.Number       `json:"heading_deg"`
	Length    figure.Metres       `json:"length_m"`
	Width     figure.Metres       `json:"width_m"`
	Sections  string              `json:"sections"`
	OpenWidth figure.Metres       `json:"open_width_m"`
	Again     figure.SquareMetres `json:"again_m2"`
	Misses    figure.SquareMetres `json:"misses_m2"`
	Travel    figure.Metres       `json:"travel_m"`
	Worked    figure.Metres       `json:"travel_worked_m"`
	Turned    figure.Number       `json:"turned_deg"`
	Time      figure.Number       `json:"time_s"`
	Off       figure.Metres       `json:"travel_off_field_m"`
	Outside   bool                `json:"outside"`
	Place     string              `json:"place"`
}

// A leftSummary is a skip that the plan leaves, and why: "not worth it",
// "small", "no way", "bent" or "too many".
type leftSummary struct {
	Skip int    `json:"skip"`
	Why  string `json:"why"`
}

// A balanceSummary is what going back brings and takes.
type balanceSummary struct {
	Low      figure.Number `json:"brings_low"`
	High     figure.Number `json:"brings_high"`
	Takes    figure.Number `json:"takes"`
	Currency string        `json:"currency"`
}

func (d *Document) balance() *balanceSummary {
	b := d.Mend.Balance()
	if b == nil {
		return nil
	}
	return &balanceSummary{figure.Hundredths(b.Low), figure.Hundredths(b.High), figure.Hundredths(b.Takes), d.CropCurrency()}
}

func (d *Document) placeOf(p plane.Point) figure.Place {
	return figure.PlaceOf(d.Map.Field.Frame.ToEarth(p))
}

func (d *Document) summarize() *summary {
	p := d.Mend.Plan
	s := &summary{
		Schema: Schema, Run: d.Run, Field: d.Map.Field.Name, Machine: d.machine(), Start: d.placeOf(p.Start),
		Shortest: p.Shortest, Work: figure.MetresOf(p.Work()), Travel: figure.MetresOf(p.Travel()), Worked: figure.MetresOf(p.Worked()),
		Time: figure.Hundredths(p.Time(d.Map.MeanSpeed()).Seconds()), Balance: d.balance(),
		Stops: []stopSummary{}, Left: d.left(), Warnings: assess.WarningsOf(d.AllWarnings()),
	}
	numbers := d.SkipNumbers()
	for i := range p.Stops {
		s.Stops = append(s.Stops, d.stop(i, &p.Stops[i], numbers))
	}
	return s
}

func (d *Document) stop(i int, stop *mend.Stop, numbers map[int]int) stopSummary {
	r, l := &stop.Run, &stop.Leg
	largest := &d.Map.Skips[r.Skips[0]]
	var ids []int
	var area plane.Area
	for _, k := range r.Skips {
		ids = append(ids, numbers[k])
		area += d.Map.Skips[k].Area
	}
	return stopSummary{
		Stop: i + 1, Label: stopLabel(i), Skips: ids, Drive: r.Lane, Drives: r.Of, Area: figure.SquareMetres(area), Cause: largest.Cause,
		Enter: d.placeOf(r.Line[0]), End: d.placeOf(r.Line[len(r.Line)-1]), LineUp: d.placeOf(r.LineUp),
		EnterEnd: r.Enter, Heading: figure.Hundredths(float64(r.Heading)), Length: figure.MetresOf(r.Length), Width: figure.MetresOf(r.Need),
		Sections: sectionBits(r.Open), OpenWidth: figure.MetresOf(r.OpenWidth), Again: figure.SquareMetres(r.Again), Misses: figure.SquareMetres(r.Misses),
		Travel: figure.MetresOf(l.Length), Worked: figure.MetresOf(l.Worked), Turned: figure.Hundredths(l.Turned.Degrees()), Time: figure.Hundredths(d.Mend.Plan.StopTime(i, d.Map.MeanSpeed()).Seconds()), Off: figure.MetresOf(l.Off), Outside: l.Outside,
		Place: d.Place(quantity.Metric, largest.Place, largest.At),
	}
}

// left lists the skips that the plan leaves.
func (d *Document) left() []leftSummary {
	numbers := d.SkipNumbers()
	out := []leftSummary{}
	for _, l := range []struct {
		skips []int
		why   string
	}{{d.Mend.NotWorth, "not worth it"}, {d.Mend.Plan.Small, "small"}, {d.Mend.Plan.Left, "no way"}, {d.Mend.Plan.Bent, "bent"}, {d.Mend.Plan.TooMany, "too many"}} {
		for _, i := range l.skips {
			out = append(out, leftSummary{numbers[i], l.why})
		}
	}
	return out
}
