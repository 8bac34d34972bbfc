package agronomy

import (
	"cmp"
	"slices"
)

// A Tally is what was put down and what was wasted of one product, on one
// field or on several together; it holds on to no map.
//
//	Wasted = the sum of ByCause + Slivers + OverReach
type Tally struct {
	Product  string
	Currency string // of its costs; "" without a price
	Applied  Amount // on all swept ground
	Wasted   Amount
	ByCause  []CauseShare // from the largest down
	Slivers  Amount
	// OverReach is outside the boundary, or in a hole.
	OverReach Amount
	// Likely is between what Wasted truly lies; nil until somebody found out.
	Likely *Interval
}

// Tallies returns the tally of each account.
func (a *Assessment) Tallies() []Tally {
	var out []Tally
	for i := range a.Accounts {
		acc := &a.Accounts[i]
		t := Tally{
			Product: acc.Product.Name, Applied: acc.applied(), Wasted: acc.Waste.Total,
			ByCause: slices.Clone(acc.Waste.ByCause), Slivers: acc.Waste.Slivers, OverReach: acc.Waste.OverReach,
		}
		if acc.Product.Price != nil {
			t.Currency = acc.Product.Price.Currency
		}
		out = append(out, t)
	}
	return out
}

// applied is all that was put down.
func (a *Account) applied() Amount {
	out := Amount{Area: a.Ground.Swept, Mass: a.Applied, Volume: a.AppliedVolume}
	if n := a.Product.Analysis; n != nil {
		out.N, out.Phosphate, out.Potash = times(a.Applied, n.N), times(a.Applied, n.P2O5), times(a.Applied, n.K2O)
	}
	switch p := a.Product.Price; {
	case p == nil:
	case p.PerCubicMetre != 0:
		out.Cost = times(a.AppliedVolume, p.PerCubicMetre)
	default:
		out.Cost = times(a.Applied, p.PerKilogram)
	}
	return out
}

// Together adds up the tallies of several fields by product: those of one
// name, priced in one currency or not at all. The products come in the order
// in which they are first met.
func Together(fields ...[]Tally) []Tally {
	var out []Tally
	for _, tallies := range fields {
		for _, t := range tallies {
			i := slices.IndexFunc(out, func(o Tally) bool { return o.Product == t.Product && o.Currency == t.Currency })
			if i < 0 {
				t.ByCause = slices.Clone(t.ByCause)
				out = append(out, t)
				continue
			}
			out[i].add(&t)
		}
	}
	return out
}

func (t *Tally) add(o *Tally) {
	t.Applied, t.Wasted = t.Applied.Plus(o.Applied), t.Wasted.Plus(o.Wasted)
	t.Slivers, t.OverReach = t.Slivers.Plus(o.Slivers), t.OverReach.Plus(o.OverReach)
	if t.Likely == nil || o.Likely == nil {
		t.Likely = nil
	} else {
		sum := t.Likely.Plus(*o.Likely)
		t.Likely = &sum
	}
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
