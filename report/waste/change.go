package waste

import (
	"fmt"
	"slices"
	"strings"

	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/coverage/whatif"
	"lapwing/geo/plane"
	"lapwing/report/page"
	"lapwing/report/words"
)

// A change is what fields would have wasted with a lap or with sections that they
// were not driven with, all of them added up.
type change struct {
	name   string
	fields int // that it was looked into on
	// choice is what the bars would have wasted; nil for a lap, of which only the
	// money is known.
	choice *assess.SectionChoice
	saved  []assess.Money // against what was driven, below zero where it is worse
}

// looked are the fields of a group whose laps and sections were looked into.
func (g group) looked() (out group) {
	for _, f := range g {
		if f.WhatIf != nil {
			out = append(out, f)
		}
	}
	return out
}

// changes are what changes would save on the fields of a group, against today's
// bars as they were driven: another lap, the bars' own sections, then more. Driven
// is nil where nothing was looked into.
func (g group) changes() (driven *assess.SectionChoice, out []change) {
	looked := g.looked()
	if len(looked) == 0 {
		return nil, nil
	}
	lap := change{name: "the lap that costs least"}
	lists := make([][]assess.SectionChoice, len(looked))
	for i, f := range looked {
		lists[i] = f.WhatIf.Choices
		sum := 0.0
		for k := range f.WhatIf.Laps {
			sum += f.WhatIf.Laps[k].Cost - f.WhatIf.Laps[k].BestCost
		}
		if len(f.WhatIf.Laps) > 0 {
			lap.fields++
			lap.saved = paid(lap.saved, assess.Money{Value: sum, Currency: f.WhatIf.Strip.Currency})
		}
	}
	if lap.fields > 0 {
		out = append(out, lap)
	}
	all := assess.TogetherChoices(lists)
	for i := 1; i < len(all); i++ {
		c := change{name: choiceName(&all[i]), fields: len(looked), choice: &all[i]}
		for _, m := range all[0].Costs {
			c.saved = paid(c.saved, assess.Money{Value: m.Value - all[i].CostIn(m.Currency), Currency: m.Currency})
		}
		out = append(out, c)
	}
	return &all[0], out
}

// paid adds money to sums by currency.
func paid(sums []assess.Money, m assess.Money) []assess.Money {
	for i := range sums {
		if sums[i].Currency == m.Currency {
			sums[i].Value += m.Value
			return sums
		}
	}
	return append(sums, m)
}

func choiceName(c *assess.SectionChoice) string {
	switch {
	case c.Bar == whatif.Equal:
		return words.Count(c.Sections, "section")
	case c.OneBar:
		return fmt.Sprintf("the bar's own sections (%d)", c.Sections)
	}
	return "the bars' own sections"
}

// ground is the wasted ground that a change saves; false for a lap.
func (c *change) ground(driven *assess.SectionChoice) (saved plane.Area, known bool) {
	if c.choice == nil {
		return 0, false
	}
	return driven.Ground - c.choice.Ground, true
}

// nitrogen is the nitrogen that a change saves, in kg; nil where it is not known.
func (c *change) nitrogen(driven *assess.SectionChoice) *float64 {
	if c.choice == nil || c.choice.N == nil || driven.N == nil {
		return nil
	}
	saved := *driven.N - *c.choice.N
	return &saved
}

// worse reports whether a change is worse than what was driven.
func (c *change) worse(driven *assess.SectionChoice) bool {
	saved, known := c.ground(driven)
	return known && saved < 0
}

// says tells a change in a line: "0.49 ac, 12.1 lb N, 25.75 USD saved".
func (c *change) says(u quantity.Units, driven *assess.SectionChoice) string {
	var parts []string
	way, sign := "saved", 1.0
	if c.worse(driven) {
		way, sign = "more wasted: worse than today", -1
	}
	if saved, ok := c.ground(driven); ok {
		parts = append(parts, u.Area(max(saved, -saved)))
	}
	if n := c.nitrogen(driven); n != nil {
		parts = append(parts, u.Mass(sign**n)+" N")
	}
	for _, m := range c.saved {
		parts = append(parts, words.Money(sign*m.Value, m.Currency))
	}
	return strings.Join(parts, ", ") + " " + way
}

