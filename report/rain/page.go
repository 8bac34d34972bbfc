package rain

import (
	_ "embed"
	"fmt"
	"io"
	"slices"
	"strings"

	"lapwing/coverage/quantity"
	"lapwing/coverage/rain"
	"lapwing/report/page"
	"lapwing/report/words"
)

//go:embed rain.html
var rainHTML string

var pageTemplate = page.NewTemplate(rainHTML)

// The contents are everything on rain.html.
type contents struct {
	page.Base
	Answer words.Text
	Care   []words.Text
	Fields page.Table
	Block  []page.Entry
	Pace   page.Table
}

func (d *Document) both(write func(u quantity.Units) string) words.Text {
	return words.Both(d.Units, write)
}

// Page writes rain.html.
func (d *Document) Page(w io.Writer) error {
	p := &contents{
		Base:   page.New(d.Units, "Before the rain", "which fields, in which order", d.run()),
		Answer: d.both(d.verdict),
		Fields: d.fieldTable(), Block: d.block(), Pace: d.paceTable(),
	}
	for i := range d.rest(d.Units) {
		p.Care = append(p.Care, d.both(func(u quantity.Units) string { return d.rest(u)[i] }))
	}
	p.Book = d.Book
	p.Notes = d.notes()
	p.Cautions = slices.Concat(cautions(), p.Cautions)
	for _, w := range d.Warnings {
		p.Warnings = append(p.Warnings, words.Warning(w))
	}
	if d.Ammonia {
		p.Ammonia = page.AmmoniaCautions()
	}
	return pageTemplate.Execute(w, p)
}

func (d *Document) block() []page.Entry {
	var machines []string
	for i := range d.Paces {
		machines = append(machines, words.Short(d.Paces[i].Machine, 40))
	}
	road := words.Same("not reckoned")
	if d.RoadSpeed > 0 {
		road = d.both(func(u quantity.Units) string { return u.Speed(d.RoadSpeed) })
	}
	block := []page.Entry{
		{Name: "Rain expected", Text: words.Same(words.Dated(d.Rain.In(d.Hours.Zone)))},
		{Name: "Last pass logged", Text: words.Same(words.Dated(d.local(d.Hours.Now)))},
		{Name: "Hours worked", Text: words.Same(d.hours())},
		{Name: "Work until the rain", Text: words.Same(words.Hours(d.Work) + " h")},
		{Name: "Machines", Text: words.Same(strings.Join(machines, ", "))},
		{Name: "Road", Text: road},
	}
	if tanks := d.Crew.Tanks; len(tanks) > 0 {
		block = append(block, page.Entry{Name: "In the tanks now, by the log", Text: d.both(func(u quantity.Units) string {
			var parts []string
			for i := range tanks {
				parts = append(parts, fmt.Sprintf("%s on %s for %s", words.Short(tanks[i].Product, 24), words.Short(tanks[i].Machine, 24), u.Area(tanks[i].Left)))
			}
			return strings.Join(parts, "; ")
		})})
	}
	return block
}

func (d *Document) fieldTable() page.Table {
	t := page.Table{
		ID: "fields", Label: "Table of fields", Empty: "No fields.",
		Caption: "In the order to work them; those to leave come last. Times in " + d.zone() + ", of " + d.Rain.In(d.Hours.Zone).Format("2 January") + " where no date stands.",
		Columns: []page.Column{page.Classed("Field", "name"), page.Figures("Area"), page.Words("Before the rain"),
			page.Figures("Begin"), page.Figures("Done"), page.Figures("Done between")},
	}
	fills := slices.ContainsFunc(d.Stops, func(s rain.Stop) bool { return len(s.Fills) > 0 })
	if fills {
		t.Columns = append(t.Columns, page.Words("Fills"), page.Words("Trailer stands"))
	}
	for i := range d.Stops {
		s := &d.Stops[i]
		cells := []words.Text{
			words.Same(d.order(i) + words.Short(s.Name, 40)),
			d.both(func(u quantity.Units) string {
				if s.Begun {
					return u.Area(s.Area) + " not worked yet"
				}
				return u.Area(s.Area)
			}),
			words.Same(string(s.Before)), words.Same(d.clock(s.Start)), words.Same(d.clock(s.End)), words.Same(d.between(s)),
		}
		if fills {
			text := d.fills(s)
			if text == "" {
				text = "none"
			}
			cells = append(cells, words.Same(text), words.Same("anywhere: a tank lasts"))
		}
		row := t.Add(cells...)
		switch last := len(cells) - 1; {
		case s.Stand != nil:
			row.Leads(last, page.PlaceAt(*s.Stand, "the trailer for "+words.Name(s.Name), words.Same(d.stand(s))))
		case fills && (s.Begun || len(s.Fills) == 0):
			row.Cells[last].Text = words.Same("not told")
		}
	}
	return t
}

func (d *Document) paceTable() page.Table {
	t := page.Table{
		ID: "pace", Label: "Table of paces", Empty: "No machine.",
		Caption: "The pace that the times are told by: where each machine's time in the fields of the last days went.",
		Columns: []page.Column{page.Names("Machine", "name"), page.Figures("Fields"), page.Figures("Passes"),
			page.FiguresIn("Pace", d.both(quantity.Units.CapacityUnit)), page.Figures("At work"), page.Figures("Turning"), page.Figures("Stops and standing"), page.Figures("Moving otherwise")},
	}
	for i := range d.Paces {
		p := &d.Paces[i]
		all := p.Total()
		t.Add(words.Same(p.Machine), words.Same(quantity.Number(float64(p.Fields), 0)), words.Same(quantity.Number(float64(p.Passes), 0)),
			d.both(func(u quantity.Units) string { return u.CapacityFigure(p.Capacity()) }),
			words.Same(words.Percent(share(p.Working, all))), words.Same(words.Percent(share(p.Turning, all))),
			words.Same(words.Percent(share(p.Standing+p.Stopped, all))), words.Same(words.Percent(share(p.Travelling, all))))
	}
	return t
}
