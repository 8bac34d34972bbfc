package waste

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
	"lapwing/report"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

// Schema names the layout of what [Waste.JSON] writes.
const Schema = "lapwing/waste/1"

// Files are the files of a document.
var Files = report.Table[*Document]{
	{Name: "waste.csv", Write: (*Document).CSV},
	{Name: "waste-fields.csv", Write: (*Document).FieldsCSV},
	{Name: "waste.html", Write: (*Document).Page},
}

// A Document is the product that fields got twice or outside their boundary: by
// product, cause and field. It holds on to no map, so that many fields fit.
type Document struct {
	Run    string
	Units  quantity.Units
	Fields []Field
}

// A Field is one field of a [Waste].
type Field struct {
	Name, Job string
	Run       string // of the assessment
	Area      plane.Area
	Tallies   []agronomy.Tally
	Ammonia   bool // a product is anhydrous ammonia
	Worked    bool // without a boundary: over-reach cannot be told
	Warnings  []coverage.Warning
	// Receivers are what the receivers were taken to err by, by machine; none
	// where nobody looked into it.
	Receivers []Receiver

	// What another lap and more sections would have cost, where somebody
	// looked into it.
	whatIf *whatIf
}

// A whatIf is the lap that would be right on a field and what sections
// would save there, ready to be read.
type whatIf struct {
	Field    string
	Says     []words.Text // in sentences
	Laps     []*chart.Chart
	Chart    *chart.Chart
	Sections page.Table
	summary  *assess.WhatIfSummary
}

// wasteWhatIf takes from an assessment what it was asked of laps and sections.
func whatIfOf(r *assess.Assessment) *whatIf {
	w := r.WhatIf
	if w == nil {
		return nil
	}
	out := &whatIf{Field: r.FieldName(), Chart: chart.Sections(r), Sections: page.SectionTable(r), summary: r.SummarizeWhatIf()}
	for i := range w.Laps {
		out.Says = append(out.Says, words.Both(r.Units, func(u quantity.Units) string { return words.BestLap(u, w, &w.Laps[i]) }))
		out.Laps = append(out.Laps, chart.Laps(r, &w.Laps[i]))
	}
	if len(w.Laps) == 0 {
		out.Says = append(out.Says, words.Same(words.NoBestLap(w)))
	}
	out.Says = append(out.Says, words.Both(r.Units, func(u quantity.Units) string { return words.Sections(u, r) }))
	return out
}

// A Receiver is what a machine's receiver was taken to err by, in metres.
type Receiver struct {
	Machine          string
	ShortTerm, Drift float64
}

// New gathers fields into a document.
func New(u quantity.Units, fields []Field) (*Document, error) {
	w := &Document{Units: u, Fields: fields}
	var b bytes.Buffer
	if err := w.JSON(&b); err != nil {
		return nil, err
	}
	fmt.Fprint(&b, int(u))
	sum := sha256.Sum256(b.Bytes())
	w.Run = hex.EncodeToString(sum[:6])
	return w, nil
}

// FieldOf takes from an assessment what a [Document] tells; job is the path of its
// job file.
func FieldOf(a *assess.Assessment, job string) Field {
	f := Field{
		Name: a.FieldName(), Job: job, Run: a.Run, Area: a.Map.Ground.Field, Tallies: a.Tallies(),
		Ammonia: a.HasAmmonia(), Worked: a.Map.Field.Worked, Warnings: a.AllWarnings(),
		whatIf: whatIfOf(a),
	}
	if a.WhatIf == nil {
		return f
	}
	for i, in := range a.WhatIf.Wasted {
		if in != nil {
			likely := a.Accounts[i].Interval(in.Low, in.Middle, in.High)
			f.Tallies[i].Likely = &likely
		}
	}
	for i, e := range a.WhatIf.Sure.Errors {
		f.Receivers = append(f.Receivers, Receiver{Machine: a.MachineName(i), ShortTerm: e.ShortTerm, Drift: e.Drift})
	}
	return f
}

// InputWarnings are the warnings of a field, those of no file under its job.
func (f *Field) InputWarnings() []coverage.Warning {
	out := slices.Clone(f.Warnings)
	for i := range out {
		if out[i].File == "" {
			out[i].File = f.Job
		}
	}
	return out
}

// together is the waste of all fields by product.
func (d *Document) together() []agronomy.Tally {
	lists := make([][]agronomy.Tally, len(d.Fields))
	for i := range d.Fields {
		lists[i] = d.Fields[i].Tallies
	}
	return agronomy.Together(lists...)
}

func (d *Document) area() (sum plane.Area) {
	for i := range d.Fields {
		sum += d.Fields[i].Area
	}
	return sum
}

// where says which ground is spoken of.
func (d *Document) where(u quantity.Units) string {
	if len(d.Fields) == 1 {
		return fmt.Sprintf("%s, %s", words.Plain(d.Fields[0].Name, 60), u.Area(d.Fields[0].Area))
	}
	return fmt.Sprintf("%s, %s", words.Count(len(d.Fields), "field"), u.Area(d.area()))
}

