package waste

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/field"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
	"lapwing/report"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

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

// A Field is one field of a [Document].
type Field struct {
	Name, Job string
	Run       string // of the assessment
	Area      plane.Area
	Tallies   []agronomy.Tally
	Ammonia   bool // a product is anhydrous ammonia
	Worked    bool // without a boundary: over-reach cannot be told
	Warnings  []field.Warning
	// Receivers are what the receivers were taken to err by, by machine; none
	// where that was not looked into.
	Receivers []Receiver

	// What another lap and more sections would have cost, where that was
	// looked into.
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
func whatIfOf(a *assess.Assessment) *whatIf {
	w := a.WhatIf
	if w == nil {
		return nil
	}
	out := &whatIf{Field: a.FieldName(), Chart: chart.Sections(a), Sections: page.SectionTable(a), summary: a.SummarizeWhatIf()}
	for i := range w.Laps {
		out.Says = append(out.Says, words.Both(a.Units, func(u quantity.Units) string { return words.BestLap(u, w, &w.Laps[i]) }))
		out.Laps = append(out.Laps, chart.Laps(a, &w.Laps[i]))
	}
	if len(w.Laps) == 0 {
		out.Says = append(out.Says, words.Same(words.NoBestLap(w)))
	}
	out.Says = append(out.Says, words.Both(a.Units, func(u quantity.Units) string { return words.Sections(u, a) }))
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
		Name: a.FieldName(), Job: job, Run: a.Run, Area: a.Map.Totals.Field, Tallies: a.Tallies(),
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
func (f *Field) InputWarnings() []field.Warning {
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
