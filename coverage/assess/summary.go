package assess

import (
	"encoding/json"
	"io"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/cause"
	"lapwing/coverage/field"
)

// Schema names the layout of summary.json.
const Schema = "lapwing/assessment/1"

// WriteSummary writes summary.json. See the package comment for what it adds to
// the agreed names.
func (r *Assessment) WriteSummary(w io.Writer) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(r.summary())
}

type summary struct {
	Schema   string           `json:"schema"`
	Run      string           `json:"run"`
	Field    summaryField     `json:"field"`
	Ground   summaryGround    `json:"ground"`
	Headland summaryHeadland  `json:"headland"`
	Machines []summaryMachine `json:"machines"`
	Passes   []summaryPass    `json:"passes"`
	Skips    []summarySkip    `json:"skips"`
	Overlaps []summaryOverlap `json:"overlaps"`
	Products []summaryProduct `json:"products"`
	Warnings []SummaryWarning `json:"warnings"`
	Thinned  Metres           `json:"thinned_m"`
	Change   *summaryChange   `json:"best_change"`
	Loss     *summaryLoss     `json:"skip_loss"`
	Dose     summaryDose      `json:"dose"`
	Times    []summaryTime    `json:"times"`
	Forecast *summaryForecast `json:"forecast"`
	WhatIf   *SummaryWhatIf   `json:"what_if"`
}

type summaryField struct {
	Name      string       `json:"name"`
	Area      SquareMetres `json:"area_m2"`
	Perimeter Metres       `json:"perimeter_m"`
	Worked    bool         `json:"worked"`
	Lon       Degrees      `json:"lon"`
	Lat       Degrees      `json:"lat"`
}

type summaryGround struct {
	Covered        SquareMetres `json:"covered_m2"`
	Skip           SquareMetres `json:"skip_m2"`
	Remainder      SquareMetres `json:"remainder_m2"`
	Overlap        SquareMetres `json:"overlap_m2"`
	Excess         SquareMetres `json:"excess_m2"`
	OverReach      SquareMetres `json:"overreach_m2"`
	OverReachSwept SquareMetres `json:"overreach_swept_m2"`
	Unlogged       SquareMetres `json:"unlogged_m2"`
	Swept          SquareMetres `json:"swept_m2"`
	ByDepth        depths       `json:"by_depth_m2"`
}

type summaryHeadland struct {
	Width      Metres       `json:"width_m"`
	Area       SquareMetres `json:"area_m2"`
	Covered    SquareMetres `json:"covered_m2"`
	Completion Figure       `json:"completion"`
	Edge       summaryEdge  `json:"edge"`
	Unlogged   SquareMetres `json:"unlogged_m2"`
}

type summaryEdge struct {
	Length   Metres           `json:"length_m"`
	Reached  Metres           `json:"reached_m"`
	Open     Metres           `json:"open_m"`
	Unlogged Metres           `json:"unlogged_m"`
	Mean     Metres           `json:"standoff_mean_m"`
	Max      Metres           `json:"standoff_max_m"`
	Openings []summaryOpening `json:"openings"`
}

type summaryOpening struct {
	Length Metres  `json:"length_m"`
	Max    Metres  `json:"standoff_max_m"`
	Hole   bool    `json:"hole"`
	Lon    Degrees `json:"lon"`
	Lat    Degrees `json:"lat"`
}

type summaryMachine struct {
	Name     string `json:"name"`
	Operator string `json:"operator"`
	Width    Metres `json:"width_m"`
}

type summaryPass struct {
	ID      int          `json:"id"`
	Machine string       `json:"machine"`
	Kind    string       `json:"kind"`
	Start   string       `json:"start"`
	End     string       `json:"end"`
	Length  Metres       `json:"length_m"`
	Swept   SquareMetres `json:"swept_m2"`
	New     SquareMetres `json:"new_m2"`
	Overlap SquareMetres `json:"overlap_m2"`
}

type summarySkip struct {
	ID       int             `json:"id"`
	Area     SquareMetres    `json:"area_m2"`
	Length   Metres          `json:"length_m"`
	Width    Metres          `json:"width_m"`
	Lon      Degrees         `json:"lon"`
	Lat      Degrees         `json:"lat"`
	Cause    cause.SkipCause `json:"cause"`
	Machines []string        `json:"machines"`
	Passes   []int           `json:"passes"`
	Headland bool            `json:"headland"`
	Place    string          `json:"place"`
}

type summaryOverlap struct {
	ID       int                `json:"id"`
	Area     SquareMetres       `json:"area_m2"`
	Depth    int                `json:"depth"`
	Lon      Degrees            `json:"lon"`
	Lat      Degrees            `json:"lat"`
	Cause    cause.OverlapCause `json:"cause"`
	Machines []string           `json:"machines"`
	Passes   []int              `json:"passes"`
	Place    string             `json:"place"`
}

