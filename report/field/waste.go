package field

import (
	"fmt"
	"strings"

	"lapwing/coverage/quantity"
	"lapwing/report/page"
	"lapwing/report/words"
)

// bestChange says which one change would save most, and how much; "" where no waste
// has a cause.
func (d *Document) bestChange(u quantity.Units) string {
	if len(d.Changes) == 0 || !u.SomeArea(d.Changes[0].Area) {
		return ""
	}
	return words.Saving(u, &d.Changes[0], func(i int) string { return words.Name(d.Accounts[i].Product.Name) })
}

// skipLoss says what the skips cost; "" without the yield of a crop or without skips.
func (d *Document) skipLoss(u quantity.Units) string {
	l, crop := d.Loss, "crop"
	if name := d.CropName(); name != "" {
		crop = words.Name(name)
	}
	switch {
	case l == nil || l.Area == 0:
		return ""
	case l.Value == nil:
		return fmt.Sprintf("Skips cost %s of %s.", u.Mass(l.Crop), crop)
	case l.Net == nil:
		return fmt.Sprintf("Skips cost %s of %s (%s).", words.Money(*l.Value, l.Currency), crop, words.Plain(strings.Join(l.Unsaid, "; "), 120))
	case *l.Unspent == 0:
		return fmt.Sprintf("Skips cost %s of %s.", words.Money(*l.Value, l.Currency), crop)
	}
	return fmt.Sprintf("Skips cost %s: %s of %s, less %s of product not spent there.",
		words.Money(*l.Net, l.Currency), words.Money(*l.Value, l.Currency), crop, words.Money(*l.Unspent, l.Currency))
}

// wasteByMachine tells which machine came second, or went outside.
func (d *Document) wasteByMachine() page.Table {
	t := page.Table{
		Label: "Table of waste by machine", Empty: "Nothing was wasted.",
		Caption: "Waste by machine: of the one that came later, or went outside.",
		Columns: []page.Column{page.Names("Machine", ""), page.Names("Product", ""), page.Figures("Wasted"), page.Figures("Cost")},
	}
	for i := range d.Accounts {
		a := &d.Accounts[i]
		for _, m := range a.Waste.ByMachine {
			t.Add(words.Same(a.Map.Machines[m.Machine].Name), words.Same(a.Product.Name), words.AmountText(d.Units, &m.Amount),
				words.Same(words.Cost(&a.Product, m.Cost)))
		}
	}
	return t
}
