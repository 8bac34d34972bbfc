package agronomy

import (
	"cmp"
	"slices"

	"lapwing/coverage"
	"lapwing/geo/plane"
)

// BeyondBoundary stands for over-reach in a list of causes of waste.
const BeyondBoundary coverage.Cause = "over-reach"

// A Change is what would have been saved, at most, by doing away with one cause
// of waste.
type Change struct {
	Cause    coverage.Cause // of an overlap, or BeyondBoundary
	Area     plane.Area     // the sum over all products: ground that two went on counts twice
	N        float64        // kg of nitrogen in those whose nitrogen is known
	Saves    []Amount       // of each product, in their order
	Cost     *float64       // of all that have a price; nil where none has, or in several currencies
	Currency string
}

// Worst ranks the causes over all tallies, the one that wasted most first: in
// money where all products with a price have one currency, else by area.
func Worst(tallies []Tally) []Change {
	var causes []coverage.Cause
	for i := range tallies {
		for _, c := range tallies[i].Causes() {
			if !slices.Contains(causes, c.Cause) {
				causes = append(causes, c.Cause)
			}
		}
	}
	out := make([]Change, len(causes))
	for i, cause := range causes {
		out[i] = changeOf(cause, tallies)
	}
	slices.SortFunc(out, func(c, d Change) int {
		if c.Cost != nil && d.Cost != nil && *c.Cost != *d.Cost { // all have a cost, or none
			return cmp.Compare(*d.Cost, *c.Cost)
		}
		return cmp.Or(cmp.Compare(d.Area, c.Area), cmp.Compare(c.Cause, d.Cause))
	})
	return out
}

// changeOf adds up the waste of one cause over all tallies.
func changeOf(cause coverage.Cause, tallies []Tally) Change {
	c := Change{Cause: cause}
	mixed := false
	for i := range tallies {
		t := &tallies[i]
		var amount Amount
		for _, s := range t.Causes() {
			if s.Cause == cause {
				amount = s.Amount
			}
		}
		c.Saves = append(c.Saves, amount)
		c.Area += amount.Area
		if amount.N != nil {
			c.N += *amount.N
		}
		if t.Currency == "" || t.Wasted.Area > 0 && t.Wasted.Cost == nil {
			continue // what the product costs is not known for any cause
		}
		mixed = mixed || c.Currency != "" && c.Currency != t.Currency
		c.Currency = t.Currency
		sum := 0.0
		for _, part := range []*float64{c.Cost, amount.Cost} {
			if part != nil {
				sum += *part
			}
		}
		c.Cost = &sum
	}
	if mixed {
		c.Cost, c.Currency = nil, ""
	}
	return c
}