type summaryProduct struct {
	Name       string          `json:"name"`
	MassRate   *Figure         `json:"rate_kg_per_ha"`
	VolumeRate *Figure         `json:"rate_l_per_ha"`
	Applied    *Figure         `json:"applied_kg"`
	Wasted     *Figure         `json:"wasted_kg"`
	Short      *Figure         `json:"short_kg"`
	Nitrogen   summaryNitrogen `json:"nitrogen"`
	WastedCost *Figure         `json:"wasted_cost"`
	Currency   string          `json:"currency"`
	AppliedL   *Figure         `json:"applied_l"`
	WastedL    *Figure         `json:"wasted_l"`
	ShortL     *Figure         `json:"short_l"`

	Working   *string              `json:"working"`
	Density   *Figure              `json:"density_kg_per_m3"`
	Analysis  *summaryAnalysis     `json:"analysis"`
	ShortCost *Figure              `json:"short_cost"`
	Ground    summaryProductGround `json:"ground"`
	Waste     summaryWaste         `json:"waste"`
	Tanks     []summaryTank        `json:"tanks"`
	Logged    *summaryLogged       `json:"logged_rate"`
}

type summaryAnalysis struct {
	N         Figure `json:"n"`
	Phosphate Figure `json:"p2o5"`
	Potash    Figure `json:"k2o"`
}

type summaryNitrogen struct {
	Applied *Figure `json:"applied_kg"`
	Wasted  *Figure `json:"wasted_kg"`
	Short   *Figure `json:"short_kg"`
}

type SummaryWarning struct {
	File  string `json:"file"`
	Text  string `json:"text"`
	Line  *int   `json:"line"`
	Count *int   `json:"count"`
}

func (r *Assessment) summary() summary {
	m := r.Map
	g := m.Ground
	s := summary{
		Schema: Schema,
		Run:    r.Run,
		Field: summaryField{
			Name: m.Field.Name, Area: SquareMetres(g.Field), Perimeter: Metres(m.Field.Perimeter()),
			Worked: m.Field.Worked, Lon: Degrees(m.Field.Frame.Centre.Lon), Lat: Degrees(m.Field.Frame.Centre.Lat),
		},
		Ground: summaryGround{
			Covered: SquareMetres(g.Covered), Skip: SquareMetres(g.Skip), Remainder: SquareMetres(g.Remainder),
			Overlap: SquareMetres(g.Overlap), Excess: SquareMetres(g.Excess),
			OverReach: SquareMetres(g.OverReach), OverReachSwept: SquareMetres(g.OverReachSwept),
			Unlogged: SquareMetres(g.Unlogged), Swept: SquareMetres(g.Swept),
			ByDepth: ByDepth(g),
		},
		Headland: r.summaryHeadland(),
		Machines: make([]summaryMachine, 0, len(m.Machines)),
		Passes:   make([]summaryPass, 0, len(m.Passes)),
		Skips:    []summarySkip{},
		Overlaps: []summaryOverlap{},
		Products: make([]summaryProduct, 0, len(r.Accounts)),
		Warnings: SummaryWarnings(r.AllWarnings()),
		Thinned:  Metres(m.Thinned),
		Change:   r.summaryChange(),
		Loss:     r.summaryLoss(),
		Dose:     r.summaryDose(),
		Times:    r.SummaryTimes(),
		Forecast: r.summaryForecast(),
		WhatIf:   r.SummaryWhatIf(),
	}
	for i := range m.Machines {
		s.Machines = append(s.Machines, summaryMachine{m.Machines[i].Name, m.Machines[i].Operator, Metres(m.Machines[i].Implement.Width)})
	}
	for i := range m.Passes {
		s.Passes = append(s.Passes, r.summaryPass(&m.Passes[i]))
	}
	skips, overlaps := r.Skips(), r.Overlaps()
	for n, i := range skips.Order[:skips.Listed] {
		s.Skips = append(s.Skips, r.summarySkip(n+1, &m.Skips[i]))
	}
	for n, i := range overlaps.Order[:overlaps.Listed] {
		s.Overlaps = append(s.Overlaps, r.summaryOverlap(n+1, &m.Overlaps[i]))
	}
	for i := range r.Accounts {
		s.Products = append(s.Products, SummaryProductOf(&r.Accounts[i]))
	}
	return s
}

func SummaryWarnings(warnings []field.Warning) []SummaryWarning {
	out := make([]SummaryWarning, len(warnings))
	for i, w := range warnings {
		out[i] = SummaryWarning{w.File, w.Text, NonZero(w.Line), NonZero(w.Count)}
	}
	return out
}

// ByDepth returns the areas by visits; at depth 0 is the skip, without the
// ground the log is silent about.
func ByDepth(g coverage.Totals) depths {
	if len(g.ByDepth) == 0 {
		return depths{g.Skip}
	}
	return append(depths{g.Skip}, g.ByDepth[1:]...)
}

