package field

import (
	"fmt"
	"math"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/report/page"
	"lapwing/report/words"
)

// tankWords says how far the tank of a product went on one machine, and
// whether it ran dry at work.
func (d *Document) tankWords(u quantity.Units, a *agronomy.Account, l *agronomy.Ledger) string {
	s := fmt.Sprintf("Tank of %s, %s: %s a fill; %s expected", words.Short(a.Product.Name, 30),
		words.Short(a.Map.Machines[l.Machine].Name, 30), u.SquareMetres(l.FillArea), words.Count(l.Expected, "fill"))
	if l.Reported > 0 {
		s += fmt.Sprintf(", %d reported", l.Reported)
	}
	if last := l.Fills[len(l.Fills)-1]; len(l.Dry) == 0 && l.DryBy != agronomy.ByCount {
		s += fmt.Sprintf(", %s still in the last", u.Volume(last.Left))
	}
	s += "."
	for i, dry := range l.Dry {
		if i == 3 {
			return s + " And more."
		}
		why := "the crew reported too few fills for it"
		switch l.DryBy {
		case agronomy.ByTimes:
			why = "by the reported times"
		case agronomy.ByStops:
			why = "no stop of 3 minutes to fill at"
		}
		if l.DryBy == agronomy.ByRate {
			break // the sentence on the rate tells
		}
		s += fmt.Sprintf(" Likely dry %s: %s worked without (%s).", d.markWords(u, a.Map, dry.From), u.SquareMetres(dry.Area), why)
	}
	return s
}

// markWords says where a tank was filled or empty. The passes of a product
// with a working column of its own have other numbers than the machine's.
func (d *Document) markWords(u quantity.Units, m *coverage.Map, at agronomy.PassPlace) string {
	when := ""
	if assess.HasClock(m, &m.Passes[at.Pass-1]) {
		when = ", " + d.Local(at.Time).Format("2 Jan 15:04")
	}
	if m != d.Map {
		e := m.Field.Frame.ToEarth(at.At)
		return quantity.LonLat(e.Lon, e.Lat) + when
	}
	return fmt.Sprintf("%s along pass %d%s", u.Length(at.Along), at.Pass, when)
}

// tankTable lists the fills with the keys of their places on the map: f1, f2,
// ...
func (d *Document) tankTable() page.Table {
	t := page.Table{
		ID: "fills", Label: "Table of fills",
		Caption: "Each fill by the logged rate, else the set one: from when the crew said it was filled, else as if it was at the start and whenever empty. Choose a number to see where it began.",
		Columns: []page.Column{page.Words("Fill"), page.Names("Product", ""), page.Names("Machine", "name"), page.Classed("Began", "where"), page.Classed("Ended", "where"), page.Figures("Ground"), page.Figures("Left")},
	}
	n := 0
	for i := range d.Accounts {
		a := &d.Accounts[i]
		for _, l := range a.Tanks {
			for _, f := range l.Fills {
				n++
				t.Add(words.Same(fmt.Sprint(n)), words.Same(a.Product.Name), words.Same(a.Map.Machines[l.Machine].Name),
					d.both(func(u quantity.Units) string { return d.markWords(u, a.Map, f.From) }), d.both(func(u quantity.Units) string { return d.markWords(u, a.Map, f.To) }),
					d.both(func(u quantity.Units) string { return u.SquareMetres(f.Area) }), d.both(func(u quantity.Units) string { return u.Volume(f.Left) })).
					Goes(fmt.Sprintf("f%d", n), fmt.Sprintf("Start of fill %d on the map", n))
			}
		}
	}
	return t
}

// rateWords says what the logs tell of a product's rate, and where none of it came;
// "" where they do not tell the rate.
func (d *Document) rateWords(u quantity.Units, a *agronomy.Account) string {
	l := a.Logged
	if l == nil {
		return ""
	}
	name := words.Short(a.Product.Name, 30)
	s := fmt.Sprintf("Rate of %s by the logs: no ground was worked.", name)
	if mean := l.Mean(); !math.IsNaN(mean) {
		s = fmt.Sprintf("Rate of %s by the logs: %s of the set one on average.", name, words.Percent(mean))
	}
	if u.SomeArea(a.NotTold) {
		s += " Rate not logged, " + u.Area(a.NotTold) + ": how much was put down there is not known, and it counts as neither applied, wasted nor short."
	}
	for i, dry := range l.Dry {
		if i == 3 {
			return s + " And more."
		}
		s += fmt.Sprintf(" Nothing came from %s on: %s worked without.", d.markWords(u, l.Map, dry.From), u.SquareMetres(dry.Area))
	}
	return s
}
