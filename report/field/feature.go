package field

import (
	"fmt"
	"math"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/cause"
	"lapwing/coverage/figure"
	"lapwing/coverage/quantity"
	"lapwing/coverage/region"
	"lapwing/coverage/whatif"
	"lapwing/geo/geojson"
	"lapwing/geo/plane"
	"lapwing/report/page"
)

// A look is how others draw a kind of feature, in the words of simplestyle-spec
// 1.1: the colours of the pages, the strongest for what needs attention. An empty
// fill is none; a point has a marker.
type look struct {
	stroke, fill, marker string
	width                float64 // of the stroke, in pixels
	strength             float64 // of the fill, from 0 to 1
	line                 bool    // has no fill
}

// unworked is the kind of look of ground that is simply not worked yet, which is no
// mistake.
const unworked = "unworked"

// looks are by kind. A map of the work is read on paper too, so what is right is
// left bare.
var looks = map[string]look{
	"field":                   {stroke: page.Colour("ink"), width: 2},
	"headland":                {stroke: page.Colour("rule"), width: 1},
	region.Once.String():      {stroke: page.Colour("rule"), width: 0.5},
	region.Overlap.String():   {stroke: page.Colour("overlap"), width: 0.5, fill: page.Colour("overlap"), strength: 0.35},
	region.Skip.String():      {stroke: page.Colour("skip"), width: 2, fill: page.Colour("skip"), strength: 0.8},
	region.OverReach.String(): {stroke: page.Colour("overreach"), width: 0.5, fill: page.Colour("overreach"), strength: 0.5},
	region.Unlogged.String():  {stroke: page.Colour("soft"), width: 1},
	unworked:                  {stroke: page.Colour("soft"), width: 1},
	"pass":                    {stroke: page.Colour("hair"), width: 0.5, line: true},
	"open":                    {stroke: page.Colour("skip"), width: 4, line: true},
	"dry":                     {marker: page.Colour("skip")},
}

// write writes the look, and what is told of the feature where it is chosen.
func (l look) write(m *geojson.Members, title, description string) {
	if title != "" {
		m.Text("title", title)
	}
	if description != "" {
		m.Text("description", description)
	}
	if l.marker != "" {
		m.Text("marker-color", l.marker)
		return
	}
	m.Text("stroke", l.stroke)
	figureMember(m, "stroke-width", l.width)
	if l.fill != "" {
		m.Text("fill", l.fill)
	}
	if !l.line {
		figureMember(m, "fill-opacity", l.strength)
	}
}

// figureMember writes a number to the millionth.
func figureMember(m *geojson.Members, name string, v float64) {
	m.Append(name, func(b []byte) []byte {
		text, _ := figure.Number(math.Round(v*1e6) / 1e6).MarshalJSON() // has no error to give
		return append(b, text...)
	})
}

// lengthMember writes a length in metres.
func lengthMember(m *geojson.Members, name string, l plane.Distance) {
	figureMember(m, name, float64(figure.MetresOf(l)))
}

// fieldMembers writes what the field came to: the totals of summary.json.
func (d *Document) fieldMembers(m *geojson.Members) {
	t, h := d.Map.Totals, d.Map.Headland
	for _, total := range []struct {
		name string
		area plane.Area
	}{
		{"covered_m2", t.Covered}, {"skip_m2", t.Skip}, {"remainder_m2", t.Remainder}, {"overlap_m2", t.Overlap},
		{"excess_m2", t.Excess}, {"overreach_m2", t.OverReach}, {"unlogged_m2", t.Unlogged},
	} {
		m.Append(total.name, func(b []byte) []byte { return figure.AppendSquareMetres(b, total.area) })
	}
	figureMember(m, "headland_completion", h.Completion())
	lengthMember(m, "edge_length_m", h.Edge.Length)
	lengthMember(m, "edge_reached_m", h.Edge.Reached)
	lengthMember(m, "edge_open_m", h.Edge.Open)
	lengthMember(m, "edge_unlogged_m", h.Edge.Unlogged)
	wastes := make([]productWaste, len(d.Accounts))
	for i := range d.Accounts {
		wastes[i] = productWaste{&d.Accounts[i].Product, d.Accounts[i].Wasted}
	}
	wasteMembers(m, wastes)
}

// A productWaste is what of one product was wasted somewhere.
type productWaste struct {
	product *agronomy.Product
	amount  agronomy.Amount
}

