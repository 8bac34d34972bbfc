package assess

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"time"

	"lapwing/coverage"
	"lapwing/coverage/beside"
	"lapwing/coverage/cause"
	"lapwing/coverage/field"
	"lapwing/coverage/figure"
	"lapwing/geo/plane"
)

// Schema names the layout of summary.json.
const Schema = "lapwing/assessment/1"

// WriteSummary writes summary.json; the package comment says more of its names.
func (a *Assessment) WriteSummary(w io.Writer) error { return figure.WriteJSON(w, a.Summarize()) }

// ReadSummary reads summary.json back.
func ReadSummary(r io.Reader) (*Summary, error) {
	s := &Summary{}
	return readSummary(r, s, s)
}

// ReadBrief reads summary.json back without its overlaps and what ifs, of which the
// overlaps are most of the file.
func ReadBrief(r io.Reader) (*Summary, error) {
	s := &Summary{}
	return readSummary(r, s, &struct {
		*Summary
		Overlaps leftOut `json:"overlaps"` // in place of the summary's own
		WhatIf   leftOut `json:"what_if"`
	}{Summary: s})
}

// leftOut is a value that is not read.
type leftOut struct{}

func (*leftOut) UnmarshalJSON([]byte) error { return nil }

// readSummary reads s, by way of what has it as a part.
func readSummary(r io.Reader, s *Summary, by any) (*Summary, error) {
	if err := json.NewDecoder(r).Decode(by); err != nil {
		return nil, err
	}
	if s.Schema != Schema {
		return nil, fmt.Errorf("found schema %q, want %q", s.Schema, Schema)
	}
	return s, nil
}

// A Summary is what summary.json says of a field, in the order of the file.
type Summary struct {
	Schema   string           `json:"schema"`
	Run      string           `json:"run"`
	Field    FieldSummary     `json:"field"`
	Ground   GroundSummary    `json:"ground"`
	Headland HeadlandSummary  `json:"headland"`
	Machines []MachineSummary `json:"machines"`
	Passes   []PassSummary    `json:"passes"`
	Skips    []SkipSummary    `json:"skips"`
	Overlaps []OverlapSummary `json:"overlaps"`
	Products []ProductSummary `json:"products"`
	Warnings []WarningSummary `json:"warnings"`
	Thinned  figure.Metres    `json:"thinned_m"`
	Change   *ChangeSummary   `json:"best_change"`
	Loss     *LossSummary     `json:"skip_loss"`
	Dose     TurnsSummary     `json:"dose"`
	Times    []TimeSummary    `json:"times"`
	Forecast *ForecastSummary `json:"forecast"`
	WhatIf   *WhatIfSummary   `json:"what_if"`
	Stated   []StatedSummary  `json:"stated,omitempty"`
}

// A FieldSummary is the field that was measured.
type FieldSummary struct {
	Name      string              `json:"name"`
	Operation string              `json:"operation,omitempty"` // of several that a task set tells of
	Crop      string              `json:"crop,omitempty"`      // where the job names it
	Area      figure.SquareMetres `json:"area_m2"`
	Perimeter figure.Metres       `json:"perimeter_m"`
	Worked    bool                `json:"worked"`
	Lon       figure.Degrees      `json:"lon"`
	Lat       figure.Degrees      `json:"lat"`
}

// A GroundSummary is the ground by how often it was covered.
type GroundSummary struct {
	Covered        figure.SquareMetres `json:"covered_m2"`
	Skip           figure.SquareMetres `json:"skip_m2"`
	Remainder      figure.SquareMetres `json:"remainder_m2"`
	Overlap        figure.SquareMetres `json:"overlap_m2"`
	Excess         figure.SquareMetres `json:"excess_m2"`
	OverReach      figure.SquareMetres `json:"overreach_m2"`
	OverReachSwept figure.SquareMetres `json:"overreach_swept_m2"`
	Unlogged       figure.SquareMetres `json:"unlogged_m2"`
	Swept          figure.SquareMetres `json:"swept_m2"`
	ByDepth        figure.Depths       `json:"by_depth_m2"`
	// Parts of Skip that are likely no mistake: along sides where the outline is off, and,
	// a part of Remainder, ground that is never worked.
	Outlined figure.SquareMetres `json:"outlined_m2,omitempty"`
	Yards    figure.SquareMetres `json:"yards_m2,omitempty"`
}

// A HeadlandSummary is the headland zone, and the edge along it.
type HeadlandSummary struct {
	Width      figure.Metres       `json:"width_m"`
	Area       figure.SquareMetres `json:"area_m2"`
	Covered    figure.SquareMetres `json:"covered_m2"`
	Completion figure.Number       `json:"completion"`
	Edge       EdgeSummary         `json:"edge"`
	Unlogged   figure.SquareMetres `json:"unlogged_m2"`
}

