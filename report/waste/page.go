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

var wastePage = page.Parsed(wasteHTML)

// The contents are everything on waste.html as it is to be read.
type contents struct {
	page.Base
	Answer words.Text
	Block  []page.Entry
	Why    *chart.Chart
	All    page.Table // by product
	Causes page.Table
	Fields page.Table
	WhatIf []*whatIf
}

// Page writes waste.html, one file that loads nothing from elsewhere.
func (d *Document) Page(out io.Writer) error {
	all := d.together()
	title := "Waste on " + words.Count(len(d.Fields), "field")
	if len(d.Fields) == 1 {
		title = "Waste on " + d.Fields[0].Name
	}
	p := &contents{
		Base:   page.New(d.Units, title, "waste", d.Run),
		Answer: words.Both(d.Units, func(u quantity.Units) string { return strings.Join(d.answer(u), " ") }),
		Block: []page.Entry{
			{Name: "Fields", Text: words.Same(fmt.Sprint(len(d.Fields)))},
			{Name: "Area", Text: words.Both(d.Units, func(u quantity.Units) string { return u.Area(d.area()) })},
		},
		All: d.productTable(all), Causes: page.CauseTable(d.Units, all, agronomy.Worst(all)), Fields: d.fieldTable(),
	}
	if worst := agronomy.Worst(all); len(worst) > 0 {
		p.Why = chart.Causes(d.Units, worst, func(i int) string { return words.Name(all[i].Product) })
	}
	for i := range d.Fields {
		f := &d.Fields[i]
		for _, v := range f.Warnings {
			p.Warnings = append(p.Warnings, f.Name+": "+words.Warning(v))
		}
		if f.whatIf != nil {
			p.WhatIf = append(p.WhatIf, f.whatIf)
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
		"\"Likely\" is what was wasted nine times in ten for what the receivers err by, worked out by measuring again with the passes moved; what was measured may lie outside, since an error shifts laps one way more than the other. Fields are taken to err independently.",
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

// productTable is what was put down and wasted of each product on all fields.
func (d *Document) productTable(all []agronomy.Tally) page.Table {
	t := page.Table{
		ID: "products", Label: "Table of waste by product", Empty: "No products given.", Sorts: true,
		Caption: "All fields together",
		Columns: []page.Column{page.Names("Product", ""), page.Figures("Put down"), page.Figures("Wasted"), page.Figures("Share"), page.Figures("Nutrients wasted"), page.Figures("Cost"), page.Figures("Likely")},
	}
	for i := range all {
		tally := &all[i]
		row := t.Add(words.Same(tally.Product), words.AmountText(d.Units, &tally.Applied), words.AmountText(d.Units, &tally.Wasted),
			words.Same(wastedShare(tally)), words.NutrientText(d.Units, &tally.Wasted), words.Same(words.TallyCost(tally)), likelyWords(d.Units, tally))
		sortsBy(row, 2, tally)
	}
	return t
}

// fieldTable is the waste of each product on each field.
func (d *Document) fieldTable() page.Table {
	t := page.Table{
		ID: "by-field", Label: "Table of waste by field", Empty: "No fields.", Sorts: true,
		Caption: "By field and product. The columns sort; \"likely\" is the interval that holds it nine times in ten, of nitrogen where there is some.",
		Columns: []page.Column{page.Names("Field", ""), page.Names("Product", ""), page.Figures("Wasted"), page.Figures("Share"), page.Figures("Nutrients wasted"), page.Figures("Cost"), page.Figures("Likely"), page.Words("Most by")},
	}
	for i := range d.Fields {
		f := &d.Fields[i]
		for k := range f.Tallies {
			tally := &f.Tallies[k]
			most := ""
			if causes := tally.Causes(); len(causes) > 0 {
				most = words.WasteCause(causes[0].Cause)
			}
			row := t.Add(words.Same(f.Name), words.Same(tally.Product), words.AmountText(d.Units, &tally.Wasted), words.Same(wastedShare(tally)),
				words.NutrientText(d.Units, &tally.Wasted), words.Same(words.TallyCost(tally)), likelyWords(d.Units, tally), words.Same(most))
			sortsBy(row, 2, tally)
		}
	}
	return t
}

// sortsBy gives the cells of a row from the wasted mass on what they sort by:
// it, its share, the nitrogen in it and its cost; what is not known comes last.
func sortsBy(r *page.Row, from int, t *agronomy.Tally) {
	for i, v := range []*float64{t.Wasted.Mass, t.WastedShare(), t.Wasted.N, t.Wasted.Cost} {
		if v == nil {
			r.By(from+i, -1)
		} else {
			r.By(from+i, *v)
		}
	}
}
