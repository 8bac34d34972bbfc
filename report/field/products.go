package field

import (
	"lapwing/coverage/agronomy"
	"lapwing/coverage/quantity"
	"lapwing/report/page"
	"lapwing/report/words"
)

// A productRow is one line of the table of products: the product, or the
// nitrogen in it.
type productRow struct {
	Name                   string
	Applied, Wasted, Short string
	Cost                   string
	Part                   bool // of the row above
}

func productRows(u quantity.Units, a *agronomy.Account) []productRow {
	amount := func(kg, m3 *float64) string {
		switch {
		case kg != nil:
			return u.Mass(*kg)
		case m3 != nil:
			return u.Volume(*m3)
		}
		return "not known"
	}
	rows := []productRow{{
		Name:    a.Product.Name,
		Applied: amount(a.Applied.Mass, a.Applied.Volume),
		Wasted:  amount(a.Wasted.Mass, a.Wasted.Volume),
		Short:   amount(a.Short.Mass, a.Short.Volume),
		Cost:    words.Cost(&a.Product, a.Wasted.Cost),
	}}
	if a.Applied.N != nil {
		rows = append(rows, productRow{
			Name: "nitrogen in it", Part: true,
			Applied: amount(a.Applied.N, nil),
			Wasted:  amount(a.Wasted.N, nil),
			Short:   amount(a.Short.N, nil),
		})
	}
	return rows
}

func (d *Document) productTable() page.Table {
	t := page.Table{
		Label: "Table of products", Empty: "No products given.",
		Caption: "Applied on all ground worked, laps counted; wasted on overlap and outside the boundary; short in skips",
		Columns: []page.Column{page.Names("Product", ""), page.Figures("Rate"), page.Figures("Applied"), page.Figures("Wasted"), page.Figures("Short"), page.Figures("Wasted cost")},
	}
	for i := range d.Accounts {
		a := &d.Accounts[i]
		us, metric := productRows(quantity.US, a), productRows(quantity.Metric, a)
		for k := range us {
			pick := func(of func(productRow) string) words.Text {
				return d.both(func(u quantity.Units) string {
					if u == quantity.Metric {
						return of(metric[k])
					}
					return of(us[k])
				})
			}
			var rate words.Text
			if !us[k].Part {
				rate = d.both(func(u quantity.Units) string { return words.Rate(u, &a.Product) })
			}
			line := t.Add(words.Same(us[k].Name), rate,
				pick(func(p productRow) string { return p.Applied }),
				pick(func(p productRow) string { return p.Wasted }),
				pick(func(p productRow) string { return p.Short }), words.Same(us[k].Cost))
			if us[k].Part {
				line.Class = "part"
			}
		}
	}
	return t
}
