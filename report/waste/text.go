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

// Text writes a screenful: the answer, then each nutrient and product, each cause
// and each field.
func (d *Document) Text(out io.Writer) error {
	var b bytes.Buffer
	for i, says := range d.answer(d.Units) {
		if i > 0 {
			b.WriteByte('\n')
		}
		words.Wrap(&b, says)
	}
	if names := d.without(); len(names) > 0 && len(names) < len(d.Fields) {
		for i := range names {
			names[i] = words.Plain(names[i], 50)
		}
		b.WriteByte('\n')
		words.Wrap(&b, "No products given: "+strings.Join(names, ", ")+". Nothing can be told of the waste there.")
	}
	everything := d.group(everyYear)
	all := everything.together()
	if len(all) > 0 {
		b.WriteByte('\n')
		d.line(&b, "Wasted", "best", "low to high", "measured", "cost")
		d.lines(&b, everything)
	}
	if worst := agronomy.Worst(all); len(worst) > 0 {
		b.WriteByte('\n')
		d.line(&b, "Cause", "N", "", "", "cost")
		for i := range worst {
			nitrogen, cost := "", "no price"
			if worst[i].N > 0 {
				nitrogen = d.Units.Mass(worst[i].N)
			}
			if n := len(currencies(all)); n > 1 {
				cost = fmt.Sprintf("%d currencies", n)
			}
			if worst[i].Cost != nil {
				cost = words.Money(*worst[i].Cost, worst[i].Currency)
			}
			d.line(&b, "  "+words.WasteCause(worst[i].Cause), nitrogen, "", "", cost)
		}
	}
	if len(everything) > 1 {
		for _, f := range everything {
			fmt.Fprintf(&b, "\n%s, %s%s\n", words.Plain(f.Name, 50), d.Units.Area(f.Area), d.inYear(f))
			d.lines(&b, group{f})
		}
	}
	if len(everything.looked()) > 0 {
		b.WriteByte('\n')
		d.changeText(func(lead, s string) { words.Hang(&b, lead, s) })
	}
	for i := range d.Fields {
		f := &d.Fields[i]
		if f.WhatIf == nil {
			continue
		}
		b.WriteByte('\n')
		for k, text := range f.WhatIf.says(d.Units) {
			if k == 0 && len(d.Fields) > 1 {
				text = words.Plain(f.Name, 50) + d.inYear(f) + ": " + text
			}
			words.Wrap(&b, text)
		}
	}
	if len(d.Failed) > 0 {
		b.WriteByte('\n')
		words.Wrap(&b, "Could not be assessed:")
		for _, f := range d.Failed {
			words.Hang(&b, "  ", words.Clean(f.Why))
		}
	}
	_, err := out.Write(b.Bytes())
	return err
}

// line writes a row of a list that has one figure in a column.
func (d *Document) line(b *bytes.Buffer, name, best, span, measured, cost string) {
	fmt.Fprintln(b, strings.TrimRight(fmt.Sprintf("%s %10s %19s %12s %12s", words.Pad(words.Plain(name, 22), 22), best, span, measured, cost), " "))
}

// lines writes a row for each nutrient and each product of a group.
func (d *Document) lines(b *bytes.Buffer, g group) {
	mass, volume := rowsOf(g, "", "")
	for _, r := range append(mass, volume...) {
		n, cost, span := unit{byVolume: r.tally != nil && measureOf(r.tally).ByVolume}, "", ""
		if r.tally != nil {
			cost = bestCost(r.tally)
		}
		if s := r.sum.Likely; s != nil {
			span = words.FromTo(n.amount(d.Units, s.Low), n.amount(d.Units, s.High))
		}
		d.line(b, "  "+r.of, n.amount(d.Units, r.sum.Best()), span, n.amount(d.Units, r.sum.Wasted), cost)
	}
}

// inYear tells the year of a field where there are several.
func (d *Document) inYear(f *Field) string {
	switch {
	case !d.severalYears():
		return ""
	case f.Year == 0:
		return ", year not known"
	}
	return fmt.Sprintf(", %d", f.Year)
}

