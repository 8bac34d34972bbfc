package page

import (
	"fmt"

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

// SectionTable is what bars of more and more sections would have saved.
func SectionTable(a *assess.Assessment) Table {
	t := Table{
		Label:   "Table of sections",
		Caption: "The same passes by bars whose sections shut over covered ground and outside the field. Saved is against one section.",
		Columns: []Column{Words("Sections"), Figures("Wasted"), Figures("Saved"), Figures("Nitrogen saved"), Figures("Cost saved")},
	}
	for k := range a.WhatIf.Sections {
		v := a.SectionWaste(k)
		saved := a.SectionWaste(0) - v
		n, known := 0.0, false
		for i := range a.Accounts {
			p := &a.Accounts[i].Product
			if saved := p.On(a.CarriedWaste(0, p) - a.CarriedWaste(k, p)); saved.N != nil {
				n, known = n+*saved.N, true
			}
		}
		nitrogen, cost := words.Text{}, words.Text{}
		if known {
			nitrogen = words.Both(a.Units, func(u quantity.Units) string { return u.Mass(n) })
		}
		if c, currency, ok := a.SectionCost(k); ok {
			whole, _, _ := a.SectionCost(0)
			cost = words.Same(words.Money(whole-c, currency))
		}
		t.Add(words.Same(fmt.Sprint(a.WhatIf.Sections[k].Sections)), words.Both(a.Units, func(u quantity.Units) string { return u.Area(v) }), words.Both(a.Units, func(u quantity.Units) string { return u.Area(saved) }), nitrogen, cost)
	}
	return t
}
