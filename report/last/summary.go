package last

import (
	"io"

	"lapwing/coverage"
	"lapwing/coverage/assess"
	"lapwing/coverage/beside"
)

// Schema names the layout of last.json.
const Schema = "lapwing/last/1"

type summary struct {
	Schema    string                  `json:"schema"`
	Run       string                  `json:"run"`
	Field     string                  `json:"field"`
	Tolerance assess.Metres           `json:"tolerance_m"`
	Verdict   verdict                 `json:"verdict"`
	Passes    []passSummary           `json:"passes"`
	Headland  headland                `json:"headland"`
	Remainder assess.SquareMetres     `json:"remainder_m2"`
	Skip      assess.SquareMetres     `json:"skip_m2"`
	Warnings  []assess.WarningSummary `json:"warnings"`
}

// A verdict is what to do now, as told on the page.
type verdict struct {
	First    assess.Finding   `json:"first"`    // what to act on first; "" before the first pass
	Findings []assess.Finding `json:"findings"` // all, the first at the head
	Openings []int            `json:"openings"` // numbers of those worth driving for: E1 is 1
	Skips    []int            `json:"skips"`    // numbers of those worth going back for
	Time     *assess.Figure   `json:"time_s"`   // of that drive; null where there is none
	Weighed  bool             `json:"weighed"`  // in money
}

type passSummary struct {
	ID      int           `json:"id"`
	Machine string        `json:"machine"`
	Kind    string        `json:"kind"`
	Length  assess.Metres `json:"length_m"`
	Joined  bool          `json:"joined"`
	Left    seamSummary   `json:"left"`
	Right   seamSummary   `json:"right"`
}

type seamSummary struct {
	Beside    assess.Metres `json:"beside_m"`
	AtEdge    assess.Metres `json:"at_edge_m"`
	Crossed   assess.Metres `json:"crossed_m"`
	Alone     assess.Metres `json:"alone_m"`
	Open      assess.Metres `json:"open_m"`
	Mean      assess.Metres `json:"lap_mean_m"`
	WidestLap assess.Metres `json:"lap_max_m"`
	WidestGap assess.Metres `json:"gap_max_m"`
	Gaps      []gapSummary  `json:"gaps"`
}

type gapSummary struct {
	From   assess.Metres  `json:"from_back_m"`
	To     assess.Metres  `json:"to_back_m"`
	Widest assess.Metres  `json:"gap_max_m"`
	Lon    assess.Degrees `json:"lon"`
	Lat    assess.Degrees `json:"lat"`
}

type headland struct {
	Closed   bool          `json:"closed"`
	Open     assess.Metres `json:"open_m"`
	Unlogged assess.Metres `json:"unlogged_m"`
	Openings []opening     `json:"openings"`
}

type opening struct {
	Length   assess.Metres  `json:"length_m"`
	Widest   assess.Metres  `json:"standoff_max_m"`
	Lon      assess.Degrees `json:"lon"`
	Lat      assess.Degrees `json:"lat"`
	Distance assess.Metres  `json:"distance_m"`
	Bearing  assess.Figure  `json:"bearing_deg"`
}

// JSON writes last.json: SI units.
func (d *Document) JSON(w io.Writer) error {
	g, e := d.Map.Totals, d.Map.Headland.Edge
	s := summary{
		Schema: Schema, Run: d.Run, Field: d.Map.Field.Name, Tolerance: assess.MetresOf(e.Tolerance),
		Passes: []passSummary{}, Headland: headland{Closed: e.Length > 0 && e.Open == 0, Open: assess.MetresOf(e.Open), Unlogged: assess.MetresOf(e.Unlogged), Openings: []opening{}},
		Remainder: assess.SquareMetres(g.Remainder), Skip: assess.SquareMetres(g.Skip - g.Remainder), Warnings: assess.WarningsOf(d.AllWarnings()),
	}
	s.Verdict = d.verdict()
	for i := range d.Passes {
		p := &d.Passes[i]
		s.Passes = append(s.Passes, passSummary{
			ID: p.Pass.ID, Machine: d.MachineName(p.Pass.Machine), Kind: assess.PassKind(p.Pass), Length: assess.MetresOf(p.Pass.Length),
			Joined: p.Left.Beside+p.Right.Beside > 0 && p.Left.Open+p.Right.Open == 0,
			Left:   d.seamSummary(p.Pass, &p.Left), Right: d.seamSummary(p.Pass, &p.Right),
		})
	}
	for _, o := range d.openings() {
		at := d.Map.Field.Frame.ToEarth(o.At)
		distance, bearing := beside.Bearing(d.Passes[0].Stands, o.At)
		s.Headland.Openings = append(s.Headland.Openings, opening{assess.MetresOf(o.Length), assess.MetresOf(o.Max), assess.DegreesOf(at.Lon), assess.DegreesOf(at.Lat), assess.MetresOf(distance), assess.Hundredths(float64(bearing))})
	}
	return assess.WriteJSON(w, s)
}

func (d *Document) verdict() verdict {
	v := &d.Verdict
	out := verdict{First: v.First(), Findings: append([]assess.Finding{}, v.Findings...), Openings: []int{}, Skips: []int{}}
	for i := range v.Openings {
		out.Openings = append(out.Openings, v.Openings[i].Opening+1)
	}
	if v.Back == nil {
		return out
	}
	numbers := d.SkipNumbers()
	for _, k := range v.Back.Skips() {
		out.Skips = append(out.Skips, numbers[k])
	}
	out.Weighed = v.Back.Weighed
	if len(out.Skips) > 0 {
		seconds := assess.Hundredths(v.Back.Plan.Time(d.Map.MeanSpeed()).Seconds())
		out.Time = &seconds
	}
	return out
}

func (d *Document) seamSummary(p *coverage.Pass, s *beside.Seam) seamSummary {
	out := seamSummary{
		Beside: assess.MetresOf(s.Beside), AtEdge: assess.MetresOf(s.AtEdge), Crossed: assess.MetresOf(s.Crossed), Alone: assess.MetresOf(s.Alone), Open: assess.MetresOf(s.Open), Mean: assess.MetresOf(s.Mean),
		WidestLap: assess.MetresOf(s.WidestLap), WidestGap: assess.MetresOf(s.WidestGap), Gaps: []gapSummary{},
	}
	for _, g := range s.Gaps {
		at := d.Map.Field.Frame.ToEarth(g.At)
		out.Gaps = append(out.Gaps, gapSummary{assess.MetresOf(p.Length - g.From), assess.MetresOf(p.Length - g.To), assess.MetresOf(g.Widest), assess.DegreesOf(at.Lon), assess.DegreesOf(at.Lat)})
	}
	return out
}
