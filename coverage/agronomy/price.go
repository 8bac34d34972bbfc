package agronomy

import "lapwing/coverage/quantity"

// A Price is money for an amount of product or crop, by mass or by volume. One
// of PerKilogram and PerCubicMetre at most is not zero.
type Price struct {
	PerKilogram, PerCubicMetre float64
	Currency                   string // as in the job: "USD"
}

// PriceOf returns a price as the job gives it: a [quantity.Price] or a
// [quantity.CropPrice]. Bushel is the mass of one in kg, and means nothing
// where the price is not by the bushel.
func PriceOf(v quantity.Value, bushel float64) *Price {
	switch v.Kind {
	case quantity.PricePerVolume:
		return &Price{PerCubicMetre: v.SI, Currency: v.Currency}
	case quantity.PricePerBushel:
		return &Price{PerKilogram: v.SI / bushel, Currency: v.Currency}
	}
	return &Price{PerKilogram: v.SI, Currency: v.Currency}
}

// Of returns what a mass in kg costs, or its volume in m³, whichever the price
// is by. The result is nil where that one is nil, or p is.
func (p *Price) Of(mass, volume *float64) *float64 {
	switch {
	case p == nil:
		return nil
	case p.PerCubicMetre != 0:
		return times(volume, p.PerCubicMetre)
	}
	return times(mass, p.PerKilogram)
}