// An EdgeSummary says how near the work comes to the boundary.
type EdgeSummary struct {
	Length   figure.Metres    `json:"length_m"`
	Reached  figure.Metres    `json:"reached_m"`
	Open     figure.Metres    `json:"open_m"`
	Unlogged figure.Metres    `json:"unlogged_m"`
	Mean     figure.Metres    `json:"standoff_mean_m"`
	Max      figure.Metres    `json:"standoff_max_m"`
	Openings []OpeningSummary `json:"openings"`
	Misfits  []MisfitSummary  `json:"misfits,omitempty"`
	Outlined figure.Metres    `json:"outlined_m,omitempty"` // of Open, in openings along misfits
}

// A MisfitSummary is a side of the field that the passes along it keep evenly short of,
// or go evenly past (below zero): likely not for the work.
type MisfitSummary struct {
	Side   string              `json:"side"` // a point of the compass; "" all the way round
	Length figure.Metres       `json:"length_m"`
	Mean   figure.Metres       `json:"standoff_mean_m"`
	Area   figure.SquareMetres `json:"skip_m2"`
	Lon    figure.Degrees      `json:"lon"`
	Lat    figure.Degrees      `json:"lat"`
	Likely string              `json:"likely"`
	Remedy string              `json:"remedy"` // what to write in the job if so
}

// An OpeningSummary is a stretch of the boundary that the work does not reach.
type OpeningSummary struct {
	Length figure.Metres  `json:"length_m"`
	Max    figure.Metres  `json:"standoff_max_m"`
	Hole   bool           `json:"hole"`
	Lon    figure.Degrees `json:"lon"`
	Lat    figure.Degrees `json:"lat"`
}

// A MachineSummary names a machine.
type MachineSummary struct {
	Name     string        `json:"name"`
	Operator string        `json:"operator"`
	Width    figure.Metres `json:"width_m"`
}

// A PassSummary is one pass. Start and End are "" where its log has no clock.
type PassSummary struct {
	ID      int                 `json:"id"`
	Machine string              `json:"machine"`
	Kind    string              `json:"kind"`
	Start   string              `json:"start"`
	End     string              `json:"end"`
	Length  figure.Metres       `json:"length_m"`
	Swept   figure.SquareMetres `json:"swept_m2"`
	New     figure.SquareMetres `json:"new_m2"`
	Overlap figure.SquareMetres `json:"overlap_m2"`
	// Day is its first day in the job's time zone, "2026-05-04"; "" without a clock.
	Day string         `json:"day"`
	Lap LapKeptSummary `json:"lap"`
}

// A LapKeptSummary is the lap that a pass kept and the one that was aimed for, see
// [KeptLap]. What is known only where ground worked before lies beside the pass is null
// where there is too little of it.
type LapKeptSummary struct {
	Aimed    figure.Metres  `json:"aimed_m"`
	Planned  bool           `json:"planned"` // the job says what is aimed for
	Along    figure.Metres  `json:"along_m"`
	Mean     figure.Metres  `json:"mean_m"`
	Spread   figure.Metres  `json:"spread_m"`
	Receiver figure.Metres  `json:"receiver_m"`
	Left     LapSideSummary `json:"left"`
	Right    LapSideSummary `json:"right"`
}

// A LapSideSummary is the part of a [LapKeptSummary] on one side, as driven.
type LapSideSummary struct {
	Along figure.Metres `json:"along_m"`
	Mean  figure.Metres `json:"mean_m"`
}

// A SkipSummary is a listed skip.
type SkipSummary struct {
	ID       int                 `json:"id"`
	Area     figure.SquareMetres `json:"area_m2"`
	Length   figure.Metres       `json:"length_m"`
	Width    figure.Metres       `json:"width_m"`
	Lon      figure.Degrees      `json:"lon"`
	Lat      figure.Degrees      `json:"lat"`
	Cause    cause.SkipCause     `json:"cause"`
	Machines []string            `json:"machines"`
	Passes   []int               `json:"passes"`
	Headland bool                `json:"headland"`
	Place    string              `json:"place"`
	// Likely no mistake: the outline's, or ground that is never worked.
	Outlined bool `json:"outlined,omitempty"`
	Yard     bool `json:"yard,omitempty"`
	// The share of it that was likely worked after all, where no log says when the bar worked.
	Doubt figure.Number `json:"doubt,omitempty"`
}

