package spec

import (
	"fmt"
	"slices"
	"strconv"

	"go.yaml.in/yaml/v4"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/quantity"
	"lapwing/coverage/worklog"
	"lapwing/geo"
	"lapwing/geo/plane"
)

var productKeys = []string{"name", "analysis", "density", "rate", "price", "machines", "tank", "fill", "temperature",
	"thousand_kernels", "survival", "working", "fills", "logged_rate"}

// ammoniaFill is how full a tank of anhydrous ammonia may be filled, where the
// job does not say: 85 % of its volume (Administrative Rules of Montana
// 4.12.712; National Ag Safety Database d000898). The full volume would promise
// 17.6 % more ground from a tank.
const ammoniaFill = 0.85

// product reads one product.
func (r *reader) product(e entry) Product {
	e.mapping(productKeys...)
	p := agronomy.Product{
		Name:        e.need("name", "a name").name("a name"),
		Density:     e.get("density").positive(quantity.Just(quantity.Density)),
		Tank:        e.get("tank").positive(quantity.Just(quantity.Volume)),
		Temperature: e.get("temperature").positive(quantity.Just(quantity.Temperature)),
		Fill:        1,
	}
	if a := e.get("analysis"); a.given() {
		analysis, err := agronomy.ParseAnalysis(a.text("an analysis such as 82-0-0"))
		if err != nil {
			a.refuse(err)
		}
		p.Analysis = &analysis
	}
	if p.IsAmmonia() {
		p.Fill = ammoniaFill
		if p.Temperature != nil && p.Density == nil && e.page.err == nil {
			if _, err := agronomy.AmmoniaDensity(*p.Temperature); err != nil {
				e.get("temperature").refuse(err)
			}
		}
	}
	if fill := e.get("fill"); fill.given() {
		p.Fill = fill.share()
	}
	for _, m := range e.get("machines").list("names of machines") {
		p.Machines = append(p.Machines, machineNamed(m, r.spec.Machines))
	}
	rate := e.need("rate", quantity.Rate.String())
	value := rate.quantity(quantity.Rate)
	if e.page.err == nil {
		if err := p.SetRate(value, seedOf(e)); err != nil {
			rate.refuse(err)
		}
	}
	if price := e.get("price"); price.given() {
		p.Price = priceOf(price.quantity(quantity.Price), 0)
	}
	r.fills(e.get("fills"), &p)
	if p.IsAmmonia() && p.Fill > ammoniaFill {
		r.warn(e.get("fill").place(), "%s: filled to %g %%, above the usual limit of 85 %% for anhydrous ammonia; follow local code", p.Name, 100*p.Fill)
	}
	out := Product{Product: p, Kernel: seedOf(e).Kernel, Column: columnOf(e.get("working")), LoggedRate: e.get("logged_rate").asText("the name of a column of the logs, or none")}
	out.Working = out.Column.Text
	return out
}

// columnOf reads the name of a column that says where a product was on.
func columnOf(e entry) Text {
	const want = "the name of a column of the logs"
	if !e.given() {
		return Text{}
	}
	if name, _ := worklog.PlainName(e.name(want)); name == "" {
		e.fail("found "+strconv.Quote(e.text(want)), want)
	}
	return e.asText(want)
}

// fills reads what the crew said of the fills of a product: how many, or when.
func (r *reader) fills(e entry, p *agronomy.Product) {
	const want = `a number of fills, or a list of times such as "2026-05-04T09:40"`
	if !e.given() {
		return
	}
	carriers := 0
	for _, m := range r.spec.Machines {
		if p.CarriedBy(m.Name) {
			carriers++
		}
	}
	switch {
	case carriers != 1:
		e.fail(fmt.Sprintf("found fills of a product that %d machines carry", carriers), "one machine in machines")
	case p.Tank == nil:
		e.fail("found fills without a tank", `tank such as "1450 gal"`)
	case e.node.Kind != yaml.SequenceNode:
		p.Fills = e.whole(1, 1000)
		return
	}
	for _, at := range e.items(want) {
		t, ok := worklog.ReadTime(at.text(want), r.spec.Zone)
		if !ok {
			at.fail("found "+strconv.Quote(at.text(want)), `a time such as "2026-05-04T09:40"`)
		}
		i := geo.InstantOf(t)
		if n := len(p.FilledAt); n > 0 && p.FilledAt[n-1] >= i {
			at.fail("found "+strconv.Quote(at.text(want))+", not after the one before", "times in order")
		}
		p.FilledAt = append(p.FilledAt, i)
	}
}

