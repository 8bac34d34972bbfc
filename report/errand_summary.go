package report

import (
	"encoding/json"
	"io"
	"math"

	"lapwing/coverage"
	"lapwing/coverage/errand"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
)

// ErrandSchema names the layout of mend.json.
const ErrandSchema = "lapwing/mend/1"

// Summary writes mend.json: SI units, stops in driving order.
func (e *Errand) Summary(w io.Writer) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(e.errandSummary())
}

type errandSummary struct {
	Schema   string           `json:"schema"`
	Run      string           `json:"run"`
	Field    string           `json:"field"`
	Machine  string           `json:"machine"`
	Start    summaryPlace     `json:"start"`
	Shortest bool             `json:"shortest"`
	Work     metres           `json:"work_m"`
	Travel   metres           `json:"travel_m"`
	Worked   metres           `json:"travel_worked_m"`
	Stops    []errandStop     `json:"stops"`
	Left     []summaryLeft    `json:"left"`
	Warnings []summaryWarning `json:"warnings"`
}

type summaryPlace struct {
	Lon degrees `json:"lon"`
	Lat degrees `json:"lat"`
}

type errandStop struct {
	Stop      int            `json:"stop"`
	Skips     []int          `json:"skips"`
	Drive     int            `json:"drive"`
	Drives    int            `json:"drives"`
	Area      squareMetres   `json:"area_m2"`
	Cause     coverage.Cause `json:"cause"`
	Enter     summaryPlace   `json:"enter"`
	End       summaryPlace   `json:"end"`
	LineUp    summaryPlace   `json:"line_up"`
	EnterEnd  string         `json:"enter_end"`
	Heading   figure         `json:"heading_deg"`
	Length    metres         `json:"length_m"`
	Width     metres         `json:"width_m"`
	Sections  string         `json:"sections"`
	OpenWidth metres         `json:"open_width_m"`
	Again     squareMetres   `json:"again_m2"`
	Misses    squareMetres   `json:"misses_m2"`
	Travel    metres         `json:"travel_m"`
	Worked    metres         `json:"travel_worked_m"`
	Turned    figure         `json:"turned_deg"`
	Outside   bool           `json:"outside"`
	Place     string         `json:"place"`
}

// A summaryLeft is a skip that the plan leaves, and why: "not worth it",
// "small", "no way", "bent" or "too many".
type summaryLeft struct {
	Skip int    `json:"skip"`
	Why  string `json:"why"`
}

func (e *Errand) summaryPlace(p plane.Point) summaryPlace {
	at := e.lonLat(p)
	return summaryPlace{degrees(at.Lon), degrees(at.Lat)}
}

func (e *Errand) errandSummary() *errandSummary {
	p := e.Plan
	s := &errandSummary{
		Schema: ErrandSchema, Run: e.Run, Field: e.Map.Field.Name, Machine: e.machine(), Start: e.summaryPlace(p.Start),
		Shortest: p.Shortest, Work: metres(p.Work()), Travel: metres(p.Travel()), Worked: metres(p.Worked()),
		Stops: []errandStop{}, Left: e.left(), Warnings: summaryWarnings(e.warnings()),
	}
	numbers := e.skipNumbers()
	for i := range p.Stops {
		s.Stops = append(s.Stops, e.stop(i, &p.Stops[i], numbers))
	}
	return s
}

func (e *Errand) stop(i int, stop *errand.Stop, numbers map[int]int) errandStop {
	r, l := &stop.Run, &stop.Leg
	largest := &e.Map.Skips[r.Skips[0]]
	var ids []int
	var area plane.Area
	for _, k := range r.Skips {
		ids = append(ids, numbers[k])
		area += e.Map.Skips[k].Area
	}
	return errandStop{
		Stop: i + 1, Skips: ids, Drive: r.Lane, Drives: r.Of, Area: squareMetres(area), Cause: largest.Cause,
		Enter: e.summaryPlace(r.Line[0]), End: e.summaryPlace(r.Line[len(r.Line)-1]), LineUp: e.summaryPlace(r.LineUp),
		EnterEnd: r.Enter, Heading: hundredths(r.Heading), Length: metres(r.Length), Width: metres(r.Need),
		Sections: sectionBits(r.Open), OpenWidth: metres(r.OpenWidth), Again: squareMetres(r.Again), Misses: squareMetres(r.Misses),
		Travel: metres(l.Length), Worked: metres(l.Worked), Turned: hundredths(l.Turned * 180 / math.Pi), Outside: l.Outside,
		Place: e.place(quantity.Metric, largest.Place, largest.At),
	}
}

// left lists the skips that the plan leaves.
func (e *Errand) left() []summaryLeft {
	numbers := e.skipNumbers()
	out := []summaryLeft{}
	for _, l := range []struct {
		skips []int
		why   string
	}{{e.NotWorth, "not worth it"}, {e.Plan.Small, "small"}, {e.Plan.Left, "no way"}, {e.Plan.Bent, "bent"}, {e.Plan.TooMany, "too many"}} {
		for _, i := range l.skips {
			out = append(out, summaryLeft{numbers[i], l.why})
		}
	}
	return out
}

func hundredths(v float64) figure { return figure(math.Round(v*100) / 100) }