// changeTable is what changes would save on all fields, year by year where there
// are several; none where nothing was looked into.
func (d *Document) changeTable() *page.Table {
	everything := d.group(everyYear)
	driven, changes := everything.changes()
	if driven == nil {
		return nil
	}
	var money []string
	for i := range changes {
		for _, m := range changes[i].saved {
			if !slices.Contains(money, m.Currency) {
				money = append(money, m.Currency)
			}
		}
	}
	t := &page.Table{
		ID: "changes", Label: "Table of what a change would save",
		Caption: "Against today's bars as they were driven, all fields added up. A lap is the one that costs least on each field, by crop and product; sections shut by themselves over covered ground and outside the field. A bar that cannot be cut into so many sections counts with the most that it can. Products at their set rates.",
		Columns: []page.Column{page.Words("Change")},
	}
	years := d.years()
	if len(years) > 1 {
		t.Columns = append(t.Columns, page.Words("Year"))
	}
	t.Columns = append(t.Columns, page.Figures("Fields"),
		page.FiguresIn("Wasted", words.Both(d.Units, quantity.Units.AreaUnit)), page.FiguresIn("Saved", words.Both(d.Units, quantity.Units.AreaUnit)))
	nitrogen := driven.N != nil
	if nitrogen {
		t.Columns = append(t.Columns, page.FiguresIn("N saved", unit{}.text(d.Units)))
	}
	for _, c := range money {
		t.Columns = append(t.Columns, page.FiguresIn("Saved", words.Same(words.Plain(c, 8))))
	}
	t.Columns = append(t.Columns, page.Words("Against today"))
	rows := func(g group, year string) {
		driven, changes := g.changes()
		if driven == nil {
			return
		}
		row := func(name string, fields int, cells ...words.Text) {
			first := []words.Text{words.Same(words.Capital(name))}
			if len(years) > 1 {
				first = append(first, words.Same(year))
			}
			t.Add(append(append(first, words.Same(fmt.Sprint(fields))), cells...)...)
		}
		area := func(a plane.Area) words.Text {
			return words.Both(d.Units, func(u quantity.Units) string { return u.AreaFigure(a) })
		}
		cells := make([]words.Text, 4+len(money))
		if !nitrogen {
			cells = cells[1:]
		}
		cells[0] = area(driven.Ground)
		row("as driven", len(g.looked()), cells...)
		for i := range changes {
			c := &changes[i]
			cells := []words.Text{{}, {}}
			if saved, ok := c.ground(driven); ok {
				cells = []words.Text{area(c.choice.Ground), area(saved)}
			}
			if nitrogen {
				cells = append(cells, unit{}.figure(d.Units, c.nitrogen(driven), 1))
			}
			for _, currency := range money {
				cell := words.Text{}
				for _, m := range c.saved {
					if m.Currency == currency {
						cell = words.Same(quantity.Number(m.Value, 2))
					}
				}
				cells = append(cells, cell)
			}
			says := "better"
			switch saved, known := c.ground(driven); {
			case c.worse(driven):
				says = "worse than today"
			case known && saved == 0:
				says = "the same"
			}
			row(c.name, c.fields, append(cells, words.Same(says))...)
		}
	}
	if len(years) > 1 {
		for _, y := range years {
			rows(d.group(y), yearName(y))
		}
		rows(everything, "all years")
		return t
	}
	rows(everything, "")
	return t
}

// changeText writes what changes would save, for the terminal.
func (d *Document) changeText(hang func(lead, s string)) {
	everything := d.group(everyYear)
	tell := func(g group, of string) {
		driven, changes := g.changes()
		if driven == nil {
			return
		}
		hang("", fmt.Sprintf("What a change would save%s, against today's bars as driven, which wasted %s on %s:", of, d.Units.Area(driven.Ground), words.Count(len(g.looked()), "field")))
		for i := range changes {
			c := &changes[i]
			s := c.name + ": " + c.says(d.Units, driven)
			if c.fields < len(g.looked()) {
				s += fmt.Sprintf(" (told of %s)", words.Count(c.fields, "field"))
			}
			hang("  ", s)
		}
	}
	if years := d.years(); len(years) > 1 {
		for _, y := range years {
			tell(d.group(y), " in "+yearName(y))
		}
		tell(everything, " in all years")
		return
	}
	tell(everything, "")
}