// answer is what the agronomist came to ask: how much of each product was
// wasted, what it cost, and what would save most.
func (d *Document) answer(u quantity.Units) []string {
	all := d.together()
	if len(all) == 0 {
		return []string{d.where(u) + ": no products given."}
	}
	var parts []string
	ranges := false
	for i := range all {
		t := &all[i]
		if s := words.Wasted(u, t.Product, &t.Wasted); s != "" {
			parts = append(parts, s+" ("+strings.Join(slices.DeleteFunc([]string{wastedShare(t), likely(u, t)}, func(s string) bool { return s == "" }), ", ")+")")
			ranges = ranges || t.Likely != nil
		}
	}
	if len(parts) == 0 {
		return []string{d.where(u) + ": nothing was put down twice or outside."}
	}
	out := []string{d.where(u) + ": " + strings.Join(parts, ", ") + " went down twice or outside the boundary" + d.costs(all) + "."}
	if ranges {
		out = append(out, "For what GNSS errs by, the ranges hold the true figures nine times in ten.")
	}
	if worst := agronomy.Worst(all); len(worst) > 0 {
		out = append(out, words.Saving(u, &worst[0], func(i int) string { return all[i].Product }))
	}
	return out
}

func wastedShare(t *agronomy.Tally) string {
	part := t.WastedShare()
	if part == nil {
		return ""
	}
	return words.Share(*part, 1)
}

// likely is between what the waste truly lies, as nitrogen where it is there
// for that; "" where nobody found out.
func likely(u quantity.Units, t *agronomy.Tally) string {
	if t.Likely == nil {
		return ""
	}
	low, high := &t.Likely.Low, &t.Likely.High
	span := func(low, high *float64, write func(float64) string) string {
		from, _, _ := strings.Cut(write(*low), " ")
		return from + " to " + write(*high)
	}
	switch {
	case low.N != nil && high.N != nil && *high.N > 0:
		return span(low.N, high.N, u.Mass) + " N"
	case low.Mass != nil && high.Mass != nil:
		return span(low.Mass, high.Mass, u.Mass)
	case low.Volume != nil && high.Volume != nil:
		return span(low.Volume, high.Volume, u.Volume)
	}
	return ""
}

// costs is what all of it cost, by currency; "" where nothing has a price.
func (d *Document) costs(all []agronomy.Tally) string {
	sums := map[string]float64{}
	var order []string
	unpriced := false
	for i := range all {
		t := &all[i]
		switch {
		case t.Wasted.Area == 0:
		case t.Currency == "" || t.Wasted.Cost == nil:
			unpriced = true
		default:
			if _, ok := sums[t.Currency]; !ok {
				order = append(order, t.Currency)
			}
			sums[t.Currency] += *t.Wasted.Cost
		}
	}
	var parts []string
	for _, c := range order {
		parts = append(parts, words.Money(sums[c], c))
	}
	switch s := strings.Join(parts, " and "); {
	case s == "":
		return ""
	case unpriced:
		return ", " + s + " as far as there are prices"
	default:
		return ", " + s
	}
}

// JSON writes what is in the waste, SI units.
func (d *Document) JSON(out io.Writer) error {
	all := d.together()
	doc := document{Schema: Schema, Run: d.Run, Products: tallyLines(all), Causes: []wasteCauseLine{}, Fields: []wasteFieldLine{}}
	for _, c := range agronomy.Worst(all) {
		line := wasteCauseLine{Cause: c.Cause, Ground: assess.SquareMetres(c.Area), Cost: assess.Scaled(c.Cost, 1), Currency: c.Currency}
		for i, s := range c.Saves {
			line.Saves = append(line.Saves, assess.ProductAmount{Product: all[i].Product, AmountSummary: assess.AmountOf(s)})
		}
		doc.Causes = append(doc.Causes, line)
	}
	for i := range d.Fields {
		f := &d.Fields[i]
		line := wasteFieldLine{Name: f.Name, Job: f.Job, Run: f.Run, Area: assess.SquareMetres(f.Area), Worked: f.Worked, Products: tallyLines(f.Tallies), Warnings: assess.WarningsOf(f.Warnings)}
		if f.whatIf != nil {
			line.Laps, line.Sections = &f.whatIf.summary.Laps, f.whatIf.summary.Sections
		}
		doc.Fields = append(doc.Fields, line)
	}
	return assess.WriteJSON(out, doc)
}

type document struct {
	Schema   string           `json:"schema"`
	Run      string           `json:"run"`
	Products []tallyLine      `json:"products"`
	Causes   []wasteCauseLine `json:"causes"`
	Fields   []wasteFieldLine `json:"fields"`
}

type wasteCauseLine struct {
	Cause    coverage.Cause         `json:"cause"`
	Ground   assess.SquareMetres    `json:"ground_m2"`
	Cost     *assess.Figure         `json:"cost"`
	Currency string                 `json:"currency"`
	Saves    []assess.ProductAmount `json:"saves"`
}

