package report

import (
	"fmt"
	"math"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/quantity"
	"lapwing/report/words"
)

// rateWords says what the logs tell of a product's rate, and where nothing of
// it came; "" where they tell nothing.
func (r *Report) rateWords(u quantity.Units, a *agronomy.Account) string {
	l := a.Logged
	if l == nil {
		return ""
	}
	name := words.Plain(a.Product.Name, 30)
	s := fmt.Sprintf("Rate of %s by the logs: nothing was swept.", name)
	if mean := l.Mean(); !math.IsNaN(mean) {
		s = fmt.Sprintf("Rate of %s by the logs: %s of the set one on average.", name, words.Percent(mean))
	}
	for i, d := range l.Dry {
		if i == 3 {
			return s + " And more."
		}
		s += fmt.Sprintf(" Nothing came from %s on: %s worked without.", r.markWords(u, l.Map, d.From), u.SquareMetres(d.Area))
	}
	return s
}
