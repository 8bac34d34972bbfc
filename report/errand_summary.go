package report

import (
	"encoding/json"
	"io"
	"math"

	"lapwing/coverage"
	"lapwing/coverage/assess"
	"lapwing/coverage/mend"
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
	Schema   string                  `json:"schema"`
	Run      string                  `json:"run"`
	Field    string                  `json:"field"`
	Machine  string                  `json:"machine"`
	Start    summaryPlace            `json:"start"`
	Shortest bool                    `json:"shortest"`
	Work     assess.Metres           `json:"work_m"`
	Travel   assess.Metres           `json:"travel_m"`
	Worked   assess.Metres           `json:"travel_worked_m"`
	Stops    []errandStop            `json:"stops"`
	Left     []summaryLeft           `json:"left"`
	Warnings []assess.SummaryWarning `json:"warnings"`
}

type summaryPlace struct {
	Lon assess.Degrees `json:"lon"`
	Lat assess.Degrees `json:"lat"`
}

type errandStop struct {
	Stop      int                 `json:"stop"`
	Skips     []int               `json:"skips"`
	Drive     int                 `json:"drive"`
	Drives    int                 `json:"drives"`
	Area      assess.SquareMetres `json:"area_m2"`
	Cause     coverage.Cause      `json:"cause"`
	Enter     summaryPlace        `json:"enter"`
	End       summaryPlace        `json:"end"`
	LineUp    summaryPlace        `json:"line_up"`
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

// A summaryLeft is a skip that the plan leaves, and why: "not worth it",
// "small", "no way", "bent" or "too many".
type summaryLeft struct {
	Skip int    `json:"skip"`
	Why  string `json:"why"`
}

func (e *Errand) summaryPlace(p plane.Point) summaryPlace {
	at := e.lonLat(p)
	return summaryPlace{assess.Degrees(at.Lon), assess.Degrees(at.Lat)}
}

func (e *Errand) errandSummary() *errandSummary {
	p := e.Plan
	s := &errandSummary{
		Schema: ErrandSchema, Run: e.Run, Field: e.Map.Field.Name, Machine: e.machine(), Start: e.summaryPlace(p.Start),
		Shortest: p.Shortest, Work: assess.Metres(p.Work()), Travel: assess.Metres(p.Travel()), Worked: assess.Metres(p.Worked()),
		Stops: []errandStop{}, Left: e.left(), Warnings: assess.SummaryWarnings(e.AllWarnings()),
	}
	numbers := e.SkipNumbers()
	for i := range p.Stops {
		s.Stops = append(s.Stops, e.stop(i, &p.Stops[i], numbers))
	}
	return s
}

func (e *Errand) stop(i int, stop *mend.Stop, numbers map[int]int) errandStop {
	r, l := &stop.Run, &stop.Leg
	largest := &e.Map.Skips[r.Skips[0]]
	var ids []int
	var area plane.Area
	for _, k := range r.Skips {
		ids = append(ids, numbers[k])
		area += e.Map.Skips[k].Area
	}
	return errandStop{
		Stop: i + 1, Skips: ids, Drive: r.Lane, Drives: r.Of, Area: assess.SquareMetres(area), Cause: largest.Cause,
		Enter: e.summaryPlace(r.Line[0]), End: e.summaryPlace(r.Line[len(r.Line)-1]), LineUp: e.summaryPlace(r.LineUp),
		EnterEnd: r.Enter, Heading: assess.Hundredths(r.Heading), Length: assess.Metres(r.Length), Width: assess.Metres(r.Need),
		Sections: sectionBits(r.Open), OpenWidth: assess.Metres(r.OpenWidth), Again: assess.SquareMetres(r.Again), Misses: assess.SquareMetres(r.Misses),
		Travel: assess.Metres(l.Length), Worked: assess.Metres(l.Worked), Turned: assess.Hundredths(l.Turned * 180 / math.Pi), Outside: l.Outside,
		Place: e.Place(quantity.Metric, largest.Place, largest.At),
	}
}

// left lists the skips that the plan leaves.
func (e *Errand) left() []summaryLeft {
	numbers := e.SkipNumbers()
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
