package chart

import (
	"lapwing/coverage/agronomy"
	"lapwing/coverage/quantity"
	"lapwing/report/words"
)

// Causes draws causes of waste, ranked: in money where there is one
// currency, else in ground.
func Causes(u quantity.Units, changes []agronomy.Change, product func(i int) string) *Chart {
	inMoney := changes[0].Cost != nil
	x := Axis{Name: "wasted, " + changes[0].Currency, Ticks: 4}
	if !inMoney {
		x = AreaAxis("ground, each product by itself")
	}
	var bars []Bar
	for i := range changes {
		c := &changes[i]
		class := "overlap"
		if c.Cause == agronomy.BeyondBoundary {
			class = "overreach"
		}
		b := Bar{Name: words.Same(words.WasteCause(c.Cause)), Class: class, Value: float64(c.Area), Text: words.Both(u, func(u quantity.Units) string { return u.Area(c.Area) })}
		if inMoney {
			b.Value, b.Text = *c.Cost, words.Same(words.Money(*c.Cost, c.Currency))
		}
		x.Most = max(x.Most, b.Value)
		bars = append(bars, b)
	}
	return NewBarsForPhone(words.Same("Why product was wasted"), words.Both(u, func(u quantity.Units) string { return words.Saving(u, &changes[0], product) }), x, bars)
}
