package waste

import (
	"io"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/cause"
)

// Schema names the layout of what [Document.JSON] writes.
const Schema = "lapwing/waste/1"

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
	Cause    cause.OverlapCause     `json:"cause"`
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
