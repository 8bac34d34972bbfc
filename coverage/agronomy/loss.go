package agronomy

import (
	"fmt"

	"lapwing/geo/plane"
)

// A Crop is what grows on the field, for what ground without it is worth.
type Crop struct {
	Yield float64 // kg/m²
	Price *Price  // nil where nobody said
	// Compensation is the part of the yield of a strip without plants that its
	// neighbours make up; 0 where nobody said.
	Compensation float64
}

// A Loss is what the skips cost: the crop that does not grow there, less the
// products that were not spent there. Neighbours of a gap make up for some of
// it; how much is not known for drilled grain, so nothing is taken off. The
// remainder, ground simply not worked yet, is no loss.
type Loss struct {
	Area     plane.Area // skip - remainder
	Crop     float64    // kg
	Value    *float64   // of the crop; nil without its price
	Unspent  *float64   // what the products short there would have cost; nil where one of them has no cost
	Net      *float64   // Value - Unspent; nil where either is, or in different currencies
	Currency string     // of the crop's price
	Unsaid   []string   // why something is nil
}

// SkipLoss says what the skips cost with a crop, and keeps it in Loss; nil
// without a crop.
func (a *Assessment) SkipLoss(crop *Crop) *Loss {
	if crop == nil {
		return nil
	}
	g := a.Map.Ground
	l := &Loss{Area: g.Skip - g.Remainder}
	a.Loss = l
	l.Crop = crop.Yield * l.Area.SquareMetres()
	if crop.Price == nil {
		l.Unsaid = append(l.Unsaid, "the crop has no price")
	} else {
		value := l.Crop * crop.Price.PerKilogram
		l.Value, l.Currency = &value, crop.Price.Currency
	}
	unspent, known := 0.0, true
	for i := range a.Accounts {
		acc := &a.Accounts[i]
		switch {
		case acc.ShortCost == nil:
			l.Unsaid = append(l.Unsaid, fmt.Sprintf("%s has no cost to set against the crop", acc.Product.Name))
			known = false
		case l.Currency != "" && acc.Product.Price.Currency != l.Currency:
			l.Unsaid = append(l.Unsaid, fmt.Sprintf("%s is priced in %s, the crop in %s", acc.Product.Name, acc.Product.Price.Currency, l.Currency))
			known = false
		default:
			unspent += *acc.ShortCost
		}
	}
	if known {
		l.Unspent = &unspent
	}
	if l.Value != nil && known {
		net := *l.Value - unspent
		l.Net = &net
	}
	return l
}