// An OverlapSummary is a listed overlap.
type OverlapSummary struct {
	ID       int                 `json:"id"`
	Area     figure.SquareMetres `json:"area_m2"`
	Depth    int                 `json:"depth"`
	Lon      figure.Degrees      `json:"lon"`
	Lat      figure.Degrees      `json:"lat"`
	Cause    cause.OverlapCause  `json:"cause"`
	Machines []string            `json:"machines"`
	Passes   []int               `json:"passes"`
	Place    string              `json:"place"`
	// The share of it that was likely not worked so often, where no log says when the bar worked.
	Doubt figure.Number `json:"doubt,omitempty"`
}

// A WarningSummary is a warning; Line and Count are nil where they mean nothing.
type WarningSummary struct {
	File  string `json:"file"`
	Text  string `json:"text"`
	Line  *int   `json:"line"`
	Count *int   `json:"count"`
}

// Summarize makes the summary.
func (a *Assessment) Summarize() *Summary {
	m := a.Map
	g := m.Totals
	s := &Summary{
		Schema: Schema,
		Run:    a.Run,
		Field: FieldSummary{
			Name: m.Field.Name, Operation: a.Operation, Crop: a.CropName(), Area: figure.SquareMetres(g.Field), Perimeter: figure.MetresOf(m.Field.Perimeter()),
			Worked: m.Field.Worked, Lon: figure.DegreesOf(m.Field.Frame.Centre.Lon), Lat: figure.DegreesOf(m.Field.Frame.Centre.Lat),
		},
		Ground: GroundSummary{
			Covered: figure.SquareMetres(g.Covered), Skip: figure.SquareMetres(g.Skip), Remainder: figure.SquareMetres(g.Remainder), Outlined: figure.SquareMetres(g.Outlined), Yards: figure.SquareMetres(g.Yards),
			Overlap: figure.SquareMetres(g.Overlap), Excess: figure.SquareMetres(g.Excess),
			OverReach: figure.SquareMetres(g.OverReach), OverReachSwept: figure.SquareMetres(g.OverReachSwept),
			Unlogged: figure.SquareMetres(g.Unlogged), Swept: figure.SquareMetres(g.Swept),
			ByDepth: ByDepth(g),
		},
		Headland: a.summaryHeadland(),
		Machines: make([]MachineSummary, 0, len(m.Machines)),
		Passes:   make([]PassSummary, 0, len(m.Passes)),
		Skips:    []SkipSummary{},
		Overlaps: []OverlapSummary{},
		Products: make([]ProductSummary, 0, len(a.Accounts)),
		Warnings: WarningsOf(a.AllWarnings()),
		Thinned:  figure.MetresOf(m.Thinned),
		Change:   a.summaryChange(),
		Loss:     a.summaryLoss(),
		Dose:     a.summaryDose(),
		Times:    a.Times(),
		Forecast: a.summaryForecast(),
		WhatIf:   a.SummarizeWhatIf(),
		Stated:   a.summaryStated(),
	}
	for i := range m.Machines {
		s.Machines = append(s.Machines, MachineSummary{m.Machines[i].Name, m.Machines[i].Operator, figure.MetresOf(m.Machines[i].Implement.Width)})
	}
	for i := range m.Passes {
		s.Passes = append(s.Passes, a.summaryPass(&m.Passes[i]))
	}
	skips, overlaps := a.Skips(), a.Overlaps()
	for number, i := range skips.Each() {
		s.Skips = append(s.Skips, a.summarySkip(number, &m.Skips[i]))
	}
	for number, i := range overlaps.Each() {
		s.Overlaps = append(s.Overlaps, a.summaryOverlap(number, &m.Overlaps[i]))
	}
	for i := range a.Accounts {
		s.Products = append(s.Products, ProductOf(&a.Accounts[i]))
	}
	return s
}

// WarningsOf writes warnings.
func WarningsOf(warnings []field.Warning) []WarningSummary {
	out := make([]WarningSummary, len(warnings))
	for i, w := range warnings {
		out[i] = WarningSummary{w.File, w.Text, nonZero(w.Line), nonZero(w.Count)}
	}
	return out
}

// ByDepth returns the areas by visits; at depth 0 is the skip, without the
// ground the log is silent about.
func ByDepth(g coverage.Totals) figure.Depths {
	if len(g.ByDepth) == 0 {
		return figure.Depths{g.Skip}
	}
	return append(figure.Depths{g.Skip}, g.ByDepth[1:]...)
}

