package words

import (
	"fmt"
	"strings"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/quantity"
)

// Rate writes what a product was put down at.
func Rate(u quantity.Units, p *agronomy.Product) string {
	area, name := quantity.Acre, "/ac"
	if u == quantity.Metric {
		area, name = quantity.Hectare, "/ha"
	}
	switch {
	case p.MassRate != nil:
		return u.Mass(*p.MassRate*area) + name
	case p.VolumeRate != nil:
		return u.Volume(*p.VolumeRate*area) + name
	}
	return "not known"
}

// Amount writes a mass where it is known, else a volume.
func Amount(u quantity.Units, a *agronomy.Amount) string {
	switch {
	case a.Area == 0:
		return "none"
	case a.Mass != nil:
		return u.Mass(*a.Mass)
	case a.Volume != nil:
		return u.Volume(*a.Volume)
	}
	return "not known"
}

// AmountText is [Amount] in both systems of units.
func AmountText(u quantity.Units, a *agronomy.Amount) Text {
	return Both(u, func(u quantity.Units) string { return Amount(u, a) })
}

// NutrientText writes the nutrients in what was put down.
func NutrientText(u quantity.Units, a *agronomy.Amount) Text {
	return Both(u, func(u quantity.Units) string {
		var parts []string
		for _, n := range []struct {
			kg   *float64
			name string
		}{{a.N, "N"}, {a.Phosphate, "P2O5"}, {a.Potash, "K2O"}} {
			if n.kg != nil && *n.kg > 0 {
				parts = append(parts, u.Mass(*n.kg)+" "+n.name)
			}
		}
		return strings.Join(parts, ", ")
	})
}

// Wasted says what was wasted of a product: as nitrogen where it is there for
// that.
func Wasted(u quantity.Units, name string, a *agronomy.Amount) string {
	name = Short(name, 30)
	switch {
	case a.Area == 0:
		return ""
	case a.N != nil && *a.N > 0:
		return fmt.Sprintf("%s N in %s", u.Mass(*a.N), name)
	case a.Mass != nil:
		return u.Mass(*a.Mass) + " " + name
	case a.Volume != nil:
		return u.Volume(*a.Volume) + " " + name
	}
	return ""
}

// Money writes an amount of a currency.
func Money(v float64, currency string) string {
	return quantity.Number(v, 2) + " " + Plain(currency, 8)
}

// Cost writes what product comes to, or why that is not known.
func Cost(p *agronomy.Product, cost *float64) string {
	switch {
	case p.Price == nil:
		return "no price"
	case cost == nil:
		return "not known"
	}
	return Money(*cost, p.Price.Currency)
}

// Saving says what mending one cause saves at most.
func Saving(u quantity.Units, c *agronomy.Change, product func(i int) string) string {
	var saves []string
	if c.Cost != nil {
		saves = append(saves, Money(*c.Cost, c.Currency))
	}
	for i := range c.Saves {
		if s := Wasted(u, product(i), &c.Saves[i]); s != "" {
			saves = append(saves, s)
		}
	}
	s := "Most to save: " + Remedy(c.Cause) + " (" + WasteCause(c.Cause) + ")"
	if len(saves) > 0 {
		s += ": " + strings.Join(saves, ", ")
	}
	return s + "."
}

// Lap says in words a lap or, where it is below zero, a gap.
func Lap(u quantity.Units, m float64) string {
	if m < 0 {
		return "a gap of " + u.Metres(-m)
	}
	return "a lap of " + u.Metres(m)
}

// TallyCost writes what the waste of a product comes to, or why that is not
// known.
func TallyCost(t *agronomy.Tally) string {
	switch {
	case t.Currency == "":
		return "no price"
	case t.Wasted.Area == 0:
		return Money(0, t.Currency)
	case t.Wasted.Cost == nil:
		return "not known"
	}
	return Money(*t.Wasted.Cost, t.Currency)
}
