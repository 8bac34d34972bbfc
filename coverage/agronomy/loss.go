package agronomy

import (
	"fmt"

	"lapwing/coverage"
	"lapwing/geo/plane"
)

// A Crop is what grows on the field. It says what ground without it is worth.
type Crop struct {
	Name  string  // "" where the job does not say
	Yield float64 // kg/m²; 0 where the job says no more than the name
	Price *Price  // nil where the job does not say
	// Compensation is the part of the yield of a strip without plants that the
	// plants beside it make up; 0 where the job does not say.
	Compensation float64
}

// A Loss is what the skips cost: the crop that does not grow there, less the
// products that were not spent there. Plants beside a gap make up for some of the
// loss; how much is not known for drilled grain, so no part is taken off. The
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

// lossOf returns what the skips of m cost; nil without the yield of a crop.
func lossOf(m *coverage.Map, accounts []Account, crop *Crop) *Loss {
	if crop == nil || crop.Yield == 0 {
		return nil
	}
	area := m.Totals.Skip - m.Totals.Remainder
	missing := crop.Yield * area.SquareMetres()
	value, currency := crop.Price.Of(&missing, nil), ""
	var unsaid []string
	if crop.Price == nil {
		unsaid = append(unsaid, "the crop has no price")
	} else {
		currency = crop.Price.Currency
	}
	unspent, known := 0.0, true
	for i := range accounts {
		p, cost := &accounts[i].Product, accounts[i].Short.Cost
		switch {
		case cost == nil:
			unsaid = append(unsaid, fmt.Sprintf("%s has no cost to set against the crop", p.Name))
			known = false
		case currency != "" && p.Price.Currency != currency:
			unsaid = append(unsaid, fmt.Sprintf("%s is priced in %s, the crop in %s", p.Name, p.Price.Currency, currency))
			known = false
		default:
			unspent += *cost
		}
	}
	l := Loss{Area: area, Crop: missing, Value: value, Currency: currency, Unsaid: unsaid}
	if known {
		l.Unspent = &unspent
	}
	if value != nil && known {
		net := *value - unspent
		l.Net = &net
	}
	return &l
}