func (a *Assessment) summaryHeadland() HeadlandSummary {
	h := a.Map.Headland
	out := HeadlandSummary{
		Width: figure.MetresOf(h.Width), Area: figure.SquareMetres(h.Area), Covered: figure.SquareMetres(h.Covered),
		Completion: figure.Number(h.Completion()), Unlogged: figure.SquareMetres(h.Unlogged),
		Edge: EdgeSummary{
			Length: figure.MetresOf(h.Edge.Length), Reached: figure.MetresOf(h.Edge.Reached), Open: figure.MetresOf(h.Edge.Open),
			Unlogged: figure.MetresOf(h.Edge.Unlogged), Mean: figure.MetresOf(h.Edge.Mean), Max: figure.MetresOf(h.Edge.Max),
			Openings: make([]OpeningSummary, 0, len(h.Edge.Openings)),
		},
	}
	for _, o := range h.Edge.Openings {
		at := a.Map.Field.Frame.ToEarth(o.At)
		hole := o.Ring < len(h.Edge.Profile) && h.Edge.Profile[o.Ring].Hole
		out.Edge.Openings = append(out.Edge.Openings,
			OpeningSummary{figure.MetresOf(o.Length), figure.MetresOf(o.Max), hole, figure.DegreesOf(at.Lon), figure.DegreesOf(at.Lat)})
	}
	_, open := h.OpenByWork()
	out.Edge.Outlined = figure.MetresOf(h.Edge.Open - open)
	if fit := h.Fit; fit != nil {
		for i := range fit.Misfits {
			m := &fit.Misfits[i]
			at := a.Map.Field.Frame.ToEarth(m.At)
			out.Edge.Misfits = append(out.Edge.Misfits, MisfitSummary{m.Side, figure.MetresOf(m.Length), figure.MetresOf(m.Mean), figure.SquareMetres(m.Area),
				figure.DegreesOf(at.Lon), figure.DegreesOf(at.Lat), fit.Likely(m), fit.Remedy()})
		}
	}
	return out
}

func (a *Assessment) summaryPass(p *coverage.Pass) PassSummary {
	out := PassSummary{
		ID: p.ID, Machine: a.MachineName(p.Machine), Kind: PassKind(p), Length: figure.MetresOf(p.Length),
		Swept: figure.SquareMetres(p.Swept), New: figure.SquareMetres(p.New), Overlap: figure.SquareMetres(p.Overlap),
		Lap: a.lapOf(p).summary(),
	}
	if a.HasClock(p) {
		out.Start, out.End = figure.Stamp(p.Start), figure.Stamp(p.End)
		out.Day = a.Local(p.Start).Format(time.DateOnly)
	}
	return out
}

// summary writes the lap of a pass.
func (l *KeptLap) summary() LapKeptSummary {
	known := func(d, along plane.Distance) figure.Metres {
		if along == 0 {
			return figure.Metres(math.NaN())
		}
		return figure.MetresOf(d)
	}
	side := func(s beside.KeptSide) LapSideSummary {
		return LapSideSummary{figure.MetresOf(s.Along), known(s.Mean, s.Along)}
	}
	return LapKeptSummary{
		Aimed: figure.MetresOf(l.Aimed), Planned: l.Planned, Along: figure.MetresOf(l.Along),
		Mean: known(l.Mean, l.Along), Spread: known(l.Spread, l.Along), Receiver: known(l.Receiver, l.Along),
		Left: side(l.Left), Right: side(l.Right),
	}
}

func (a *Assessment) summarySkip(id int, s *cause.Skip) SkipSummary {
	at := a.Map.Field.Frame.ToEarth(s.At)
	return SkipSummary{
		ID: id, Area: figure.SquareMetres(s.Area), Length: figure.MetresOf(s.Length), Width: figure.MetresOf(s.Width),
		Lon: figure.DegreesOf(at.Lon), Lat: figure.DegreesOf(at.Lat), Cause: s.Cause,
		Machines: a.MachineNames(s.Machines), Passes: orEmpty(s.Passes),
		Headland: a.regionInHeadland(s.Region), Place: a.Place(a.Units, s.Place, s.At),
		Outlined: s.Outlined, Yard: s.Yard, Doubt: figure.Number(s.Doubt),
	}
}

func (a *Assessment) summaryOverlap(id int, o *cause.Overlap) OverlapSummary {
	at := a.Map.Field.Frame.ToEarth(o.At)
	return OverlapSummary{
		ID: id, Area: figure.SquareMetres(o.Area), Depth: o.Depth, Lon: figure.DegreesOf(at.Lon), Lat: figure.DegreesOf(at.Lat),
		Cause: o.Cause, Machines: a.MachineNames(o.Machines), Passes: orEmpty(o.Passes),
		Place: a.Place(a.Units, o.Place, o.At), Doubt: figure.Number(o.Doubt),
	}
}

func (a *Assessment) regionInHeadland(i int) bool {
	return i >= 0 && i < len(a.Map.Regions) && a.Map.Regions[i].Headland
}

// nonZero is nil for 0, which stands for a number that is not known.
func nonZero(n int) *int {
	if n == 0 {
		return nil
	}
	return &n
}

func orEmpty(s []int) []int {
	if s == nil {
		return []int{}
	}
	return s
}
