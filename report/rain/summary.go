package rain

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"time"

	"lapwing/coverage/assess"
	"lapwing/coverage/figure"
	"lapwing/coverage/rain"
	"lapwing/geo"
)

// Schema names the layout of rain.json.
const Schema = "lapwing/rain/1"

// JSON writes rain.json: SI units, times in UTC, fields in the order of the page.
func (d *Document) JSON(w io.Writer) error {
	s := d.summarize()
	s.Run = d.run()
	return figure.WriteJSON(w, s)
}

// run names what the document holds: the same plan gives the same one.
func (d *Document) run() string {
	var b bytes.Buffer
	_ = figure.WriteJSON(&b, d.summarize()) // a buffer takes all
	h := sha256.Sum256(append(b.Bytes(), byte(d.Units)))
	return hex.EncodeToString(h[:6])
}

type summary struct {
	Schema    string                  `json:"schema"`
	Run       string                  `json:"run"`
	Rain      string                  `json:"rain_at"`
	Now       string                  `json:"now"` // the last pass
	Zone      string                  `json:"time_zone"`
	DayFrom   figure.Number           `json:"day_from_s"` // after midnight; both 0 where no end of the day is known
	DayTo     figure.Number           `json:"day_to_s"`
	Work      figure.Number           `json:"work_until_rain_s"`
	RoadSpeed *figure.Number          `json:"road_speed_mps"` // null where no road is reckoned
	Done      int                     `json:"fields_done"`
	Of        int                     `json:"fields_next"`
	Area      figure.SquareMetres     `json:"done_m2"`
	Exact     bool                    `json:"exact"`
	Factor    figure.Number           `json:"interval_factor"`
	Judged    bool                    `json:"interval_by_judgement"`
	Told      []toldSummary           `json:"told"`
	Machines  []paceSummary           `json:"machines"`
	Fields    []stopSummary           `json:"fields"`
	Warnings  []assess.WarningSummary `json:"warnings"`
}

// A toldSummary is a field of the last days as the others tell it.
type toldSummary struct {
	Field string        `json:"field"`
	Took  figure.Number `json:"took_s"`
	Said  figure.Number `json:"told_s"`
}

type paceSummary struct {
	Machine    string              `json:"machine"`
	Fields     int                 `json:"fields"`
	Passes     int                 `json:"passes"`
	New        figure.SquareMetres `json:"new_m2"`
	Working    figure.Number       `json:"working_s"`
	Turning    figure.Number       `json:"turning_s"`
	Standing   figure.Number       `json:"standing_s"`
	Stopped    figure.Number       `json:"stopped_s"`
	Travelling figure.Number       `json:"travelling_s"`
	Turn       figure.Number       `json:"turn_s"` // for each pass that a breadth takes
}

type stopSummary struct {
	Order  *int                `json:"order"` // null for a field to leave
	Field  string              `json:"field"`
	Begun  bool                `json:"begun"`
	Area   figure.SquareMetres `json:"area_m2"`
	Road   figure.Number       `json:"road_s"`
	Takes  figure.Number       `json:"takes_s"`
	Start  string              `json:"start"`
	End    string              `json:"end"`
	Low    string              `json:"end_low"`
	High   string              `json:"end_high"`
	Before rain.Answer         `json:"before_rain"`
	Fills  []fillSummary       `json:"fills"`
	Stand  *figure.Place       `json:"trailer"` // null where no tank runs dry
}

type fillSummary struct {
	Machine string              `json:"machine"`
	Product string              `json:"product"`
	Ground  figure.SquareMetres `json:"fill_m2"`
	Left    figure.SquareMetres `json:"left_now_m2"` // what is in the tank goes over so much
	Count   int                 `json:"count"`
}

func (d *Document) summarize() *summary {
	seconds := func(t time.Duration) figure.Number { return figure.Number(t.Round(time.Millisecond).Seconds()) }
	stamp := func(t geo.Instant) string { return t.Time().Truncate(time.Second).Format(time.RFC3339) }
	s := &summary{
		Schema: Schema, Rain: stamp(geo.InstantOf(d.Rain)), Now: stamp(d.Hours.Now), Zone: d.Hours.Zone.String(),
		DayFrom: seconds(d.Hours.Day.From), DayTo: seconds(d.Hours.Day.To), Work: seconds(d.Work),
		Done: d.Done, Of: len(d.Next), Area: figure.SquareMetres(d.Area), Exact: d.Exact,
		Factor: figure.Number(d.Spread.Factor), Judged: d.Spread.Judged,
		Told: []toldSummary{}, Machines: []paceSummary{}, Fields: []stopSummary{}, Warnings: assess.WarningsOf(d.Warnings),
	}
	if d.RoadSpeed > 0 {
		v := figure.Number(d.RoadSpeed)
		s.RoadSpeed = &v
	}
	for _, t := range d.Spread.Told {
		s.Told = append(s.Told, toldSummary{t.Name, seconds(t.Took), seconds(t.Said)})
	}
	for i := range d.Paces {
		p := &d.Paces[i]
		s.Machines = append(s.Machines, paceSummary{
			Machine: p.Machine, Fields: p.Fields, Passes: p.Passes, New: figure.SquareMetres(p.New),
			Working: seconds(p.Working), Turning: seconds(p.Turning), Standing: seconds(p.Standing),
			Stopped: seconds(p.Stopped), Travelling: seconds(p.Travelling), Turn: seconds(p.Turn()),
		})
	}
	for i := range d.Stops {
		stop := &d.Stops[i]
		out := stopSummary{
			Field: stop.Name, Begun: stop.Begun, Area: figure.SquareMetres(stop.Area), Road: seconds(stop.Road), Takes: seconds(stop.Takes),
			Start: stamp(stop.Start), End: stamp(stop.End), Low: stamp(stop.Low), High: stamp(stop.High), Before: stop.Before, Fills: []fillSummary{},
		}
		if stop.Planned {
			n := i + 1
			out.Order = &n
		}
		for _, f := range stop.Fills {
			out.Fills = append(out.Fills, fillSummary{f.Machine, f.Product, figure.SquareMetres(f.Ground), figure.SquareMetres(f.Left), f.Count})
		}
		if stop.Stand != nil {
			at := figure.PlaceOf(*stop.Stand)
			out.Stand = &at
		}
		s.Fields = append(s.Fields, out)
	}
	return s
}
