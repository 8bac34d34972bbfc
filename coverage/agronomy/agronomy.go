// Package agronomy turns ground into product and money: rate × area.
package agronomy

import (
	"fmt"
	"slices"

	"lapwing/coverage"
)

// An Assessment is a map with what it cost.
type Assessment struct {
	Map      *coverage.Map
	Accounts []Account          // one a product, in the order of the job
	Warnings []coverage.Warning // what could not be said of a product, and why
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
	// WastedCost and ShortCost are Wasted and Short at the product's price.
	WastedCost, ShortCost *float64

	Map   *coverage.Map // the ground it is reckoned on: Product.Map, or the assessment's
	Waste Waste         // Wasted, taken apart
	Tanks []Ledger      // none where the tank or the rate by volume is not known
}

// Assess says what became of each product on the ground of m:
//
//	applied = rate × swept
//	wasted  = rate × (swept - covered)
//	short   = rate × (skip - remainder)
//
// A product carried by some machines only counts the ground that these swept.
// Covered is then the ground inside the field that one of them covered, so
// that ground met by one carrier and one other machine got the product once
// and wasted none. Short stays the field's: ground that only a machine without
// the product went over is not a mistake to price, since it may be planned so.
func Assess(m *coverage.Map, products []Product) *Assessment {
	a := &Assessment{Map: m}
	for _, p := range products {
		account := Account{Product: p, Map: m}
		on := groundOf(m, p)
		if p.Map != nil {
			account.Map = p.Map
			on = groundOf(p.Map, p)
			on.short = max(0, (p.Map.Ground.Skip - m.Ground.Remainder).SquareMetres())
		}
		account.fill(on)
		account.Waste = wasteOf(account.Map, &p)
		account.Tanks = Tanks(account.Map, &p)
		a.Accounts = append(a.Accounts, account)
		for _, why := range account.unsaid() {
			a.Warnings = append(a.Warnings, coverage.Warning{Text: fmt.Sprintf("product %s: %s", p.Name, why)})
		}
	}
	return a
}

// A ground is the areas that one product is reckoned on, in m².
type ground struct{ swept, wasted, short float64 }

func groundOf(m *coverage.Map, p Product) ground {
	swept, covered := m.Ground.Swept, m.Ground.Covered
	if !carriedByAll(m.Machines, p) {
		swept, covered = 0, 0
		for _, r := range m.Regions {
			visits := 0
			for _, s := range r.Swaths {
				if p.CarriedBy(m.Machines[m.Passes[m.Swaths[s].Pass].Machine].Name) {
					visits++
				}
			}
			for range visits {
				swept += r.Area
			}
			if visits > 0 && r.Kind != coverage.OverReach {
				covered += r.Area
			}
		}
	}
	return ground{
		swept:  swept.SquareMetres(),
		wasted: (swept - covered).SquareMetres(),
		short:  (m.Ground.Skip - m.Ground.Remainder).SquareMetres(),
	}
}

func carriedByAll(machines []coverage.Machine, p Product) bool {
	for _, m := range machines {
		if !p.CarriedBy(m.Name) {
			return false
		}
	}
	return true
}

// CarriedBy reports whether the machine of that name carries p.
func (p Product) CarriedBy(machine string) bool {
	return len(p.Machines) == 0 || slices.Contains(p.Machines, machine)
}

// fill reckons the account on its ground.
func (a *Account) fill(g ground) {
	p := a.Product
	a.Applied, a.Wasted, a.Short = times(p.MassRate, g.swept), times(p.MassRate, g.wasted), times(p.MassRate, g.short)
	a.AppliedVolume, a.WastedVolume, a.ShortVolume = times(p.VolumeRate, g.swept), times(p.VolumeRate, g.wasted), times(p.VolumeRate, g.short)
	if p.Analysis != nil {
		n := p.Analysis.N
		a.NitrogenApplied, a.NitrogenWasted, a.NitrogenShort = times(a.Applied, n), times(a.Wasted, n), times(a.Short, n)
	}
	switch {
	case p.Price == nil:
	case p.Price.PerCubicMetre != 0:
		a.WastedCost = times(a.WastedVolume, p.Price.PerCubicMetre)
		a.ShortCost = times(a.ShortVolume, p.Price.PerCubicMetre)
	default:
		a.WastedCost = times(a.Wasted, p.Price.PerKilogram)
		a.ShortCost = times(a.Short, p.Price.PerKilogram)
	}
}

// unsaid tells what the account has to leave open.
func (a *Account) unsaid() (why []string) {
	p := a.Product
	if p.MassRate == nil {
		why = append(why, "the rate is by volume and there is no density, so masses are not known")
	}
	if p.Price != nil && a.WastedCost == nil {
		why = append(why, "price and rate are one by mass and one by volume and there is no density, so the cost is not known")
	}
	if p.Tank != nil && p.VolumeRate == nil {
		why = append(why, "there is a tank but neither density nor, for ammonia, temperature, so how far a fill goes is not known")
	}
	return why
}

// times returns x × by, or nil where x is not known.
func times(x *float64, by float64) *float64 {
	if x == nil {
		return nil
	}
	y := *x * by
	return &y
}
