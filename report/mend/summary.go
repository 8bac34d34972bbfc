package mend

import (
	"io"

	"lapwing/coverage/assess"
	"lapwing/coverage/cause"
	"lapwing/coverage/mend"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
)

// Schema names the layout of mend.json.
const Schema = "lapwing/mend/1"

// JSON writes mend.json: SI units, stops in driving order.
func (d *Document) JSON(w io.Writer) error {
	return assess.WriteJSON(w, d.summarize())
}

type summary struct {
	Schema   string                  `json:"schema"`
	Run      string                  `json:"run"`
	Field    string                  `json:"field"`
	Machine  string                  `json:"machine"`
	Start    placeSummary            `json:"start"`
	Shortest bool                    `json:"shortest"`
	Work     assess.Metres           `json:"work_m"`
	Travel   assess.Metres           `json:"travel_m"`
	Worked   assess.Metres           `json:"travel_worked_m"`
	Stops    []stopSummary           `json:"stops"`
	Left     []leftSummary           `json:"left"`
	Warnings []assess.WarningSummary `json:"warnings"`
}

type placeSummary struct {
	Lon assess.Degrees `json:"lon"`
	Lat assess.Degrees `json:"lat"`
}

type stopSummary struct {
	Stop      int                 `json:"stop"`
	Skips     []int               `json:"skips"`
	Drive     int                 `json:"drive"`
	Drives    int                 `json:"drives"`
	Area      assess.SquareMetres `json:"area_m2"`
	Cause     cause.SkipCause     `json:"cause"`
	Enter     placeSummary        `json:"enter"`
	End       placeSummary        `json:"end"`
	LineUp    placeSummary        `json:"line_up"`
	EnterEnd  string              `json:"enter_end"`
	Heading   assess.Figure       `json:"heading_deg"`
	Length    assess.Metres       `json:"length_m"`
	Width     assess.Metres       `json:"width_m"`
	Sections  string              `json:"sections"`
	OpenWidth assess.Metres       `json:"open_width_m"`
	Again     assess.SquareMetres `json:"again_m2"`
	Misses    assess.SquareMetres `json:"misses_m2"`
	Travel    assess.Metres       `json:"travel_m"`
	Worked    assess.Metres       `json:"travel_worked_m"`
	Turned    assess.Figure       `json:"turned_deg"`
	Outside   bool                `json:"outside"`
	Place     string              `json:"place"`
}

// A leftSummary is a skip that the plan leaves, and why: "not worth it",
// "small", "no way", "bent" or "too many".
type leftSummary struct {
	Skip int    `json:"skip"`
	Why  string `json:"why"`
}

func (d *Document) placeOf(p plane.Point) placeSummary {
	at := d.lonLat(p)
	return placeSummary{assess.DegreesOf(at.Lon), assess.DegreesOf(at.Lat)}
}

func (d *Document) summarize() *summary {
	p := d.Mend.Plan
	s := &summary{
		Schema: Schema, Run: d.Run, Field: d.Map.Field.Name, Machine: d.machine(), Start: d.placeOf(p.Start),
		Shortest: p.Shortest, Work: assess.MetresOf(p.Work()), Travel: assess.MetresOf(p.Travel()), Worked: assess.MetresOf(p.Worked()),
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
		Stop: i + 1, Skips: ids, Drive: r.Lane, Drives: r.Of, Area: assess.SquareMetres(area), Cause: largest.Cause,
		Enter: d.placeOf(r.Line[0]), End: d.placeOf(r.Line[len(r.Line)-1]), LineUp: d.placeOf(r.LineUp),
		EnterEnd: r.Enter, Heading: assess.Hundredths(float64(r.Heading)), Length: assess.MetresOf(r.Length), Width: assess.MetresOf(r.Need),
		Sections: sectionBits(r.Open), OpenWidth: assess.MetresOf(r.OpenWidth), Again: assess.SquareMetres(r.Again), Misses: assess.SquareMetres(r.Misses),
		Travel: assess.MetresOf(l.Length), Worked: assess.MetresOf(l.Worked), Turned: assess.Hundredths(l.Turned.Degrees()), Outside: l.Outside,
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
