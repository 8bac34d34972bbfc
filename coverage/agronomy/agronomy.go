// Package agronomy turns ground into product, money and time: rate × area.
package agronomy

import (
	"fmt"
	"slices"

	"lapwing/coverage"
	"lapwing/geo/plane"
)

// An Assessment is a map with what it cost.
type Assessment struct {
	Map      *coverage.Map
	Accounts []Account          // one a product, in the order of the job
	Warnings []coverage.Warning // what could not be said of a product, and why

	Changes   []Change           // what was wasted by each cause, what wasted most first
	Loss      *Loss              // what the skips cost; nil until [Assessment.SkipLoss] is asked for it
	TurnRates coverage.Dose      // the rate in turns
	Clocks    []coverage.Clock   // where the time of each machine with a clock went
	Forecast  *coverage.Forecast // nil where no log has times, or no new ground was worked
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

	Map    *coverage.Map // what its ground is found on: Product.Map, or the assessment's
	Ground Ground        // what it is reckoned on
	Waste  Waste         // Wasted, taken apart
	Tanks  []Ledger      // none where the tank or the rate by volume is not known
	Logged *Logged       // what the logs say of its rate; nil where none does
}

// A Ground is the areas that one product is reckoned on.
type Ground struct {
	Swept  plane.Area // by the machines that carry it, every visit
	Wasted plane.Area // swept, less the ground inside the field that one of them covered
	Short  plane.Area // skipped, less what is simply not worked yet

	// What the logs say was put down beyond the rate × Swept and × Wasted, in
	// m² at the rate: below zero where it was less.
	SweptBeyond, WastedBeyond float64
}

// Assess says what became of each product on the ground of m:
//
//	applied = rate × swept
//	wasted  = rate × (swept - covered)
//	short   = rate × (skip - remainder)
//
// Where the logs tell the rate, applied and wasted are what they say was put
// down on that ground, and ground worked after the product had run out (see
// [Dry]) is skipped ground of that product.
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
			on.Short = max(0, p.Map.Ground.Skip-m.Ground.Remainder)
		}
		account.Waste, on.WastedBeyond = wasteOf(account.Map, &p)
		account.Logged = loggedOf(m, account.Map, &p, &on)
		account.fill(on)
		account.Tanks = Tanks(account.Map, &p)
		account.Logged.tell(account.Tanks)
		a.Accounts = append(a.Accounts, account)
		for _, why := range account.unsaid() {
			a.Warnings = append(a.Warnings, coverage.Warning{Text: fmt.Sprintf("product %s: %s", p.Name, why)})
		}
	}
	a.Changes = Worst(a.Tallies())
	a.TurnRates, a.Clocks = m.Dose(), m.Clocks()
	if f, ok := m.Forecast(); ok {
		a.Forecast = &f
	}
	return a
}

func groundOf(m *coverage.Map, p Product) Ground {
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
	return Ground{Swept: swept, Wasted: swept - covered, Short: m.Ground.Skip - m.Ground.Remainder}
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
func (a *Account) fill(g Ground) {
	p := a.Product
	a.Ground = g
	swept, wasted, short := g.Swept.SquareMetres()+g.SweptBeyond, g.Wasted.SquareMetres()+g.WastedBeyond, g.Short.SquareMetres()
	a.Applied, a.Wasted, a.Short = times(p.MassRate, swept), times(p.MassRate, wasted), times(p.MassRate, short)
	a.AppliedVolume, a.WastedVolume, a.ShortVolume = times(p.VolumeRate, swept), times(p.VolumeRate, wasted), times(p.VolumeRate, short)
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