// seedOf reads the size of the seeds and how many come up.
func seedOf(e entry) (s agronomy.Seed) {
	if size := e.get("thousand_kernels"); size.given() {
		v := size.quantity(quantity.SeedSize)
		switch {
		case v.SI <= 0:
			size.fail("found "+strconv.Quote(size.text("")), "more than zero")
		case v.Kind == quantity.SeedCount:
			s.Kernel = 1 / v.SI
		default:
			s.Kernel = v.SI / 1000
		}
	}
	if survival := e.get("survival"); survival.given() {
		s.Survival = survival.share()
	}
	return s
}

// machineNamed returns the text of e, which must be the name of a machine.
func machineNamed(e entry, machines []Machine) string {
	name := e.text("the name of a machine")
	var known []string
	for _, m := range machines {
		known = append(known, m.Name)
	}
	if !slices.Contains(known, name) {
		e.fail("found "+strconv.Quote(name)+", no machine of that name", nearestKey(name, known))
	}
	return name
}

// positive returns a quantity above zero, or nil where there is none.
func (e entry) positive(wish quantity.Wish) *float64 {
	if !e.given() {
		return nil
	}
	v := e.quantity(wish)
	if v.SI <= 0 {
		e.fail("found "+strconv.Quote(e.text("")), "more than zero")
	}
	return &v.SI
}

// share returns a percentage above zero and up to 100 as a fraction.
func (e entry) share() float64 {
	v := e.quantity(quantity.Just(quantity.Percent))
	if v.SI <= 0 || v.SI > 1 {
		e.fail("found "+strconv.Quote(e.text("")), "above 0 % and at most 100 %")
	}
	return v.SI
}

// priceOf returns a price as the job gives it: a [quantity.Price] or a
// [quantity.CropPrice]. Bushel is the mass of one in kg, and means nothing
// where the price is not by the bushel.
func priceOf(v quantity.Value, bushel float64) *agronomy.Price {
	switch v.Kind {
	case quantity.PricePerVolume:
		return &agronomy.Price{PerCubicMetre: v.SI, Currency: v.Currency}
	case quantity.PricePerBushel:
		return &agronomy.Price{PerKilogram: v.SI / bushel, Currency: v.Currency}
	}
	return &agronomy.Price{PerKilogram: v.SI, Currency: v.Currency}
}

// cropOf reads the crop, of which the name alone may be known. A bushel is a
// measure: its mass turns bushels by area and prices by the bushel into kilograms.
func cropOf(e entry) *agronomy.Crop {
	if !e.given() {
		return nil
	}
	worth := []string{"yield", "bushel", "price", "compensation"}
	e.mapping(append([]string{"name"}, worth...)...)
	c := &agronomy.Crop{Name: e.get("name").text("a name")}
	if c.Name != "" && !slices.ContainsFunc(worth, func(key string) bool { return e.get(key).given() }) {
		return c
	}
	bushel := e.get("bushel").positive(quantity.Just(quantity.Mass))
	kilograms := func(e entry, v quantity.Value, inBushels quantity.Kind) float64 {
		if v.Kind != inBushels {
			return 1
		}
		if bushel == nil {
			e.fail("found bushels without their mass", `bushel such as "60 lb"`)
			return 1
		}
		return *bushel
	}
	e.need("yield", quantity.Yield.String())
	yield := e.get("yield")
	y := yield.quantity(quantity.Yield)
	c.Yield = y.SI * kilograms(yield, y, quantity.BushelRate)
	if price := e.get("price"); price.given() {
		v := price.quantity(quantity.CropPrice)
		c.Price = priceOf(v, kilograms(price, v, quantity.PricePerBushel))
	}
	if comp := e.get("compensation"); comp.given() {
		c.Compensation = comp.share()
	}
	return c
}

// shiftOf reads how far all tracks are to be moved.
func shiftOf(e entry) plane.Point {
	if !e.given() {
		return plane.Point{}
	}
	e.mapping("east", "north")
	return plane.Point{X: e.get("east").length(-plane.Reach), Y: e.get("north").length(-plane.Reach)}
}
