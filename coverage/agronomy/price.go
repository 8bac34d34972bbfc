package agronomy

// A Price is money for an amount of product or crop, by mass or by volume. One
// of PerKilogram and PerCubicMetre at most is not zero.
type Price struct {
	PerKilogram, PerCubicMetre float64
	Currency                   string // as in the job: "USD"
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
