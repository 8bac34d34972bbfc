package waste

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/field"
	"lapwing/coverage/quantity"
	"lapwing/coverage/region"
	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/report"
	"lapwing/report/chart"
)

// Files are the files of a document.
var Files = report.Table[*Document]{
	{Name: "waste.csv", Write: (*Document).CSV},
	{Name: "waste-fields.csv", Write: (*Document).FieldsCSV},
	{Name: "waste-matrix.csv", Write: (*Document).MatrixCSV},
	{Name: PageFile, Write: (*Document).Page},
	{Name: ClientFile, Write: (*Document).Client},
}

// PageFile is the page, which people open; ClientFile the report for a client, two
// pages in print.
const (
	PageFile   = "waste.html"
	ClientFile = "waste-client.html"
)

// A Document is the product that fields got twice or outside their boundary: by
// product, cause and field. It holds on to no map, so that many fields fit.
type Document struct {
	Run    string
	Units  quantity.Units
	Fields []Field
	Failed []Failure
}

// A Failure is a job that could not be assessed, and why.
type Failure struct {
	Job string `json:"job"`
	Why string `json:"why"`
}

// A Field is one field of a [Document]. As JSON it reads back the same.
type Field struct {
	Name, Job string
	Run       string // of the assessment
	Area      plane.Area
	Year      int // of its first work; 0 where no log has a clock
	Tallies   []agronomy.Tally
	At        geo.LonLat     // its middle
	Days      [2]string      // of its first and its last work, "2026-05-03"; "" where no log has a clock
	Machines  []string       // names
	Map       chart.SmallMap // where product was wasted
	Runs      int            // how often it was measured again; 0 for not
	Ammonia   bool           // a product is anhydrous ammonia
	Worked    bool           // without a boundary: over-reach cannot be told
	Warnings  []field.Warning
	// Receivers are what the receivers were taken to err by, by machine; none
	// where that was not looked into.
	Receivers []Receiver

	// WhatIf is what another lap and more sections would have cost; nil where that
	// was not looked into.
	WhatIf *WhatIf
}

// A WhatIf is the lap that would be right on a field and what sections would save
// there.
type WhatIf struct {
	Strip    agronomy.StripCosts
	Laps     []agronomy.LapStudy
	Choices  []assess.SectionChoice // as driven, own sections, more
	LapsJSON assess.LapsSummary     // the same, as JSON has it
	Sections []assess.SectionSummary
}

// whatIfOf takes from an assessment what it was asked of laps and sections.
func whatIfOf(a *assess.Assessment) *WhatIf {
	w := a.WhatIf
	if w == nil {
		return nil
	}
	summary := a.SummarizeWhatIf()
	return &WhatIf{Strip: w.Strip, Laps: w.Laps, Choices: a.SectionChoices(), LapsJSON: summary.Laps, Sections: summary.Sections}
}

// A Receiver is what a machine's receiver was taken to err by, in metres.
type Receiver struct {
	Machine          string
	ShortTerm, Drift float64
}

// New gathers fields into a document.
func New(u quantity.Units, fields []Field, failed []Failure) (*Document, error) {
	w := &Document{Units: u, Fields: fields, Failed: failed}
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
		Name: a.FieldName(), Job: job, Run: a.Run, Area: a.Map.Totals.Field, Year: yearOf(a), At: middleOf(a), Days: daysOf(a), Map: mapOf(a), Tallies: a.Tallies(),
		Ammonia: a.HasAmmonia(), Worked: a.Map.Field.Worked, Warnings: a.AllWarnings(),
		WhatIf: whatIfOf(a),
	}
	for i := range a.Map.Machines {
		f.Machines = append(f.Machines, a.MachineName(i))
	}
	if a.WhatIf == nil {
		return f
	}
	f.Runs = a.WhatIf.Sure.Runs
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

// daysOf are the days of a field's first and last work, where the reader lives; ""
// where no log has a clock.
func daysOf(a *assess.Assessment) (days [2]string) {
	for i := range a.Map.Passes {
		p := &a.Map.Passes[i]
		if !a.HasClock(p) {
			continue
		}
		if first := a.Local(p.Start).Format(time.DateOnly); days[0] == "" || first < days[0] {
			days[0] = first
		}
		days[1] = max(days[1], a.Local(p.End).Format(time.DateOnly))
	}
	return days
}

// yearOf is the year of a field's first work; 0 where no log has a clock.
func yearOf(a *assess.Assessment) int {
	year, _ := strconv.Atoi(strings.SplitN(daysOf(a)[0], "-", 2)[0])
	return year
}

// middleOf is the middle of the box around a field.
func middleOf(a *assess.Assessment) geo.LonLat {
	box := plane.Bounds(a.Map.Field.Boundary)
	if box.Min.X > box.Max.X {
		return geo.LonLat{}
	}
	return a.Map.Field.Frame.ToEarth(plane.Point{X: (box.Min.X + box.Max.X) / 2, Y: (box.Min.Y + box.Max.Y) / 2})
}

// mapOf draws where product was wasted.
func mapOf(a *assess.Assessment) chart.SmallMap {
	t := chart.NewStamp(a.Map.Field.Boundary)
	var m chart.SmallMap
	t.Frame(&m)
	for _, part := range []struct {
		class string
		kind  region.Kind
	}{{"overreach", region.OverReach}, {"overlap", region.Overlap}} {
		var shapes []plane.Polygon
		for i := range a.Map.Regions {
			if r := &a.Map.Regions[i]; r.Kind == part.kind && r.Area.SquareMetres() >= chart.StampLeast {
				shapes = append(shapes, r.Shape)
			}
		}
		if d := t.Path(shapes); d != "" {
			m.Marks = append(m.Marks, chart.Mark{Class: part.class, D: d})
		}
	}
	m.Marks = append(m.Marks, chart.Mark{Class: "boundary", D: t.Path(a.Map.Field.Boundary)})
	return m
}

// hasProducts reports whether the job of a field says what was put down there.
func (f *Field) hasProducts() bool { return len(f.Tallies) > 0 }
