package waste

import (
	"slices"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
	"lapwing/report/words"
)

// A unit is what a column of figures is in: a mass, a volume, or one of them on an
// acre or a hectare.
type unit struct{ byVolume, perArea bool }

func unitOf(m *agronomy.Measure) unit { return unit{byVolume: m.ByVolume} }

// in is a figure in kg or m³, or of those on a square metre, as people take it.
func (n unit) in(u quantity.Units, v float64) float64 {
	if n.perArea {
		if u == quantity.Metric {
			v *= quantity.Hectare
		} else {
			v *= quantity.Acre
		}
	}
	switch {
	case n.byVolume && u == quantity.Metric:
		return v / quantity.Litre
	case n.byVolume:
		return v / quantity.Gallon
	case u == quantity.Metric:
		return v
	}
	return v / quantity.Pound
}

func (n unit) name(u quantity.Units) string {
	s := map[bool][2]string{false: {"lb", "kg"}, true: {"gal", "L"}}[n.byVolume][u]
	if n.perArea {
		s += [2]string{"/ac", "/ha"}[u]
	}
	return s
}

func (n unit) text(u quantity.Units) words.Text { return words.Both(u, n.name) }

// decimals are as many for all figures of a table as its largest needs, in pounds
// or gallons, so that the figures stand under one another and can be added up.
func (n unit) decimals(most float64) int {
	switch v := n.in(quantity.US, most); {
	case v >= 999.5:
		return 0
	case v >= 9.95:
		return 1
	}
	return 2
}

// figure writes a bare figure; "" for none.
func (n unit) figure(u quantity.Units, v *float64, decimals int) words.Text {
	if v == nil {
		return words.Text{}
	}
	return words.Both(u, func(u quantity.Units) string { return quantity.Number(n.in(u, *v), decimals) })
}

// best is the best estimate of what was wasted: the middle of the interval, where
// that is known, else what was measured.
func best(t *agronomy.Tally) *agronomy.Amount {
	if t.Likely != nil {
		return &t.Likely.Middle
	}
	return &t.Wasted
}

// wastedShare is the share of what was put down that was wasted, by the best
// estimate.
func wastedShare(t *agronomy.Tally) string {
	of := agronomy.Tally{Applied: t.Applied, Wasted: *best(t)}
	part := of.WastedShare()
	if part == nil {
		return ""
	}
	return words.Share(*part, 1)
}

// bestCost is what the best estimate comes to, or why that is not known.
func bestCost(t *agronomy.Tally) string {
	return words.TallyCost(&agronomy.Tally{Currency: t.Currency, Wasted: *best(t)})
}

// currencies are those of prices, in the order in which they are met.
func currencies(tallies []agronomy.Tally) (out []string) {
	for i := range tallies {
		if c := tallies[i].Currency; c != "" && !slices.Contains(out, c) {
			out = append(out, c)
		}
	}
	return out
}

// measureOf is what a tally is counted in by itself.
func measureOf(t *agronomy.Tally) agronomy.Measure {
	return agronomy.Measure{Product: t.Product, ByVolume: t.Applied.Mass == nil}
}

// measureName names what is counted.
func measureName(m *agronomy.Measure) string {
	if m.Nutrient != "" {
		return m.Nutrient
	}
	return m.Product
}

// severalYears reports whether the fields were worked in more than one year. A log
// without a clock has none, and belongs to none.
func (d *Document) severalYears() bool { return len(d.years()) > 1 }

// years are the years of the fields' first work, the earliest first; 0 for those
// whose logs have no clock.
func (d *Document) years() []int {
	var out []int
	for i := range d.Fields {
		if d.Fields[i].hasProducts() {
			out = append(out, d.Fields[i].Year)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// A group is fields that are spoken of together.
type group []*Field

// group are the fields of a year that have products; all of them for -1.
func (d *Document) group(year int) (g group) {
	for i := range d.Fields {
		if f := &d.Fields[i]; f.hasProducts() && (year == everyYear || f.Year == year) {
			g = append(g, f)
		}
	}
	return g
}

const everyYear = -1

// everyField are the fields, with products or without.
func (d *Document) everyField() (g group) {
	for i := range d.Fields {
		g = append(g, &d.Fields[i])
	}
	return g
}

// without names the fields without products.
func (d *Document) without() []string {
	names := []string{}
	for i := range d.Fields {
		if f := &d.Fields[i]; !f.hasProducts() {
			names = append(names, f.Name)
		}
	}
	return names
}

func (g group) lists() [][]agronomy.Tally {
	out := make([][]agronomy.Tally, len(g))
	for i, f := range g {
		out[i] = f.Tallies
	}
	return out
}

func (g group) together() []agronomy.Tally { return agronomy.Together(g.lists()...) }

func (g group) areas() []plane.Area {
	out := make([]plane.Area, len(g))
	for i, f := range g {
		out[i] = f.Area
	}
	return out
}

// area is the ground of all fields of a group.
func (g group) area() (sum plane.Area) {
	for _, f := range g {
		sum += f.Area
	}
	return sum
}

// areaWith is the ground of the fields of a group that have a tally of a kind.
func (g group) areaWith(is func(*agronomy.Tally) bool) (sum plane.Area) {
	for _, f := range g {
		for i := range f.Tallies {
			if is(&f.Tallies[i]) {
				sum += f.Area
				break
			}
		}
	}
	return sum
}

// areaOf is the ground of the fields on which any of a measure was put down.
func (g group) areaOf(m *agronomy.Measure) plane.Area {
	return g.areaWith(func(t *agronomy.Tally) bool {
		v := m.Of(t, &t.Applied)
		return v != nil && *v > 0
	})
}
