// Package agronomy turns ground into product, money and time.
//
// A [Product] has a rate, by mass and by volume as far as its density is known,
// and perhaps a [Price]. Ground × rate is an [Amount]: mass, volume, kilograms of N,
// P2O5 and K2O, and cost, all reckoned in one place ([Product.Over], amount.go). Pounds
// and gallons are made of them where they are told (package quantity).
//
//	Map, Product -> Portion -> Amount         which ground, and what it takes
//	Amounts      -> Account, Waste -> Tally   of one product, on one field or several
//	Accounts     -> Change, Loss, StripCosts  the costliest cause; what skips cost
//
// [Reckon] makes a [Reckoning] whole. Questions that need more than the map
// and the prices are asked of it afterwards and leave it as it is: [Laps],
// [Reckoning.Worths], [Account.Interval].
package agronomy

import (
	"fmt"
	"slices"

	"lapwing/coverage"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/pace"
	"lapwing/coverage/region"
	"lapwing/coverage/sweep"
	"lapwing/geo/plane"
)

// A Reckoning is a map with what it cost. [Reckon] makes it whole.
type Reckoning struct {
	Map      *coverage.Map
	Crop     *Crop           // nil where the job names none
	Accounts []Account       // one a product, in the order of the job
	Unsaid   []field.Warning // what could not be said of a product, and why

	Changes   []Change       // what each cause wasted, the costliest first
	Loss      *Loss          // what the skips cost; nil without a crop
	TurnRates sweep.Dose     // how far turns put the rate off its target
	Clocks    []pace.Clock   // where the time of each machine with a clock went
	Forecast  *pace.Forecast // nil where no log has times, or no new ground was worked
}

// Reckon says what became of each product on the ground of m, and what that
// cost:
//
//	applied = rate × swept
//	wasted  = rate × (swept - covered)
//	short   = rate × (skip - remainder)
//
// Where the logs tell the rate, applied and wasted are what they say was put
// down on that ground, and ground worked after the product had run out (see
// [Dry]) is skipped ground of that product. Ground worked where a log that has the rate
// leaves it empty is in none of the three, see [Account].NotTold.
//
// A product carried by some machines only counts the ground that these swept.
// Covered is then the ground inside the field that one of them covered, so
// that ground met by one carrier and one other machine got the product once
// and wasted none. Short stays the field's: ground that only a machine without
// the product went over is not a mistake to price, since it may be planned so.
//
// Crop is nil where the job names none.
func Reckon(m *coverage.Map, products []Product, crop *Crop) *Reckoning {
	var accounts []Account
	var warnings []field.Warning
	for i := range products {
		account := accountOf(m, products[i])
		accounts = append(accounts, account)
		for _, why := range account.unsaid() {
			warnings = append(warnings, field.Warning{Text: fmt.Sprintf("product %s: %s", account.Product.Name, why)})
		}
	}
	var forecast *pace.Forecast
	if f, ok := pace.Finish(m); ok {
		forecast = &f
	}
	return &Reckoning{
		Map: m, Crop: crop, Accounts: accounts, Unsaid: warnings,
		Changes: Worst(talliesOf(accounts)), Loss: lossOf(m, accounts, crop),
		TurnRates: m.Dose(), Clocks: pace.Clocks(m), Forecast: forecast,
	}
}

// An Account is what became of one product on one field.
type Account struct {
	Product Product
	Map     *coverage.Map // where its ground lies: Product.Told, Product.Map, or else the field's

	Applied Amount // put down in all, at every visit
	Wasted  Amount // put down on ground already covered or outside the field
	Short   Amount // missing in skips
	Basis   Basis  // what the three are reckoned from
	// NotTold is the ground, every visit, that was worked while the log has a column for
	// the rate and no rate in it. How much was put down there is not known: it is in none
	// of the three.
	NotTold plane.Area

	Waste  Waste       // Wasted, taken apart
	Tanks  []Ledger    // none where the tank or the rate by volume is not known
	Logged *LoggedRate // what the logs say of its rate; nil where none does
}

// A Basis is the ground that the amounts of an [Account] are reckoned from.
type Basis struct {
	Applied Portion // swept by the machines that carry the product, every visit
	Wasted  Portion // swept, less the ground inside the field that one of them covered
	Short   Portion // skipped, less what is simply not worked yet
}

// accountOf returns the account of p on the field that m measured.
func accountOf(m *coverage.Map, p Product) Account {
	on := m
	if p.Map != nil {
		on = p.Map
	}
	skipped := on.Totals.Skip
	carries := carriers(on.Machines, &p)
	var notTold plane.Area
	if p.Told != nil {
		worked, _ := sweptBy(on, carries)
		on, carries = p.Told, carriers(p.Told.Machines, &p)
		told, _ := sweptBy(on, carries)
		notTold = max(0, worked-told) // the ends of passes may differ by what thinning leaves
	}
	spread := spreadOf(on, &p)
	waste, wastedBeyond := wasteOf(on, &p, carries, spread)
	logged, appliedBeyond := loggedOf(m, on, &p, carries, spread)
	swept, covered := sweptBy(on, carries)
	basis := Basis{
		Applied: Portion{swept, appliedBeyond},
		Wasted:  Portion{swept - covered, wastedBeyond},
		// The remainder is the field's, and may be more than p's own map skips.
		Short: Portion{Area: max(0, skipped-m.Totals.Remainder)},
	}
	return Account{
		Product: p, Map: on, Basis: basis, NotTold: notTold,
		Applied: p.Over(basis.Applied), Wasted: p.Over(basis.Wasted), Short: p.Over(basis.Short),
		Waste: waste, Tanks: tanksOf(on, &p, carries, logged), Logged: logged,
	}
}

// sweptBy returns the ground that carriers swept, each visit by itself, and the
// ground inside the field that one of them covered.
func sweptBy(m *coverage.Map, carries []bool) (swept, covered plane.Area) {
	if !slices.Contains(carries, false) {
		return m.Totals.Swept, m.Totals.Covered
	}
	for i := range m.Regions {
		r := &m.Regions[i]
		visits := 0
		for _, s := range r.Swaths {
			if carries[m.Passes[m.Swaths[s].Pass].Machine] {
				visits++
			}
		}
		swept += plane.Area(visits) * r.Area
		if visits > 0 && r.Kind != region.OverReach {
			covered += r.Area
		}
	}
	return swept, covered
}

// carriers tells of each machine whether it carries p.
func carriers(machines []machine.Machine, p *Product) []bool {
	out := make([]bool, len(machines))
	for i := range machines {
		out[i] = p.CarriedBy(machines[i].Name)
	}
	return out
}

// unsaid tells what the account has to leave open, and why.
func (a *Account) unsaid() (why []string) {
	p := &a.Product
	if p.MassRate == nil {
		why = append(why, "the rate is by volume and there is no density, so masses are not known")
	}
	if p.Price != nil && a.Wasted.Cost == nil {
		why = append(why, "price and rate are one by mass and one by volume and there is no density, so the cost is not known")
	}
	if p.Tank != nil && p.VolumeRate == nil {
		why = append(why, "there is a tank but neither density nor, for ammonia, temperature, so how far a fill goes is not known")
	}
	return why
}
