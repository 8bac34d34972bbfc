// Package agronomy turns ground into product and money: rate × area.
package agronomy

import "lapwing/coverage"

// An Assessment is a map with what it cost.
type Assessment struct {
	Map      *coverage.Map
	Accounts []Account // one a product, in the order of the job
}

// A Product is something put on the ground at a rate. Masses are of the
// product itself; exactly one of MassRate and VolumeRate is how the job gave
// the rate, the other follows where the density is known.
type Product struct {
	Name       string
	Analysis   *Analysis
	MassRate   *float64 // kg/m² of product; nil where only a volume is known
	VolumeRate *float64 // m³/m² of product; nil where only a mass is known
	Density    *float64 // kg/m³; nil where nobody said
	Price      *Price
	Machines   []string // names of the machines that carry it; empty means all
}

// An Analysis is the guaranteed analysis N-P2O5-K2O, as mass fractions.
type Analysis struct{ N, P2O5, K2O float64 }

// A Price is money for an amount of product; exactly one of PerKilogram and
// PerCubicMetre is not zero.
type Price struct {
	PerKilogram, PerCubicMetre float64
	Currency                   string // as in the job: "USD"
}

// An Account is what became of one product on one field. A nil means that
// it cannot be said: a mass needs a density, a cost a price.
type Account struct {
	Product Product

	// Kilograms of product: put down in all, put down on ground already
	// covered or out of the field, and missing in skips.
	Applied, Wasted, Short *float64
	// Cubic metres of the same; nil where the rate is by mass and there is no density.
	AppliedVolume, WastedVolume, ShortVolume *float64
	// Kilograms of nitrogen in Applied, Wasted and Short; nil without an analysis.
	NitrogenApplied, NitrogenWasted, NitrogenShort *float64
	// WastedCost is Wasted at the product's price.
	WastedCost *float64
}
