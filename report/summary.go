package report

import (
	"encoding/json"
	"io"
	"math"
	"strconv"
	"time"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// Schema names the layout of summary.json.
const Schema = "lapwing/assessment/1"

// Summary writes summary.json. See the package comment for what it adds to
// the agreed names.
func (r *Report) Summary(w io.Writer) error {
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
	Warnings []summaryWarning `json:"warnings"`
	Thinned  metres           `json:"thinned_m"`
	Change   *summaryChange   `json:"best_change"`
	Loss     *summaryLoss     `json:"skip_loss"`
	Dose     summaryDose      `json:"dose"`
	Times    []summaryTime    `json:"times"`
	Forecast *summaryForecast `json:"forecast"`
	WhatIf   *summaryWhatIf   `json:"what_if"`
}

type summaryField struct {
	Name      string       `json:"name"`
	Area      squareMetres `json:"area_m2"`
	Perimeter metres       `json:"perimeter_m"`
	Worked    bool         `json:"worked"`
	Lon       degrees      `json:"lon"`
	Lat       degrees      `json:"lat"`
}

type summaryGround struct {
	Covered        squareMetres `json:"covered_m2"`
	Skip           squareMetres `json:"skip_m2"`
	Remainder      squareMetres `json:"remainder_m2"`
	Overlap        squareMetres `json:"overlap_m2"`
	Excess         squareMetres `json:"excess_m2"`
	OverReach      squareMetres `json:"overreach_m2"`
	OverReachSwept squareMetres `json:"overreach_swept_m2"`
	Unlogged       squareMetres `json:"unlogged_m2"`
	Swept          squareMetres `json:"swept_m2"`
	ByDepth        depths       `json:"by_depth_m2"`
}

type summaryHeadland struct {
	Width      metres       `json:"width_m"`
	Area       squareMetres `json:"area_m2"`
	Covered    squareMetres `json:"covered_m2"`
	Completion figure       `json:"completion"`
	Edge       summaryEdge  `json:"edge"`
	Unlogged   squareMetres `json:"unlogged_m2"`
}

type summaryEdge struct {
	Length   metres           `json:"length_m"`
	Reached  metres           `json:"reached_m"`
	Open     metres           `json:"open_m"`
	Unlogged metres           `json:"unlogged_m"`
	Mean     metres           `json:"standoff_mean_m"`
	Max      metres           `json:"standoff_max_m"`
	Openings []summaryOpening `json:"openings"`
}

type summaryOpening struct {
	Length metres  `json:"length_m"`
	Max    metres  `json:"standoff_max_m"`
	Hole   bool    `json:"hole"`
	Lon    degrees `json:"lon"`
	Lat    degrees `json:"lat"`
}

type summaryMachine struct {
	Name     string `json:"name"`
	Operator string `json:"operator"`
	Width    metres `json:"width_m"`
}

type summaryPass struct {
	ID      int          `json:"id"`
	Machine string       `json:"machine"`
	Kind    string       `json:"kind"`
	Start   string       `json:"start"`
	End     string       `json:"end"`
	Length  metres       `json:"length_m"`
	Swept   squareMetres `json:"swept_m2"`
	New     squareMetres `json:"new_m2"`
	Overlap squareMetres `json:"overlap_m2"`
}

type summarySkip struct {
	ID       int            `json:"id"`
	Area     squareMetres   `json:"area_m2"`
	Length   metres         `json:"length_m"`
	Width    metres         `json:"width_m"`
	Lon      degrees        `json:"lon"`
	Lat      degrees        `json:"lat"`
	Cause    coverage.Cause `json:"cause"`
	Machines []string       `json:"machines"`
	Passes   []int          `json:"passes"`
	Headland bool           `json:"headland"`
	Place    string         `json:"place"`
}

type summaryOverlap struct {
	ID       int            `json:"id"`
	Area     squareMetres   `json:"area_m2"`
	Depth    int            `json:"depth"`
	Lon      degrees        `json:"lon"`
	Lat      degrees        `json:"lat"`
	Cause    coverage.Cause `json:"cause"`
	Machines []string       `json:"machines"`
	Passes   []int          `json:"passes"`
	Place    string         `json:"place"`
}

type summaryProduct struct {
	Name       string          `json:"name"`
	MassRate   *figure         `json:"rate_kg_per_ha"`
	VolumeRate *figure         `json:"rate_l_per_ha"`
	Applied    *figure         `json:"applied_kg"`
	Wasted     *figure         `json:"wasted_kg"`
	Short      *figure         `json:"short_kg"`
	Nitrogen   summaryNitrogen `json:"nitrogen"`
	WastedCost *figure         `json:"wasted_cost"`
	Currency   string          `json:"currency"`
	AppliedL   *figure         `json:"applied_l"`
	WastedL    *figure         `json:"wasted_l"`
	ShortL     *figure         `json:"short_l"`

	Working   *string              `json:"working"`
	Density   *figure              `json:"density_kg_per_m3"`
	Analysis  *summaryAnalysis     `json:"analysis"`
	ShortCost *figure              `json:"short_cost"`
	Ground    summaryProductGround `json:"ground"`
	Waste     summaryWaste         `json:"waste"`
	Tanks     []summaryTank        `json:"tanks"`
	Logged    *summaryLogged       `json:"logged_rate"`
}

type summaryAnalysis struct {
	N         figure `json:"n"`
	Phosphate figure `json:"p2o5"`
	Potash    figure `json:"k2o"`
}

type summaryNitrogen struct {
	Applied *figure `json:"applied_kg"`
	Wasted  *figure `json:"wasted_kg"`
	Short   *figure `json:"short_kg"`
}

type summaryWarning struct {
	File  string `json:"file"`
	Text  string `json:"text"`
	Line  *int   `json:"line"`
	Count *int   `json:"count"`
}

func (r *Report) summary() summary {
	m := r.Map
	g := m.Ground
	s := summary{
		Schema: Schema,
		Run:    r.Run,
		Field: summaryField{
			Name: m.Field.Name, Area: squareMetres(g.Field), Perimeter: metres(m.Field.Perimeter()),
			Worked: m.Field.Worked, Lon: degrees(m.Field.Frame.Centre.Lon), Lat: degrees(m.Field.Frame.Centre.Lat),
		},
		Ground: summaryGround{
			Covered: squareMetres(g.Covered), Skip: squareMetres(g.Skip), Remainder: squareMetres(g.Remainder),
			Overlap: squareMetres(g.Overlap), Excess: squareMetres(g.Excess),
			OverReach: squareMetres(g.OverReach), OverReachSwept: squareMetres(g.OverReachSwept),
			Unlogged: squareMetres(g.Unlogged), Swept: squareMetres(g.Swept),
			ByDepth: byDepth(g),
		},
		Headland: r.summaryHeadland(),
		Machines: make([]summaryMachine, 0, len(m.Machines)),
		Passes:   make([]summaryPass, 0, len(m.Passes)),
		Skips:    []summarySkip{},
		Overlaps: []summaryOverlap{},
		Products: make([]summaryProduct, 0, len(r.Accounts)),
		Warnings: summaryWarnings(r.warnings()),
		Thinned:  metres(m.Thinned),
		Change:   r.summaryChange(),
		Loss:     r.summaryLoss(),
		Dose:     r.summaryDose(),
		Times:    r.summaryTimes(),
		Forecast: r.summaryForecast(),
		WhatIf:   r.summaryWhatIf(),
	}
	for i := range m.Machines {
		s.Machines = append(s.Machines, summaryMachine{m.Machines[i].Name, m.Machines[i].Operator, metres(m.Machines[i].Implement.Width)})
	}
	for i := range m.Passes {
		s.Passes = append(s.Passes, r.summaryPass(&m.Passes[i]))
	}
	skips, overlaps := r.skips(), r.overlaps()
	for n, i := range skips.order[:skips.listed] {
		s.Skips = append(s.Skips, r.summarySkip(n+1, &m.Skips[i]))
	}
	for n, i := range overlaps.order[:overlaps.listed] {
		s.Overlaps = append(s.Overlaps, r.summaryOverlap(n+1, &m.Overlaps[i]))
	}
	for i := range r.Accounts {
		s.Products = append(s.Products, summaryProductOf(&r.Accounts[i]))
	}
	return s
}

func summaryWarnings(warnings []coverage.Warning) []summaryWarning {
	out := make([]summaryWarning, len(warnings))
	for i, w := range warnings {
		out[i] = summaryWarning{w.File, w.Text, nonZero(w.Line), nonZero(w.Count)}
	}
	return out
}

// byDepth returns the areas by visits; at depth 0 is the skip, without the
// ground the log is silent about.
func byDepth(g coverage.Totals) depths {
	if len(g.ByDepth) == 0 {
		return depths{g.Skip}
	}
	return append(depths{g.Skip}, g.ByDepth[1:]...)
}

func (r *Report) summaryHeadland() summaryHeadland {
	h := r.Map.Headland
	out := summaryHeadland{
		Width: metres(h.Width), Area: squareMetres(h.Area), Covered: squareMetres(h.Covered),
		Completion: figure(h.Completion()), Unlogged: squareMetres(h.Unlogged),
		Edge: summaryEdge{
			Length: metres(h.Edge.Length), Reached: metres(h.Edge.Reached), Open: metres(h.Edge.Open),
			Unlogged: metres(h.Edge.Unlogged), Mean: metres(h.Edge.Mean), Max: metres(h.Edge.Max),
			Openings: make([]summaryOpening, 0, len(h.Edge.Openings)),
		},
	}
	for _, o := range h.Edge.Openings {
		at := r.Map.Field.Frame.ToEarth(o.At)
		hole := o.Ring < len(h.Edge.Profile) && h.Edge.Profile[o.Ring].Hole
		out.Edge.Openings = append(out.Edge.Openings,
			summaryOpening{metres(o.Length), metres(o.Max), hole, degrees(at.Lon), degrees(at.Lat)})
	}
	return out
}

func (r *Report) summaryPass(p *coverage.Pass) summaryPass {
	out := summaryPass{
		ID: p.ID, Machine: r.machineName(p.Machine), Kind: passKind(p), Length: metres(p.Length),
		Swept: squareMetres(p.Swept), New: squareMetres(p.New), Overlap: squareMetres(p.Overlap),
	}
	if r.clock(p) {
		out.Start, out.End = stamp(p.Start), stamp(p.End)
	}
	return out
}

func (r *Report) summarySkip(id int, s *coverage.SkipPatch) summarySkip {
	at := r.Map.Field.Frame.ToEarth(s.At)
	return summarySkip{
		ID: id, Area: squareMetres(s.Area), Length: metres(s.Length), Width: metres(s.Width),
		Lon: degrees(at.Lon), Lat: degrees(at.Lat), Cause: s.Cause,
		Machines: r.machineNames(s.Machines), Passes: orEmpty(s.Passes),
		Headland: r.regionInHeadland(s.Region), Place: r.place(r.Units, s.Place, s.At),
	}
}

func (r *Report) summaryOverlap(id int, o *coverage.OverlapPatch) summaryOverlap {
	at := r.Map.Field.Frame.ToEarth(o.At)
	return summaryOverlap{
		ID: id, Area: squareMetres(o.Area), Depth: o.Depth, Lon: degrees(at.Lon), Lat: degrees(at.Lat),
		Cause: o.Cause, Machines: r.machineNames(o.Machines), Passes: orEmpty(o.Passes),
		Place: r.place(r.Units, o.Place, o.At),
	}
}

func (r *Report) regionInHeadland(i int) bool {
	return i >= 0 && i < len(r.Map.Regions) && r.Map.Regions[i].Headland
}

func summaryProductOf(a *agronomy.Account) summaryProduct {
	const perHectare = 1e4 // from a square metre
	p := &a.Product
	out := summaryProduct{
		Name:       p.Name,
		MassRate:   scaled(p.MassRate, perHectare),
		VolumeRate: scaled(p.VolumeRate, litres*perHectare),
		Applied:    scaled(a.Applied, 1), Wasted: scaled(a.Wasted, 1), Short: scaled(a.Short, 1),
		Nitrogen: summaryNitrogen{
			scaled(a.NitrogenApplied, 1), scaled(a.NitrogenWasted, 1), scaled(a.NitrogenShort, 1),
		},
		WastedCost: scaled(a.WastedCost, 1),
		AppliedL:   scaled(a.AppliedVolume, litres), WastedL: scaled(a.WastedVolume, litres),
		ShortL:  scaled(a.ShortVolume, litres),
		Density: scaled(p.Density, 1), ShortCost: scaled(a.ShortCost, 1),
		Ground: summaryProductGround{squareMetres(a.Ground.Swept), squareMetres(a.Ground.Wasted), squareMetres(a.Ground.Short)},
		Waste:  summaryWasteOf(a), Tanks: summaryTanksOf(a),
		Logged: summaryLoggedOf(a),
	}
	if p.Working != "" {
		out.Working = &p.Working
	}
	if p.Analysis != nil {
		out.Analysis = &summaryAnalysis{figure(p.Analysis.N), figure(p.Analysis.P2O5), figure(p.Analysis.K2O)}
	}
	if p.Price != nil {
		out.Currency = p.Price.Currency
	}
	return out
}

func passKind(p *coverage.Pass) string {
	if p.Headland {
		return "headland"
	}
	return "interior"
}

func stamp(i geo.Instant) string { return i.Time().Format(time.RFC3339Nano) }

func orEmpty(s []int) []int {
	if s == nil {
		return []int{}
	}
	return s
}

func nonZero(n int) *int {
	if n == 0 {
		return nil
	}
	return &n
}

// scaled returns *v in another unit; nil stays nil.
func scaled(v *float64, factor float64) *figure {
	if v == nil {
		return nil
	}
	f := figure(*v * factor)
	return &f
}

// squareMetres is an area that json writes exactly.
type squareMetres plane.Area

// MarshalJSON writes m² with all of its digits: half a square tick is 5e-9 m².
func (a squareMetres) MarshalJSON() ([]byte, error) {
	return appendSquareMetres(nil, plane.Area(a)), nil
}

func appendSquareMetres(b []byte, a plane.Area) []byte {
	if a < 0 {
		b, a = append(b, '-'), -a
	}
	b = strconv.AppendInt(b, int64(a/plane.SquareMetre), 10)
	billionths := int64(a%plane.SquareMetre) * (1e9 / int64(plane.SquareMetre))
	if billionths > 0 {
		b = append(b, '.')
	}
	for digit := int64(1e8); billionths > 0; digit /= 10 {
		b = append(b, byte('0'+billionths/digit))
		billionths %= digit
	}
	return b
}

// metres is a length in ticks that json writes in metres, to the micrometre.
type metres float64

func (l metres) MarshalJSON() ([]byte, error) {
	return appendFigure(nil, math.Round(float64(l)/float64(plane.Metre)*1e6)/1e6), nil
}

// degrees is a longitude or latitude that json writes with nine decimals.
type degrees float64

func (d degrees) MarshalJSON() ([]byte, error) {
	return appendFigure(nil, math.Round(float64(d)*1e9)/1e9), nil
}

// figure is a number that json writes as null where it is not finite.
type figure float64

func (f figure) MarshalJSON() ([]byte, error) { return appendFigure(nil, float64(f)), nil }

func appendFigure(b []byte, v float64) []byte {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return append(b, "null"...)
	}
	if v == 0 {
		v = 0 // takes the sign off a negative zero
	}
	return strconv.AppendFloat(b, v, 'f', -1, 64)
}

// depths is the area at each depth from 0 up, written as an object in that
// order; depths up to 3 are always there.
type depths []plane.Area

func (d depths) MarshalJSON() ([]byte, error) {
	const least = 4
	b := []byte{'{'}
	for k := range max(len(d), least) {
		if k > 0 {
			b = append(b, ',')
		}
		b = append(b, '"')
		b = strconv.AppendInt(b, int64(k), 10)
		b = append(b, '"', ':')
		var a plane.Area
		if k < len(d) {
			a = d[k]
		}
		b = appendSquareMetres(b, a)
	}
	return append(b, '}'), nil
}
