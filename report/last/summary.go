package last

import (
	"io"

	"lapwing/coverage"
	"lapwing/coverage/assess"
	"lapwing/coverage/beside"
	"lapwing/coverage/figure"
)

// Schema names the layout of last.json.
const Schema = "lapwing/last/1"

type summary struct {
	Schema    string                  `json:"schema"`
	Run       string                  `json:"run"`
	Field     string                  `json:"field"`
	Tolerance figure.Metres           `json:"tolerance_m"`
	Verdict   verdict                 `json:"verdict"`
	Passes    []passSummary           `json:"passes"`
	Headland  headland                `json:"headland"`
	Remainder figure.SquareMetres     `json:"remainder_m2"`
	Skip      figure.SquareMetres     `json:"skip_m2"`
	Warnings  []assess.WarningSummary `json:"warnings"`
}

// A verdict is what to do now, as told on the page.
type verdict struct {
	First    assess.Finding   `json:"first"`    // what to act on first; "" before the first pass
	Findings []assess.Finding `json:"findings"` // all, the first at the head
	Openings []int            `json:"openings"` // numbers of those worth driving for: E1 is 1
	Skips    []int            `json:"skips"`    // numbers of those worth going back for
	Time     *figure.Number   `json:"time_s"`   // of that drive; null where there is none
	Weighed  bool             `json:"weighed"`  // in money
}

type passSummary struct {
	ID      int           `json:"id"`
	Machine string        `json:"machine"`
	Kind    string        `json:"kind"`
	Length  figure.Metres `json:"length_m"`
	Joined  bool          `json:"joined"`
	Left    seamSummary   `json:"left"`
	Right   seamSummary   `json:"right"`
}

type seamSummary struct {
	Beside    figure.Metres `json:"beside_m"`
	AtEdge    figure.Metres `json:"at_edge_m"`
	Crossed   figure.Metres `json:"crossed_m"`
	Alone     figure.Metres `json:"alone_m"`
	Open      figure.Metres `json:"open_m"`
	Mean      figure.Metres `json:"lap_mean_m"`
	WidestLap figure.Metres `json:"lap_max_m"`
	WidestGap figure.Metres `json:"gap_max_m"`
	Gaps      []gapSummary  `json:"gaps"`
}

type gapSummary struct {
	From   figure.Metres  `json:"from_back_m"`
	To     figure.Metres  `json:"to_back_m"`
	Widest figure.Metres  `json:"gap_max_m"`
	Lon    figure.Degrees `json:"lon"`
	Lat    figure.Degrees `json:"lat"`
}

type headland struct {
	Closed   bool          `json:"closed"`
	Open     figure.Metres `json:"open_m"`
	Unlogged figure.Metres `json:"unlogged_m"`
	Openings []opening     `json:"openings"`
}

type opening struct {
	Length   figure.Metres  `json:"length_m"`
	Widest   figure.Metres  `json:"standoff_max_m"`
	Lon      figure.Degrees `json:"lon"`
	Lat      figure.Degrees `json:"lat"`
	Distance figure.Metres  `json:"distance_m"`
	Bearing  figure.Number  `json:"bearing_deg"`
}

// JSON writes last.json: SI units.
func (d *Document) JSON(w io.Writer) error {
	g, e := d.Map.Totals, d.Map.Headland.Edge
	s := summary{
		Schema: Schema, Run: d.Run, Field: d.Map.Field.Name, Tolerance: figure.MetresOf(e.Tolerance),
		Passes: []passSummary{}, Headland: headland{Closed: e.Length > 0 && e.Open == 0, Open: figure.MetresOf(e.Open), Unlogged: figure.MetresOf(e.Unlogged), Openings: []opening{}},
		Remainder: figure.SquareMetres(g.Remainder), Skip: figure.SquareMetres(g.Skip - g.Remainder), Warnings: assess.WarningsOf(d.AllWarnings()),
	}
	s.Verdict = d.verdict()
	for i := range d.Passes {
		p := &d.Passes[i]
		s.Passes = append(s.Passes, passSummary{
			ID: p.Pass.ID, Machine: d.MachineName(p.Pass.Machine), Kind: assess.PassKind(p.Pass), Length: figure.MetresOf(p.Pass.Length),
			Joined: p.Left.Beside+p.Right.Beside > 0 && p.Left.Open+p.Right.Open == 0,
			Left:   d.seamSummary(p.Pass, &p.Left), Right: d.seamSummary(p.Pass, &p.Right),
		})
	}
	for _, o := range d.openings() {
		at := d.Map.Field.Frame.ToEarth(o.At)
		distance, bearing := beside.Bearing(d.Passes[0].Stands, o.At)
		s.Headland.Openings = append(s.Headland.Openings, opening{figure.MetresOf(o.Length), figure.MetresOf(o.Max), figure.DegreesOf(at.Lon), figure.DegreesOf(at.Lat), figure.MetresOf(distance), figure.Hundredths(float64(bearing))})
	}
	return figure.WriteJSON(w, s)
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
		seconds := figure.Hundredths(v.Back.Plan.Time(d.Map.MeanSpeed()).Seconds())
		out.Time = &seconds
	}
	return out
}

func (d *Document) seamSummary(p *coverage.Pass, s *beside.Seam) seamSummary {
	out := seamSummary{
		Beside: figure.MetresOf(s.Beside), AtEdge: figure.MetresOf(s.AtEdge), Crossed: figure.MetresOf(s.Crossed), Alone: figure.MetresOf(s.Alone), Open: figure.MetresOf(s.Open), Mean: figure.MetresOf(s.Mean),
		WidestLap: figure.MetresOf(s.WidestLap), WidestGap: figure.MetresOf(s.WidestGap), Gaps: []gapSummary{},
	}
	for _, g := range s.Gaps {
		at := d.Map.Field.Frame.ToEarth(g.At)
		out.Gaps = append(out.Gaps, gapSummary{figure.MetresOf(p.Length - g.From), figure.MetresOf(p.Length - g.To), figure.MetresOf(g.Widest), figure.DegreesOf(at.Lon), figure.DegreesOf(at.Lat)})
	}
	return out
}
