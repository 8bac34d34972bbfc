package report

import (
	"fmt"
	"time"

	"lapwing/coverage"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

// A costs is what a page says of product, money and time, ready to be placed
// by the template "costs". What nobody asked for or can tell is nil or empty.
type costs struct {
	Change, Loss  words.Text
	Why           *chart.Chart // waste by cause
	Causes        page.Table
	ByMachine     page.Table
	Tanks         page.Table
	TankNotes     []words.Text
	Turns         *chart.Chart // the rate in turns
	Times         []*chart.Chart
	Clocks        page.Table
	Finish        *chart.Chart
	FinishMissing string // why there is no forecast of the ground left
}

func (r *Report) costs() costs {
	c := costs{
		Change: r.both(r.bestChange), Loss: r.both(r.skipLoss),
		Causes: page.CauseTable(r.Units, r.Tallies(), r.Changes), ByMachine: r.wasteByMachine(), Tanks: r.tankTable(),
		Turns: r.turnChart(), Times: r.timeCharts(), Clocks: r.clockTable(),
	}
	if len(r.Changes) > 0 {
		c.Why = chart.Causes(r.Units, r.Changes, func(i int) string { return r.Accounts[i].Product.Name })
	}
	for i := range r.Accounts {
		a := &r.Accounts[i]
		if a.Logged != nil {
			c.TankNotes = append(c.TankNotes, r.both(func(u quantity.Units) string { return r.rateWords(u, a) }))
		}
		for k := range a.Tanks {
			c.TankNotes = append(c.TankNotes, r.both(func(u quantity.Units) string { return r.tankWords(u, a, &a.Tanks[k]) }))
		}
	}
	if r.Map.Ground.Remainder > 0 {
		if c.Finish = r.finishChart(); c.Finish == nil {
			c.FinishMissing = "When the rest will be done cannot be told: no log has times."
		}
	}
	return c
}

// wasteByMachine tells which machine came second, or went outside.
func (r *Report) wasteByMachine() page.Table {
	t := page.Table{
		Label: "Table of waste by machine", Empty: "Nothing was wasted.",
		Caption: "Waste by machine: of the one that came later, or went outside.",
		Columns: []page.Column{page.Words("Machine"), page.Words("Product"), page.Figures("Wasted"), page.Figures("Cost")},
	}
	for i := range r.Accounts {
		a := &r.Accounts[i]
		for _, m := range a.Waste.ByMachine {
			t.Add(words.Same(a.Map.Machines[m.Machine].Name), words.Same(a.Product.Name), words.AmountText(r.Units, &m.Amount),
				words.Same(words.Cost(&a.Product, m.Cost)))
		}
	}
	return t
}

// tankTable lists the fills with the keys of their places on the plat: f1, f2,
// ...
func (r *Report) tankTable() page.Table {
	t := page.Table{
		ID: "fills", Label: "Table of fills",
		Caption: "Each fill by the logged rate, else the set one: from when the crew said it was filled, else as if it was at the start and whenever empty. Choose a number to see where it began.",
		Columns: []page.Column{page.Words("Fill"), page.Words("Product"), page.Classed("Machine", "name"), page.Classed("Began", "where"), page.Classed("Ended", "where"), page.Figures("Ground"), page.Figures("Left")},
	}
	n := 0
	for i := range r.Accounts {
		a := &r.Accounts[i]
		for _, l := range a.Tanks {
			for _, f := range l.Fills {
				n++
				t.Add(words.Same(fmt.Sprint(n)), words.Same(a.Product.Name), words.Same(a.Map.Machines[l.Machine].Name),
					r.both(func(u quantity.Units) string { return r.markWords(u, a.Map, f.From) }), r.both(func(u quantity.Units) string { return r.markWords(u, a.Map, f.To) }),
					r.both(func(u quantity.Units) string { return u.SquareMetres(f.Area) }), r.both(func(u quantity.Units) string { return u.Volume(f.Left) })).
					Goes(fmt.Sprintf("f%d", n), fmt.Sprintf("Start of fill %d on the plat", n))
			}
		}
	}
	return t
}

// turnChart draws the ground off its rate by class; nil where none is.
func (r *Report) turnChart() *chart.Chart {
	d := &r.TurnRates
	total := d.Total()
	if d.OffTarget() == 0 {
		return nil
	}
	names := []string{"under half", "50 to 70 %", "70 to 90 %", "", "110 to 150 %", "150 to 200 %", "over double"}
	var bars []chart.Bar
	x := chart.Axis{Name: "share of the ground swept, %", Ticks: 4}
	add := func(name, class string, ground float64) {
		v := 100 * ground / total
		x.Most = max(x.Most, v)
		bars = append(bars, chart.Bar{Name: words.Same(name), Class: class, Value: v, Text: words.Same(words.Share(ground, total))})
	}
	for i, g := range d.Ground {
		switch {
		case i < coverage.OnTarget:
			add(names[i]+" of the rate", "lean", g)
		case i > coverage.OnTarget:
			add(names[i]+" of the rate", "rich", g)
		}
	}
	add("ran backward", "off", d.Reversing)
	says := r.doseSentence() + " " + words.Share(d.Ground[coverage.OnTarget], total) + " is within 10 % of it, which is not drawn."
	if d.Most > 0 {
		says += fmt.Sprintf(" The ends of the bar ranged from %s to %s of the set rate.", words.Percent(d.Least), atMost(d.Most))
	}
	return chart.NewBarsForPhone(words.Same("Rate in turns"), words.Same(words.Typeset(says)), x, bars)
}

// atMost writes the highest rate at a bar's end; where the end nearly stood
// the figure means nothing.
func atMost(v float64) string {
	if v > 10 {
		return "over ten times"
	}
	return words.Percent(v)
}

// timeCharts draw where the time of each machine went.
func (r *Report) timeCharts() []*chart.Chart {
	var out []*chart.Chart
	for i := range r.Clocks {
		c := &r.Clocks[i]
		var bars []chart.Bar
		x := chart.Axis{Name: "hours", Ticks: 4}
		for _, part := range []struct {
			name string
			d    time.Duration
		}{
			{"working", c.Working}, {"turning", c.Turning}, {"standing", c.Standing},
			{"stopped, 3 min +", c.Stopped}, {"driving", c.Travelling}, {"log silent", c.Silent},
		} {
			text := words.Hours(part.d) + ", " + words.Percent(part.d.Seconds()/c.FieldTime().Seconds())
			if part.name == "log silent" {
				if part.d == 0 {
					continue
				}
				text = words.Hours(part.d)
			}
			x.Most = max(x.Most, part.d.Hours())
			bars = append(bars, chart.Bar{Name: words.Same(part.name), Class: "off", Value: part.d.Hours(), Text: words.Same(text)})
		}
		says := r.both(func(u quantity.Units) string {
			return fmt.Sprintf("%s of %s in the field was work; %s %s of new ground, %s of what speed and width allow.",
				words.Percent(c.Working.Seconds()/c.FieldTime().Seconds()), words.Hours(c.FieldTime()), u.CapacityFigure(c.Capacity()), u.CapacityUnit(), words.Percent(c.Efficiency()))
		})
		out = append(out, chart.NewBarsForPhone(words.Same("Time of "+r.MachineName(c.Machine)), says, x, bars))
	}
	return out
}

// clockTable gives the capacities of the machines.
func (r *Report) clockTable() page.Table {
	t := page.Table{
		Label: "Table of time and capacity",
		Caption: "Field capacity is new ground by time in the field; field efficiency is that by speed at work x width. " +
			"Stops are stands of 3 minutes or more: filling, repairs, meals.",
		Columns: []page.Column{page.Words("Machine"), page.Figures("In the field, h:min"), page.Figures("Speed at work"), page.Figures("New ground"),
			page.Figures("Capacity"), page.Figures("Speed x width"), page.Figures("Efficiency"), page.Figures("Stops")},
	}
	for i := range r.Clocks {
		c := &r.Clocks[i]
		rate := func(v float64) words.Text {
			return r.both(func(u quantity.Units) string { return u.CapacityFigure(v) + " " + u.CapacityUnit() })
		}
		t.Add(words.Same(r.MachineName(c.Machine)), words.Same(words.Hours(c.FieldTime())), r.both(func(u quantity.Units) string { return u.Speed(c.Speed) }),
			r.bothAreas(c.New), rate(c.Capacity()), rate(c.Theoretical()), words.Same(words.Percent(c.Efficiency())), words.Same(fmt.Sprint(len(c.Stops))))
	}
	return t
}

// finishChart draws the ground left against the time to come, with the
// interval of the finish and the rain; nil without a forecast.
func (r *Report) finishChart() *chart.Chart {
	f := r.Forecast
	if f == nil {
		return nil
	}
	after := func(t geo.Instant) float64 { return t.Sub(f.Now).Hours() }
	x := chart.Axis{Name: "hours after " + words.TimeOfDay(r.Local(f.Now), r.Local(f.Now)), Most: 1.08 * max(after(f.Finish), after(f.Late)), Ticks: 5}
	rain := -1.0
	if r.RainAt != nil {
		if rain = after(geo.InstantOf(*r.RainAt)); rain > 0 && rain < 4*x.Most {
			x.Most = max(x.Most, 1.08*rain)
		}
	}
	y := chart.AreaAxis("ground left")
	y.Most = float64(f.Left)
	c := chart.NewForPhone(words.Same("When it will be done"), r.both(r.finish), x, y)
	if f.Late != 0 {
		c.Band("silent", after(f.Early), after(f.Late))
	}
	c.Line("line", []chart.Point{{X: 0, Y: float64(f.Left)}, {X: after(f.Finish), Y: 0}})
	if rain > 0 && rain <= x.Most {
		c.Upright(rain, words.Same("rain"), "end", 10)
	}
	return c
}
