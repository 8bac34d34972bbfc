package waste

import (
	"io"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/cause"
	"lapwing/coverage/figure"
)

// Schema names the layout of what [Document.JSON] writes.
const Schema = "lapwing/waste/1"

// JSON writes what is in the waste, SI units.
func (d *Document) JSON(out io.Writer) error {
	all := d.group(everyYear).together()
	doc := document{Schema: Schema, Run: d.Run, Products: tallyLines(all), Causes: []wasteCauseLine{}, Fields: []wasteFieldLine{},
		Years: []yearLine{}, Without: d.without(), Failed: append([]Failure{}, d.Failed...)}
	doc.Changes = d.group(everyYear).changesLine()
	for _, y := range d.years() {
		g := d.group(y)
		doc.Years = append(doc.Years, yearLine{yearIn(y), len(g), figure.SquareMetres(g.area()), tallyLines(g.together()), g.changesLine()})
	}
	for _, c := range agronomy.Worst(all) {
		line := wasteCauseLine{Cause: c.Cause, Ground: figure.SquareMetres(c.Area), Cost: figure.Scaled(c.Cost, 1), Currency: c.Currency}
		for i, s := range c.Saves {
			line.Saves = append(line.Saves, assess.ProductAmount{Product: all[i].Product, AmountSummary: assess.AmountOf(s)})
		}
		doc.Causes = append(doc.Causes, line)
	}
	for i := range d.Fields {
		f := &d.Fields[i]
		line := wasteFieldLine{Name: f.Name, Job: f.Job, Run: f.Run, Year: yearIn(f.Year), Area: figure.SquareMetres(f.Area), Worked: f.Worked, Products: tallyLines(f.Tallies), Warnings: assess.WarningsOf(f.Warnings)}
		if f.WhatIf != nil {
			driven := figure.SquareMetres(f.WhatIf.Choices[0].Ground)
			line.Laps, line.Sections, line.Driven = &f.WhatIf.LapsJSON, f.WhatIf.Sections, &driven
		}
		doc.Fields = append(doc.Fields, line)
	}
	return figure.WriteJSON(out, doc)
}

type document struct {
	Schema   string           `json:"schema"`
	Run      string           `json:"run"`
	Products []tallyLine      `json:"products"`
	Causes   []wasteCauseLine `json:"causes"`
	Years    []yearLine       `json:"years"`   // each by itself; products and causes are of all
	Changes  *changesLine     `json:"changes"` // null where that was not looked into
	Fields   []wasteFieldLine `json:"fields"`
	Without  []string         `json:"without_products"` // names of fields
	Failed   []Failure        `json:"failed"`
}

// A yearLine is the fields of one year.
type yearLine struct {
	Year     *int                `json:"year"`
	Fields   int                 `json:"fields"`
	Area     figure.SquareMetres `json:"area_m2"`
	Products []tallyLine         `json:"products"`
	Changes  *changesLine        `json:"changes"`
}

// A changesLine is what changes would save on all fields together.
type changesLine struct {
	Driven  figure.SquareMetres `json:"wasted_as_driven_m2"`
	Changes []changeLine        `json:"changes"`
}

// A changeLine is one of them, against what was driven; below zero is worse.
type changeLine struct {
	Change   string               `json:"change"`
	Sections int                  `json:"sections"` // 0 for a lap
	Fields   int                  `json:"fields"`
	Saved    *figure.SquareMetres `json:"saved_m2"`
	N        *figure.Number       `json:"saved_n_kg"`
	Costs    []costLine           `json:"saved_costs"`
	Worse    bool                 `json:"worse_than_today"`
}

type costLine struct {
	Cost     figure.Number `json:"cost"`
	Currency string        `json:"currency"`
}

func (g group) changesLine() *changesLine {
	driven, changes := g.changes()
	if driven == nil {
		return nil
	}
	out := &changesLine{Driven: figure.SquareMetres(driven.Ground)}
	for i := range changes {
		c := &changes[i]
		line := changeLine{Change: c.name, Fields: c.fields, N: figure.Scaled(c.nitrogen(driven), 1), Costs: []costLine{}, Worse: c.worse(driven)}
		if saved, ok := c.ground(driven); ok {
			m2 := figure.SquareMetres(saved)
			line.Saved, line.Sections = &m2, c.choice.Sections
		}
		for _, m := range c.saved {
			line.Costs = append(line.Costs, costLine{figure.Number(m.Value), m.Currency})
		}
		out.Changes = append(out.Changes, line)
	}
	return out
}

type wasteCauseLine struct {
	Cause    cause.OverlapCause     `json:"cause"`
	Ground   figure.SquareMetres    `json:"ground_m2"`
	Cost     *figure.Number         `json:"cost"`
	Currency string                 `json:"currency"`
	Saves    []assess.ProductAmount `json:"saves"`
}

type wasteFieldLine struct {
	Name     string                  `json:"name"`
	Job      string                  `json:"job"`
	Run      string                  `json:"run"`
	Year     *int                    `json:"year"`
	Area     figure.SquareMetres     `json:"area_m2"`
	Worked   bool                    `json:"worked"`
	Products []tallyLine             `json:"products"`
	Laps     *assess.LapsSummary     `json:"laps"`
	Driven   *figure.SquareMetres    `json:"wasted_as_driven_m2"`
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
	Low    assess.AmountSummary `json:"low"`
	Middle assess.AmountSummary `json:"middle"` // the best estimate
	High   assess.AmountSummary `json:"high"`
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
			line.Likely = &likelyLine{assess.AmountOf(t.Likely.Low), assess.AmountOf(t.Likely.Middle), assess.AmountOf(t.Likely.High)}
		}
		for _, c := range t.ByCause {
			line.ByCause = append(line.ByCause, assess.CauseAmount{Cause: c.Cause, AmountSummary: assess.AmountOf(c.Amount)})
		}
		out = append(out, line)
	}
	return out
}

// yearIn is nil for a year that is not known.
func yearIn(year int) *int {
	if year == 0 {
		return nil
	}
	return &year
}