// amount is a figure with its unit.
func (n unit) amount(u quantity.Units, v float64) string {
	if n.byVolume {
		return u.Volume(v)
	}
	return u.Mass(v)
}

// answer is what the agronomist came to ask: how much of each product was
// wasted, what it cost, and what would save most; of each year by itself.
func (d *Document) answer(u quantity.Units) []string {
	years := d.years()
	if len(d.Fields) == 0 {
		return []string{"No field could be assessed."}
	}
	if len(years) == 0 {
		return []string{d.where(u, d.everyField()) + ": no products given."}
	}
	var out []string
	for _, y := range years {
		g := d.group(y)
		lead := d.where(u, g)
		if len(years) > 1 {
			lead = "In " + yearName(y) + ", " + lead
			if y == 0 {
				lead = "In a year that the logs do not tell, " + d.where(u, g)
			}
		}
		out = append(out, lead+": "+d.wasted(u, g))
	}
	if len(years) > 1 {
		g := d.group(everyYear)
		out = append(out, words.Capital(words.Count(len(years), "year"))+" together, a field counted each time: "+d.wasted(u, g))
	}
	return out
}

// wasted says what went down twice or outside on the fields of a group, and which
// change saves most.
func (d *Document) wasted(u quantity.Units, g group) string {
	all := g.together()
	var parts []string
	ranges := false
	for i := range all {
		t := &all[i]
		if s := words.Wasted(u, t.Product, best(t)); s != "" {
			parts = append(parts, s+" ("+strings.Join(slices.DeleteFunc([]string{wastedShare(t), likely(u, t)}, func(s string) bool { return s == "" }), "; ")+")")
			ranges = ranges || t.Likely != nil
		}
	}
	if len(parts) == 0 {
		return "nothing was put down twice or outside."
	}
	out := []string{strings.Join(parts, ", ") + " went down twice or outside the boundary" + costs(all) + "."}
	if ranges {
		out = append(out, "These are best estimates for what GNSS errs by; the ranges hold the true figures nine times in ten.")
	}
	if worst := agronomy.Worst(all); len(worst) > 0 && u.SomeArea(worst[0].Area) {
		out = append(out, words.Saving(u, &worst[0], func(i int) string { return words.Name(all[i].Product) }))
	}
	return strings.Join(out, " ")
}

// where says which ground is spoken of.
func (d *Document) where(u quantity.Units, g group) string {
	if len(g) == 1 {
		return fmt.Sprintf("%s, %s", words.Plain(g[0].Name, 60), u.Area(g[0].Area))
	}
	return fmt.Sprintf("%s, %s", words.Count(len(g), "field"), u.Area(g.area()))
}

// likely is between what the waste truly lies, and what was measured, as nitrogen
// where it is there for that; "" where that was not looked into.
func likely(u quantity.Units, t *agronomy.Tally) string {
	if t.Likely == nil {
		return ""
	}
	low, high, measured := &t.Likely.Low, &t.Likely.High, &t.Wasted
	span := func(low, high, measured *float64, write func(float64) string, of string) string {
		return words.FromTo(write(*low), write(*high)) + of + "; " + write(*measured) + " as measured"
	}
	switch {
	case low.N != nil && high.N != nil && measured.N != nil && *high.N > 0:
		return span(low.N, high.N, measured.N, u.Mass, " N")
	case low.Mass != nil && high.Mass != nil && measured.Mass != nil:
		return span(low.Mass, high.Mass, measured.Mass, u.Mass, "")
	case low.Volume != nil && high.Volume != nil && measured.Volume != nil:
		return span(low.Volume, high.Volume, measured.Volume, u.Volume, "")
	}
	return ""
}

// costs is what all of it cost by the best estimate, by currency; "" where nothing
// has a price.
func costs(all []agronomy.Tally) string {
	sums := map[string]float64{}
	var order []string
	unpriced := false
	for i := range all {
		t := &all[i]
		switch {
		case best(t).Area == 0:
		case t.Currency == "" || best(t).Cost == nil:
			unpriced = true
		default:
			if _, ok := sums[t.Currency]; !ok {
				order = append(order, t.Currency)
			}
			sums[t.Currency] += *best(t).Cost
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
