package waste

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/quantity"
	"lapwing/report/words"
)

// Text writes a screenful: the answer, then each product, each cause and each
// field.
func (d *Document) Text(out io.Writer) error {
	var b bytes.Buffer
	words.Wrap(&b, strings.Join(d.answer(d.Units), " "))
	all := d.together()
	line := func(name, wasted, likely, nutrient, cost string) {
		fmt.Fprintln(&b, strings.TrimRight(fmt.Sprintf("%s %10s %19s %12s %12s", words.Pad(words.Plain(name, 22), 22), wasted, likely, nutrient, cost), " "))
	}
	tally := func(name string, t *agronomy.Tally) {
		nitrogen := ""
		if t.Wasted.N != nil && *t.Wasted.N > 0 {
			nitrogen = d.Units.Mass(*t.Wasted.N) + " N"
		}
		line(name, words.Amount(d.Units, &t.Wasted), likely(d.Units, t), nitrogen, words.TallyCost(t))
	}
	if len(all) > 0 {
		b.WriteByte('\n')
		line("Product", "wasted", "likely", "nitrogen", "cost")
	}
	for i := range all {
		tally("  "+all[i].Product, &all[i])
	}
	if worst := agronomy.Worst(all); len(worst) > 0 {
		b.WriteByte('\n')
		line("Cause", "", "", "nitrogen", "cost")
		for i := range worst {
			nitrogen, cost := "", "no price"
			if worst[i].N > 0 {
				nitrogen = d.Units.Mass(worst[i].N) + " N"
			}
			if severalCurrencies(all) {
				cost = "2 currencies"
			}
			if worst[i].Cost != nil {
				cost = words.Money(*worst[i].Cost, worst[i].Currency)
			}
			line("  "+words.WasteCause(worst[i].Cause), "", "", nitrogen, cost)
		}
	}
	if len(d.Fields) > 1 {
		for i := range d.Fields {
			f := &d.Fields[i]
			fmt.Fprintf(&b, "\n%s, %s\n", words.Plain(f.Name, 50), d.Units.Area(f.Area))
			for k := range f.Tallies {
				tally("  "+f.Tallies[k].Product, &f.Tallies[k])
			}
		}
	}
	for i := range d.Fields {
		if f := &d.Fields[i]; f.whatIf != nil {
			b.WriteByte('\n')
			for k, s := range f.whatIf.Says {
				text := words.Untypeset(s.Shown)
				if k == 0 && len(d.Fields) > 1 {
					text = words.Plain(f.Name, 50) + ": " + text
				}
				words.Wrap(&b, text)
			}
		}
	}
	_, err := out.Write(b.Bytes())
	return err
}

// answer is what the agronomist came to ask: how much of each product was
// wasted, what it cost, and what would save most.
func (d *Document) answer(u quantity.Units) []string {
	all := d.together()
	if len(all) == 0 {
		return []string{d.where(u) + ": no products given."}
	}
	var parts []string
	ranges := false
	for i := range all {
		t := &all[i]
		if s := words.Wasted(u, t.Product, &t.Wasted); s != "" {
			parts = append(parts, s+" ("+strings.Join(slices.DeleteFunc([]string{wastedShare(t), likely(u, t)}, func(s string) bool { return s == "" }), ", ")+")")
			ranges = ranges || t.Likely != nil
		}
	}
	if len(parts) == 0 {
		return []string{d.where(u) + ": nothing was put down twice or outside."}
	}
	out := []string{d.where(u) + ": " + strings.Join(parts, ", ") + " went down twice or outside the boundary" + d.costs(all) + "."}
	if ranges {
		out = append(out, "For what GNSS errs by, the ranges hold the true figures nine times in ten.")
	}
	if worst := agronomy.Worst(all); len(worst) > 0 && u.SomeArea(worst[0].Area) {
		out = append(out, words.Saving(u, &worst[0], func(i int) string { return words.Name(all[i].Product) }))
	}
	return out
}

// where says which ground is spoken of.
func (d *Document) where(u quantity.Units) string {
	if len(d.Fields) == 1 {
		return fmt.Sprintf("%s, %s", words.Plain(d.Fields[0].Name, 60), u.Area(d.Fields[0].Area))
	}
	return fmt.Sprintf("%s, %s", words.Count(len(d.Fields), "field"), u.Area(d.area()))
}

func wastedShare(t *agronomy.Tally) string {
	part := t.WastedShare()
	if part == nil {
		return ""
	}
	return words.Share(*part, 1)
}

// likely is between what the waste truly lies, as nitrogen where it is there
// for that; "" where that was not looked into.
func likely(u quantity.Units, t *agronomy.Tally) string {
	if t.Likely == nil {
		return ""
	}
	low, high := &t.Likely.Low, &t.Likely.High
	span := func(low, high *float64, write func(float64) string) string {
		from, _, _ := strings.Cut(write(*low), " ")
		return from + " to " + write(*high)
	}
	switch {
	case low.N != nil && high.N != nil && *high.N > 0:
		return span(low.N, high.N, u.Mass) + " N"
	case low.Mass != nil && high.Mass != nil:
		return span(low.Mass, high.Mass, u.Mass)
	case low.Volume != nil && high.Volume != nil:
		return span(low.Volume, high.Volume, u.Volume)
	}
	return ""
}

func likelyWords(u quantity.Units, t *agronomy.Tally) words.Text {
	return words.Both(u, func(u quantity.Units) string { return likely(u, t) })
}

// costs is what all of it cost, by currency; "" where nothing has a price.
func (d *Document) costs(all []agronomy.Tally) string {
	sums := map[string]float64{}
	var order []string
	unpriced := false
	for i := range all {
		t := &all[i]
		switch {
		case t.Wasted.Area == 0:
		case t.Currency == "" || t.Wasted.Cost == nil:
			unpriced = true
		default:
			if _, ok := sums[t.Currency]; !ok {
				order = append(order, t.Currency)
			}
			sums[t.Currency] += *t.Wasted.Cost
		}
	}
	var parts []string
	for _, c := range order {
		parts = append(parts, words.Money(sums[c], c))
	}
	switch s := strings.Join(parts, " and "); {
	case s == "":
		return ""
	case unpriced:
		return ", " + s + " as far as there are prices"
	default:
		return ", " + s
	}
}

// severalCurrencies reports whether costs do not add.
func severalCurrencies(tallies []agronomy.Tally) bool {
	first := ""
	for i := range tallies {
		switch c := tallies[i].Currency; {
		case c == "":
		case first == "":
			first = c
		case c != first:
			return true
		}
	}
	return false
}
