package chart

import (
	"slices"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
	"lapwing/report/words"
)

// A LegendLine is a swatch and a switch of one layer.
type LegendLine struct {
	Layer, Swatch, Name string
	Area                words.Text
	Off                 bool // not shown until it is asked for
}

func (d drawing) legend() []LegendLine {
	g := d.Map.Totals
	var deep plane.Area
	for depth, a := range g.ByDepth {
		if depth > 2 {
			deep += a
		}
	}
	area := func(a plane.Area) words.Text {
		if a == 0 {
			return words.Same("none")
		}
		return d.both(func(u quantity.Units) string { return u.Area(a) })
	}
	lines := []LegendLine{
		{Layer: "skip", Swatch: "skip", Name: "Skip", Area: area(g.Skip - g.Remainder)},
		{Layer: "unworked", Swatch: "unworked", Name: "Not worked yet", Area: area(g.Remainder)},
		{Layer: "overlap", Swatch: "overlap", Name: "Overlap, twice", Area: area(g.Overlap - deep)},
		{Layer: "deep", Swatch: "overlap deep", Name: "Overlap, 3 or more", Area: area(deep)},
		{Layer: "overreach", Swatch: "overreach", Name: "Outside the boundary", Area: area(g.OverReach)},
		{Layer: "unlogged", Swatch: "unlogged", Name: "Log silent", Area: area(g.Unlogged)},
		{Layer: "zone", Swatch: "zone", Name: "Headland's inner edge"},
		{Layer: "passes", Swatch: "pass", Name: "Passes and their numbers"},
	}
	if len(d.Map.Headland.Edge.Openings) > 0 && !d.Map.Field.Worked {
		lines = append(lines, LegendLine{Layer: "openings", Swatch: "opening", Name: "Headland open", Area: d.both(func(u quantity.Units) string { return u.Length(d.Map.Headland.Edge.Open) })})
	}
	if slices.ContainsFunc(d.Accounts, func(a agronomy.Account) bool { return len(a.Tanks) > 0 }) {
		lines = append(lines, LegendLine{Layer: "fill", Swatch: "fill", Name: "A tank filled (orange: likely dry from there)"})
	}
	if len(d.OffRates) > 0 {
		lines = append(lines, LegendLine{Layer: "rich", Swatch: "rich", Name: "In turns, over 110 % of the rate", Off: true},
			LegendLine{Layer: "lean", Swatch: "lean", Name: "In turns, under 90 %", Off: true})
	}
	return lines
}
