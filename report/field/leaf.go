package field

import (
	"fmt"
	"strings"

	"lapwing/coverage/quantity"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

// What a printed page has room for, whatever the field: names and sentences of files
// are cut to so many letters, lists to so many lines, and what is left out is counted.
const (
	leafSkips    = 10
	leafProducts = 3
	leafNames    = 70
)

// Leaf is the field on one printed page.
func (d *Document) Leaf() *page.Leaf {
	l := &page.Leaf{
		Name: d.FieldName(), Run: d.Run,
		Says:  d.both(func(u quantity.Units) string { return strings.Join(d.answer(u), " ") }),
		Block: d.titleBlock(), Map: chart.NewLeafMap(d.Assessment, leafSkips), Headland: d.leafHeadland(), Waste: d.leafWaste(),
	}
	for i := range l.Block {
		if l.Block[i].Name == "Machines" {
			l.Block[i].Text = words.Same(words.Short(l.Block[i].Text.Shown, leafNames))
		}
	}
	l.Skips = page.Table{
		Empty:   "None to list.",
		Columns: []page.Column{page.Words("No."), page.Figures("Area"), page.Words("Why"), page.Words("Where"), page.Words("Size")},
	}
	rest := 0
	for number, i := range d.Skips().Each() {
		if !d.Map.Skips[i].Mistake() {
			continue // still to be worked, the outline's or a yard
		}
		if len(l.Skips.Rows) == leafSkips {
			rest++
			continue
		}
		s := &d.Map.Skips[i]
		l.Skips.Add(words.Same(fmt.Sprint(number)), d.bothAreas(s.Area), words.Same(words.InDoubt(words.Cause(s.Cause), s.Doubt)),
			d.both(func(u quantity.Units) string { return words.Short(d.Place(u, s.Place, s.At), leafNames) }),
			d.both(func(u quantity.Units) string { return u.Length(s.Length) + " by " + u.Length(s.Width) }))
	}
	if rest > 0 {
		l.MoreSkips = words.Same(words.Capital(words.Count(rest, "smaller skip")) + " more, listed in " + PageFile + ".")
	}
	l.Notes = d.leafNotes()
	return l
}

func (d *Document) leafHeadland() []page.Entry {
	if d.Map.Field.Worked {
		return []page.Entry{{Name: "Edge", Text: words.Same("no boundary was given")}}
	}
	h := &d.Map.Headland
	length := func(name string, of func(u quantity.Units) string) page.Entry {
		return page.Entry{Name: name, Text: d.both(of)}
	}
	_, open := h.OpenByWork()
	out := []page.Entry{
		length("Edge", func(u quantity.Units) string { return u.Length(h.Edge.Length) }),
		length("Reached", func(u quantity.Units) string { return words.Of(u, h.Edge.Reached, h.Edge.Length) }),
		length("Open", func(u quantity.Units) string { return u.Length(open) }),
		length("At most short of it", func(u quantity.Units) string { return u.Length(h.Edge.Max) }),
	}
	if outline := h.Edge.Open - open; outline > 0 {
		out = append(out, length("Open, likely the outline", func(u quantity.Units) string { return u.Length(outline) }))
	}
	return out
}

// leafWaste says what was worked twice or outside, and what of each product went there.
func (d *Document) leafWaste() []words.Text {
	g := d.Map.Totals
	out := []words.Text{d.both(func(u quantity.Units) string {
		return fmt.Sprintf("Laps counted %s, outside the boundary %s.", u.Area(g.Excess), u.Area(g.OverReachSwept))
	})}
	for i := range d.Accounts {
		if i == leafProducts {
			out = append(out, words.Same(words.Capital(words.Count(len(d.Accounts)-i, "product"))+" more, on "+PageFile+"."))
			break
		}
		a := &d.Accounts[i]
		if words.Wasted(quantity.US, a.Product.Name, &a.Wasted) == "" {
			continue
		}
		out = append(out, d.both(func(u quantity.Units) string {
			return fmt.Sprintf("Wasted: %s, %s.", words.Wasted(u, a.Product.Name, &a.Wasted), words.Cost(&a.Product, a.Wasted.Cost))
		}))
	}
	if d.skipLoss(quantity.US) != "" {
		out = append(out, d.both(d.skipLoss))
	}
	return out
}

func (d *Document) leafNotes() []words.Text {
	out := []words.Text{words.Same("A record of where machines went, not a safety device. Before going back look for wet ground and power lines.")}
	if d.HasAmmonia() {
		out = append(out, words.Same("Anhydrous ammonia: goggles, gloves, water; follow the label, the local code and licensed practice."))
	}
	if n := len(d.AllWarnings()); n > 0 {
		out = append(out, words.Same(words.Capital(words.Count(n, "warning"))+" about the input, told on "+PageFile+"."))
	}
	return append(out, d.both(func(u quantity.Units) string {
		return fmt.Sprintf("Areas are exact sums of the pieces; what is uncertain is where the antenna was. Patches under %s are not drawn.", u.SquareMetres(chart.LeafLeast))
	}))
}
