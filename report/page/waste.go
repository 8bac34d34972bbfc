package page

import (
	"strings"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/report/words"
)

// CauseTable is what each cause wasted of each product.
func CauseTable(u quantity.Units, tallies []agronomy.Tally, changes []agronomy.Change) Table {
	t := Table{
		Label: "Table of waste by cause", Empty: "Nothing was wasted.",
		Caption: "Each visit after the first wastes product once, and each outside the boundary; the parts make the whole.",
		Columns: []Column{Words("Cause"), Names("Product", ""), Figures("Ground"), Figures("Product wasted"), Figures("Nutrients"), Figures("Cost"), Classed("What mends it", "where")},
	}
	add := func(cause, mends string, amounts []agronomy.Amount) {
		first := true
		for k, a := range amounts {
			if a.Area == 0 {
				continue
			}
			row := t.Add(words.Same(cause), words.Same(tallies[k].Product), words.Both(u, func(u quantity.Units) string { return u.Area(a.Area) }),
				words.AmountText(u, &a), words.NutrientText(u, &a), words.Same(words.TallyCost(&agronomy.Tally{Currency: tallies[k].Currency, Wasted: a})), words.Same(mends))
			if !first {
				row.Class = "part"
			}
			first, mends = false, ""
		}
	}
	for i := range changes {
		add(words.Capital(words.WasteCause(changes[i].Cause)), words.Capital(words.Remedy(changes[i].Cause)), changes[i].Saves)
	}
	slivers, all := make([]agronomy.Amount, len(tallies)), make([]agronomy.Amount, len(tallies))
	for k := range tallies {
		slivers[k], all[k] = tallies[k].Slivers, tallies[k].Wasted
	}
	add("Too small to look into", "", slivers)
	add("All", "", all)
	return t
}

// SectionTable is what sections would have wasted, against today's bars as they were
// driven.
func SectionTable(u quantity.Units, choices []assess.SectionChoice) Table {
	t := Table{
		Label:   "Table of sections",
		Caption: "The same passes by bars whose sections shut over covered ground and outside the field, against today's bars as they were driven: less is better.",
		Columns: []Column{Words("Sections"), Figures("Wasted"), Words("Against today"), Figures("Nitrogen saved")},
	}
	driven := &choices[0]
	for _, m := range driven.Costs {
		t.Columns = append(t.Columns, FiguresIn("Saved", words.Same(words.Plain(m.Currency, 8))))
	}
	for k := range choices {
		c := &choices[k]
		cells := []words.Text{words.Same(words.Capital(strings.TrimSuffix(words.Bars(c), ","))), words.Both(u, func(u quantity.Units) string { return u.Area(c.Ground) }), {}, {}}
		if k > 0 {
			cells[2] = words.Both(u, func(u quantity.Units) string {
				bare := *driven
				bare.Costs = nil // they have columns of their own
				return words.AgainstDriven(u, &bare, c)
			})
		}
		if k > 0 && driven.N != nil && c.N != nil {
			cells[3] = words.Both(u, func(u quantity.Units) string { return u.Mass(*driven.N - *c.N) })
		}
		for _, m := range driven.Costs {
			if k == 0 {
				cells = append(cells, words.Text{})
				continue
			}
			cells = append(cells, words.Same(quantity.Number(m.Value-c.CostIn(m.Currency), 2)))
		}
		t.Add(cells...)
	}
	return t
}
