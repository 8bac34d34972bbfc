package waste

import (
	_ "embed"
	"fmt"
	"io"
	"strings"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/quantity"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

//go:embed waste.html
var wasteHTML string

var wastePage = page.NewTemplate(wasteHTML)

// The contents are everything on waste.html as it is to be read.
type contents struct {
	page.Base
	Answer   []words.Text // a paragraph each
	Block    []page.Entry
	Changes  *page.Table // what a change would save; nil where that was not looked into
	Why      *chart.Chart
	Causes   page.Table
	Matrices []matrix // by field and cause
	Unknown  string   // products whose nutrients are not known
	Products []page.Table
	Fields   []page.Table
	WhatIf   []whatIf
	Without  []string  // fields without products
	Failed   []Failure // jobs
}

// A whatIf is the lap that would be right on a field and what sections would save
// there, ready to be placed.
type whatIf struct {
	Field    string
	Says     []words.Text // in sentences
	Laps     []*chart.Chart
	Chart    *chart.Chart
	Sections page.Table
}

func (d *Document) whatIf(f *Field) whatIf {
	w := f.WhatIf
	out := whatIf{Field: f.Name, Chart: chart.Sections(d.Units, w.Choices), Sections: page.SectionTable(d.Units, w.Choices)}
	for i := range w.Laps {
		out.Laps = append(out.Laps, chart.Laps(d.Units, w.Strip.Currency, &w.Laps[i]))
	}
	if d.severalYears() && f.Year > 0 {
		out.Field += fmt.Sprintf(", %d", f.Year)
	}
	for i := range w.says(d.Units) {
		out.Says = append(out.Says, words.Both(d.Units, func(u quantity.Units) string { return w.says(u)[i] }))
	}
	return out
}

// says tells in sentences which lap would be right and what sections would save.
func (w *WhatIf) says(u quantity.Units) []string {
	var out []string
	for i := range w.Laps {
		out = append(out, words.BestLap(u, w.Strip.Currency, &w.Laps[i]))
	}
	if len(w.Laps) == 0 {
		out = append(out, words.NoBestLap(w.Strip))
	}
	return append(out, words.Sections(u, w.Choices))
}

// Page writes waste.html, one file that loads nothing from elsewhere.
func (d *Document) Page(out io.Writer) error {
	everything := d.group(everyYear)
	all := everything.together()
	title := "Waste on " + words.Count(len(d.Fields), "field")
	if len(d.Fields) == 1 {
		title = "Waste on " + d.Fields[0].Name
	}
	p := &contents{
		Base: page.New(d.Units, title, "waste", d.Run),
		Block: []page.Entry{
			{Name: "Fields", Text: words.Same(fmt.Sprint(len(d.Fields)))},
			{Name: "Area", Text: words.Both(d.Units, func(u quantity.Units) string { return u.Area(everything.area()) })},
		},
		Causes:   d.causeTable(all, agronomy.Worst(all)),
		Matrices: d.matrices(), Products: d.productTables(), Fields: d.fieldTables(),
	}
	p.Changes = d.changeTable()
	p.Without, p.Failed = d.without(), d.Failed
	p.Styled("waste.css")
	for i := range d.answer(d.Units) {
		p.Answer = append(p.Answer, words.Both(d.Units, func(u quantity.Units) string { return d.answer(u)[i] }))
	}
	if names := agronomy.Unknown(everything.lists()); len(names) > 0 {
		for i := range names {
			names[i] = words.Name(names[i])
		}
		p.Unknown = "The nutrients of " + strings.Join(names, ", ") + " are not known: a rate by volume needs a density."
	}
	if worst := agronomy.Worst(all); len(worst) > 0 {
		p.Why = chart.Causes(d.Units, worst, func(i int) string { return words.Name(all[i].Product) })
	}
	for i := range d.Fields {
		f := &d.Fields[i]
		for _, v := range f.Warnings {
			p.Warnings = append(p.Warnings, f.Name+": "+words.Warning(v))
		}
		if f.WhatIf != nil {
			p.WhatIf = append(p.WhatIf, d.whatIf(f))
		}
		if f.Ammonia {
			p.Ammonia = page.AmmoniaCautions()
		}
	}
	p.Notes = d.notes()
	return wastePage.Execute(out, p)
}

// notes say what the figures count and what they cannot know.
func (d *Document) notes() []string {
	notes := []string{
		"Waste is every visit of a machine that carries the product after the first one, and all it put down outside the boundary or in a hole: laps that were planned count too.",
		"What mending a cause saves is at most its waste; a lap that is meant to keep skips shut saves them in turn.",
		"The best estimate is the middle of what was found by measuring again with the passes moved by what the receivers err by; nine times in ten the truth lies between \"at least\" and \"at most\". What was measured may lie outside, since an error shifts laps one way more than the other. Half of what a field is off by is taken to be shared by all fields, whose receivers are of one kind, and the rest to be each field's own.",
		"Figures by cause are as measured.",
		"Whether product really flowed no log of positions can say.",
	}
	seen := map[Receiver]bool{}
	for i := range d.Fields {
		for _, r := range d.Fields[i].Receivers {
			if !seen[r] {
				seen[r] = true
				cm := func(v float64) string {
					return fmt.Sprintf("%s (%s)", quantity.US.Metres(v), quantity.Metric.Metres(v))
				}
				notes = append(notes, fmt.Sprintf("The receiver of %s was taken to err by %s from minute to minute and to drift by %s over hours, one standard deviation: by the job, else by the quality its log names, else by that of differential corrections.",
					r.Machine, cm(r.ShortTerm), cm(r.Drift)))
			}
		}
	}
	for i := range d.Fields {
		if d.Fields[i].Worked {
			notes = append(notes, d.Fields[i].Name+" has no boundary: what was put down outside it is not known.")
		}
	}
	return notes
}