// wasteMembers writes what was wasted, flat, so that a table of features shows it:
// each product's mass, or volume where its mass is not known, the nitrogen in
// them, and what they cost. What is not known of a product is left out, as it is
// null in summary.json; the cost is left out where products are priced in
// several currencies.
func wasteMembers(m *geojson.Members, wastes []productWaste) {
	var nitrogen, cost float64
	var hasN, hasCost, mixed bool
	currency := ""
	for _, w := range wastes {
		if mass := w.amount.Mass; mass != nil {
			figureMember(m, "wasted_kg "+w.product.Name, *mass)
			figureMember(m, "wasted_lb "+w.product.Name, quantity.InPounds(*mass))
		} else if volume := w.amount.Volume; volume != nil {
			figureMember(m, "wasted_l "+w.product.Name, *volume*figure.Litres)
		}
		if w.amount.N != nil {
			nitrogen, hasN = nitrogen+*w.amount.N, true
		}
		if w.amount.Cost != nil {
			mixed = mixed || hasCost && currency != w.product.Price.Currency
			cost, hasCost, currency = cost+*w.amount.Cost, true, w.product.Price.Currency
		}
	}
	if hasN {
		figureMember(m, "wasted_n_kg", nitrogen)
		figureMember(m, "wasted_n_lb", quantity.InPounds(nitrogen))
	}
	if hasCost && !mixed {
		figureMember(m, "wasted_cost", cost)
		m.Text("currency", currency)
	}
}

// wastes returns by region what each product lost there. A product that has a
// map of its own (its own bar, or its own times of working) loses it on ground
// that is not drawn here: it is in the field's totals only.
func (d *Document) wastes() map[int][]productWaste {
	out := map[int][]productWaste{}
	for i := range d.Accounts {
		a := &d.Accounts[i]
		if a.Map != d.Map {
			continue
		}
		for _, r := range a.Waste.ByRegion {
			out[r.Region] = append(out[r.Region], productWaste{&a.Product, a.Product.Over(r.Portion)})
		}
	}
	return out
}

// skipMembers writes a skip's place and size, how sure it is where the job asked
// what if or no log says when the bar worked, and what it costs where the loss is known.
func (d *Document) skipMembers(m *geojson.Members, i int, shares map[int]float64) {
	s := &d.Map.Skips[i]
	lengthMember(m, "length_m", s.Length)
	lengthMember(m, "width_m", s.Width)
	m.Text("place", d.Place(d.Units, s.Place, s.At))
	share, looked := shares[i]
	if !looked && s.Doubt > 0 {
		share, looked = 1-s.Doubt, true
	}
	if looked {
		m.Text("certainty", string(whatif.CertaintyOf(share)))
		figureMember(m, "certainty_share", share)
	}
	if l := d.Loss; l != nil && l.Net != nil && l.Area > 0 && s.Mistake() {
		figureMember(m, "loss", *l.Net*float64(s.Area)/float64(l.Area))
		m.Text("currency", l.Currency)
	}
}

// lookOf is how a region is drawn.
func lookOf(reg *region.Region, why string) look {
	if why == string(cause.Unworked) {
		return looks[unworked]
	}
	return looks[reg.Kind.String()]
}

// title names a region for the map of another program, where a person picks it.
func (d *Document) title(reg *region.Region, id int, why string) string {
	area := d.Units.Area(reg.Area)
	switch reg.Kind {
	case region.Skip:
		if why == string(cause.Unworked) {
			return "Not worked yet: " + area
		}
		return fmt.Sprintf("Skip %d: %s, %s", id, area, why)
	case region.Overlap:
		return fmt.Sprintf("Overlap %d: %s, %s", id, area, why)
	case region.OverReach:
		return "Outside the boundary: " + area
	case region.Unlogged:
		return "Log silent: " + area
	}
	return ""
}

// openings writes the stretches of the boundary that the work does not reach.
func (d *Document) openings(g *geojson.Writer) {
	e := &d.Map.Headland.Edge
	if d.Map.Field.Worked {
		return
	}
	for i := range e.Openings {
		o := &e.Openings[i]
		g.Feature(g.Line(plane.Thinned(e.Line(o), lineTolerance)), func(m *geojson.Members) {
			m.Text("kind", "open")
			m.Integer("id", i+1)
			lengthMember(m, "length_m", o.Length)
			lengthMember(m, "bare_m", o.Max)
			looks["open"].write(m, "Headland open: "+d.Units.Length(o.Length), d.Units.Length(o.Max)+" bare at most")
		})
	}
}

// dry writes where products ran out, by the log or else by what the tank holds.
func (d *Document) dry(g *geojson.Writer) {
	for i := range d.Accounts {
		a := &d.Accounts[i]
		write := func(machine, title string, stretch *agronomy.Stretch) {
			g.Feature(g.Point(stretch.From.At), func(m *geojson.Members) {
				m.Text("kind", "dry")
				m.Text("product", a.Product.Name)
				m.Text("machine", machine)
				m.Integer("pass", stretch.From.Pass)
				figureMember(m, "without_m2", stretch.Area)
				looks["dry"].write(m, title, d.Units.SquareMetres(stretch.Area)+" worked without")
			})
		}
		for _, l := range a.Tanks {
			for k := range l.Dry {
				if l.DryBy == agronomy.ByRate {
					break // of all machines below, with a tank or without
				}
				write(a.Map.Machines[l.Machine].Name, "Tank likely empty: "+a.Product.Name, &l.Dry[k])
			}
		}
		if a.Logged == nil {
			continue
		}
		for k := range a.Logged.Dry {
			stretch := &a.Logged.Dry[k]
			write(a.Logged.Map.Machines[stretch.Machine].Name, "Ran out: "+a.Product.Name, &stretch.Stretch)
		}
	}
}