type wasteFieldLine struct {
	Name     string                  `json:"name"`
	Job      string                  `json:"job"`
	Run      string                  `json:"run"`
	Area     assess.SquareMetres     `json:"area_m2"`
	Worked   bool                    `json:"worked"`
	Products []tallyLine             `json:"products"`
	Laps     *assess.LapsSummary     `json:"laps"`
	Sections []assess.SectionSummary `json:"sections"`
	Warnings []assess.WarningSummary `json:"warnings"`
}

type tallyLine struct {
	Name      string               `json:"name"`
	Currency  string               `json:"currency"`
	Applied   assess.AmountSummary `json:"applied"`
	Wasted    assess.AmountSummary `json:"wasted"`
	Likely    *likelyLine          `json:"likely"`
	ByCause   []assess.CauseAmount `json:"by_cause"`
	Slivers   assess.AmountSummary `json:"too_small"`
	OverReach assess.AmountSummary `json:"overreach"`
}

// A likelyLine is the interval that holds the true waste nine times in ten.
type likelyLine struct {
	Low  assess.AmountSummary `json:"low"`
	High assess.AmountSummary `json:"high"`
}

func tallyLines(tallies []agronomy.Tally) []tallyLine {
	out := []tallyLine{}
	for i := range tallies {
		t := &tallies[i]
		line := tallyLine{
			Name: t.Product, Currency: t.Currency, Applied: assess.AmountOf(t.Applied), Wasted: assess.AmountOf(t.Wasted),
			ByCause: []assess.CauseAmount{}, Slivers: assess.AmountOf(t.Slivers), OverReach: assess.AmountOf(t.OverReach),
		}
		if t.Likely != nil {
			line.Likely = &likelyLine{assess.AmountOf(t.Likely.Low), assess.AmountOf(t.Likely.High)}
		}
		for _, c := range t.ByCause {
			line.ByCause = append(line.ByCause, assess.CauseAmount{Cause: c.Cause, AmountSummary: assess.AmountOf(c.Amount)})
		}
		out = append(out, line)
	}
	return out
}

// CSV writes waste.csv: a line for each cause of waste of each product on each
// field, SI units. The lines of a field and product add up to its waste.
func (d *Document) CSV(out io.Writer) error {
	lines := [][]string{{"field", "job", "product", "cause", "ground_m2", "kg", "l", "n_kg", "p2o5_kg", "k2o_kg", "cost", "currency", "lapwing_run"}}
	for i := range d.Fields {
		f := &d.Fields[i]
		for k := range f.Tallies {
			tally := &f.Tallies[k]
			causes := tally.Causes()
			if tally.Slivers.Area > 0 {
				causes = append(causes, agronomy.CauseShare{Cause: "too small", Amount: tally.Slivers})
			}
			for _, c := range causes {
				lines = append(lines, slices.Concat([]string{f.Name, f.Job, tally.Product, string(c.Cause)}, amountCells(c.Amount), []string{tally.Currency, f.Run}))
			}
		}
	}
	return report.WriteCSV(out, lines)
}

// FieldsCSV writes waste-fields.csv: a line for each product on each field,
// with the interval that holds what was truly wasted nine times in ten.
func (d *Document) FieldsCSV(out io.Writer) error {
	head := []string{"field", "job", "area_m2", "product"}
	for _, of := range []string{"applied", "wasted", "low", "high"} {
		for _, unit := range []string{"ground_m2", "kg", "l", "n_kg", "p2o5_kg", "k2o_kg", "cost"} {
			head = append(head, of+"_"+unit)
		}
	}
	lines := [][]string{append(head, "currency", "lapwing_run")}
	for i := range d.Fields {
		f := &d.Fields[i]
		for k := range f.Tallies {
			tally := &f.Tallies[k]
			low, high := make([]string, 7), make([]string, 7)
			if tally.Likely != nil {
				low, high = amountCells(tally.Likely.Low), amountCells(tally.Likely.High)
			}
			lines = append(lines, slices.Concat([]string{f.Name, f.Job, string(assess.AppendSquareMetres(nil, f.Area)), tally.Product},
				amountCells(tally.Applied), amountCells(tally.Wasted), low, high, []string{tally.Currency, f.Run}))
		}
	}
	return report.WriteCSV(out, lines)
}

// amountCells writes an amount for a CSV file; "" is not known.
func amountCells(a agronomy.Amount) []string {
	cell := func(v *float64, by float64) string {
		if v == nil {
			return ""
		}
		return strconv.FormatFloat(*v*by, 'f', -1, 64)
	}
	return []string{
		string(assess.AppendSquareMetres(nil, a.Area)), cell(a.Mass, 1), cell(a.Volume, assess.Litres),
		cell(a.N, 1), cell(a.Phosphate, 1), cell(a.Potash, 1), cell(a.Cost, 1),
	}
}
