package agronomy

import (
	"cmp"
	"slices"
)

// A Tally is what was put down and what was wasted of one product, on one
// field or on several together. It refers to no map, so that the maps of many
// fields need not be kept.
//
//	Wasted = the sum of ByCause + Slivers + OverReach
type Tally struct {
	Product  string
	Currency string // of its costs; "" without a price
	Analysed bool   // the job says which nutrients are in it
	Applied  Amount // on all swept ground
	Wasted   Amount
	ByCause  []CauseShare // from the largest area down
	Slivers  Amount
	// OverReach is what was put down outside the boundary, or in a hole.
	OverReach Amount
	// Likely is the interval of the true Wasted; nil where no runs were made
	// to find it.
	Likely *Interval
}

// Tallies returns the tally of each account.
func (a *Reckoning) Tallies() []Tally { return talliesOf(a.Accounts) }

func talliesOf(accounts []Account) []Tally {
	var out []Tally
	for i := range accounts {
		a := &accounts[i]
		currency := ""
		if a.Product.Price != nil {
			currency = a.Product.Price.Currency
		}
		out = append(out, Tally{
			Product: a.Product.Name, Currency: currency, Analysed: a.Product.Analysis != nil, Applied: a.Applied, Wasted: a.Wasted,
			ByCause: slices.Clone(a.Waste.ByCause), Slivers: a.Waste.Slivers, OverReach: a.Waste.OverReach,
		})
	}
	return out
}

// WastedShare returns the share of what was applied that was wasted: by mass
// where both masses are known, else by area. The result is nil where nothing
// was applied.
func (t *Tally) WastedShare() *float64 {
	if t.Applied.Area == 0 {
		return nil
	}
	share := float64(t.Wasted.Area) / float64(t.Applied.Area)
	if t.Wasted.Mass != nil && t.Applied.Mass != nil && *t.Applied.Mass > 0 {
		share = *t.Wasted.Mass / *t.Applied.Mass
	}
	return &share
}

// Together adds up the tallies of several fields by product: those of one
// name, priced in one currency or not at all. The products come in the order
// in which they are first met.
func Together(fields ...[]Tally) []Tally {
	var out []Tally
	var likely [][]Interval // of each in out, of the fields that have one
	var met []int           // how many fields each in out is of
	for _, tallies := range fields {
		for _, t := range tallies {
			i := slices.IndexFunc(out, func(o Tally) bool { return o.Product == t.Product && o.Currency == t.Currency })
			if i < 0 {
				i = len(out)
				t.ByCause = slices.Clone(t.ByCause)
				out, likely, met = append(out, t), append(likely, nil), append(met, 0)
			} else {
				out[i].add(&t)
			}
			met[i]++
			if t.Likely != nil {
				likely[i] = append(likely[i], *t.Likely)
			}
		}
	}
	for i := range out {
		out[i].Likely = nil
		if len(likely[i]) == met[i] {
			sum := SumOf(likely[i])
			out[i].Likely = &sum
		}
	}
	return out
}

func (t *Tally) add(o *Tally) {
	t.Applied, t.Wasted = t.Applied.Plus(o.Applied), t.Wasted.Plus(o.Wasted)
	t.Slivers, t.OverReach = t.Slivers.Plus(o.Slivers), t.OverReach.Plus(o.OverReach)
	for _, c := range o.ByCause {
		i := slices.IndexFunc(t.ByCause, func(s CauseShare) bool { return s.Cause == c.Cause })
		if i < 0 {
			t.ByCause = append(t.ByCause, c)
		} else {
			t.ByCause[i].Amount = t.ByCause[i].Plus(c.Amount)
		}
	}
	slices.SortFunc(t.ByCause, func(a, b CauseShare) int {
		return cmp.Or(cmp.Compare(b.Area, a.Area), cmp.Compare(a.Cause, b.Cause))
	})
}

// Causes returns the causes of waste with over-reach among them, as
// BeyondBoundary, from the largest ground down.
func (t *Tally) Causes() []CauseShare {
	out := slices.Clone(t.ByCause)
	if t.OverReach.Area > 0 {
		out = append(out, CauseShare{BeyondBoundary, t.OverReach})
	}
	slices.SortStableFunc(out, func(a, b CauseShare) int { return cmp.Compare(b.Area, a.Area) })
	return out
}