func (r *Assessment) summaryHeadland() summaryHeadland {
	h := r.Map.Headland
	out := summaryHeadland{
		Width: Metres(h.Width), Area: SquareMetres(h.Area), Covered: SquareMetres(h.Covered),
		Completion: Figure(h.Completion()), Unlogged: SquareMetres(h.Unlogged),
		Edge: summaryEdge{
			Length: Metres(h.Edge.Length), Reached: Metres(h.Edge.Reached), Open: Metres(h.Edge.Open),
			Unlogged: Metres(h.Edge.Unlogged), Mean: Metres(h.Edge.Mean), Max: Metres(h.Edge.Max),
			Openings: make([]summaryOpening, 0, len(h.Edge.Openings)),
		},
	}
	for _, o := range h.Edge.Openings {
		at := r.Map.Field.Frame.ToEarth(o.At)
		hole := o.Ring < len(h.Edge.Profile) && h.Edge.Profile[o.Ring].Hole
		out.Edge.Openings = append(out.Edge.Openings,
			summaryOpening{Metres(o.Length), Metres(o.Max), hole, Degrees(at.Lon), Degrees(at.Lat)})
	}
	return out
}

func (r *Assessment) summaryPass(p *coverage.Pass) summaryPass {
	out := summaryPass{
		ID: p.ID, Machine: r.MachineName(p.Machine), Kind: PassKind(p), Length: Metres(p.Length),
		Swept: SquareMetres(p.Swept), New: SquareMetres(p.New), Overlap: SquareMetres(p.Overlap),
	}
	if r.HasClock(p) {
		out.Start, out.End = Stamp(p.Start), Stamp(p.End)
	}
	return out
}

func (r *Assessment) summarySkip(id int, s *cause.Skip) summarySkip {
	at := r.Map.Field.Frame.ToEarth(s.At)
	return summarySkip{
		ID: id, Area: SquareMetres(s.Area), Length: Metres(s.Length), Width: Metres(s.Width),
		Lon: Degrees(at.Lon), Lat: Degrees(at.Lat), Cause: s.Cause,
		Machines: r.MachineNames(s.Machines), Passes: orEmpty(s.Passes),
		Headland: r.regionInHeadland(s.Region), Place: r.Place(r.Units, s.Place, s.At),
	}
}

func (r *Assessment) summaryOverlap(id int, o *cause.Overlap) summaryOverlap {
	at := r.Map.Field.Frame.ToEarth(o.At)
	return summaryOverlap{
		ID: id, Area: SquareMetres(o.Area), Depth: o.Depth, Lon: Degrees(at.Lon), Lat: Degrees(at.Lat),
		Cause: o.Cause, Machines: r.MachineNames(o.Machines), Passes: orEmpty(o.Passes),
		Place: r.Place(r.Units, o.Place, o.At),
	}
}

func (r *Assessment) regionInHeadland(i int) bool {
	return i >= 0 && i < len(r.Map.Regions) && r.Map.Regions[i].Headland
}

func SummaryProductOf(a *agronomy.Account) summaryProduct {
	const perHectare = 1e4 // from a square metre
	p := &a.Product
	out := summaryProduct{
		Name:       p.Name,
		MassRate:   Scaled(p.MassRate, perHectare),
		VolumeRate: Scaled(p.VolumeRate, Litres*perHectare),
		Applied:    Scaled(a.Applied.Mass, 1), Wasted: Scaled(a.Wasted.Mass, 1), Short: Scaled(a.Short.Mass, 1),
		Nitrogen: summaryNitrogen{
			Scaled(a.Applied.N, 1), Scaled(a.Wasted.N, 1), Scaled(a.Short.N, 1),
		},
		WastedCost: Scaled(a.Wasted.Cost, 1),
		AppliedL:   Scaled(a.Applied.Volume, Litres), WastedL: Scaled(a.Wasted.Volume, Litres),
		ShortL:  Scaled(a.Short.Volume, Litres),
		Density: Scaled(p.Density, 1), ShortCost: Scaled(a.Short.Cost, 1),
		Ground: summaryProductGround{SquareMetres(a.Applied.Area), SquareMetres(a.Wasted.Area), SquareMetres(a.Short.Area)},
		Waste:  summaryWasteOf(a), Tanks: summaryTanksOf(a),
		Logged: summaryLoggedOf(a),
	}
	if p.Working != "" {
		out.Working = &p.Working
	}
	if p.Analysis != nil {
		out.Analysis = &summaryAnalysis{Figure(p.Analysis.N), Figure(p.Analysis.P2O5), Figure(p.Analysis.K2O)}
	}
	if p.Price != nil {
		out.Currency = p.Price.Currency
	}
	return out
}
