package field

import (
	"fmt"
	"time"

	"lapwing/coverage/quantity"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

// A timeRow is one line of the table of times.
type timeRow struct {
	Machine                         string
	Field                           string // h:min
	Work, Turn, Stand, Stop, Travel string // shares of it
	Capacity, Efficiency            string
}

func (d *Document) timeRows(u quantity.Units) []timeRow {
	var rows []timeRow
	for i := range d.Clocks {
		c := &d.Clocks[i]
		of := func(spent time.Duration) string { return words.Percent(spent.Seconds() / c.FieldTime().Seconds()) }
		rows = append(rows, timeRow{
			d.MachineName(c.Machine), words.Hours(c.FieldTime()), of(c.Working), of(c.Turning), of(c.Standing), of(c.Stopped), of(c.Travelling),
			u.CapacityFigure(c.Capacity()), words.Percent(c.Efficiency()),
		})
	}
	return rows
}

// timeCharts draw where the time of each machine went.
func (d *Document) timeCharts() []*chart.Chart {
	var out []*chart.Chart
	for i := range d.Clocks {
		c := &d.Clocks[i]
		var bars []chart.Bar
		x := chart.Axis{Name: "hours", Ticks: 4}
		for _, part := range []struct {
			name  string
			spent time.Duration
		}{
			{"working", c.Working}, {"turning", c.Turning}, {"standing", c.Standing},
			{"stopped, 3 min +", c.Stopped}, {"driving", c.Travelling}, {"log silent", c.Silent}, {"parked, 2 h +", c.Parked},
		} {
			text := words.Hours(part.spent) + ", " + words.Percent(part.spent.Seconds()/c.FieldTime().Seconds())
			if part.name == "log silent" || part.name == "parked, 2 h +" { // no part of the time in the field
				if part.spent == 0 {
					continue
				}
				text = words.Hours(part.spent)
			}
			x.Most = max(x.Most, part.spent.Hours())
			bars = append(bars, chart.Bar{Name: words.Same(part.name), Class: "off", Value: part.spent.Hours(), Text: words.Same(text)})
		}
		says := d.both(func(u quantity.Units) string {
			return fmt.Sprintf("%s of %s in the field was work; %s %s of new ground, %s of what speed and width allow.",
				words.Percent(c.Working.Seconds()/c.FieldTime().Seconds()), words.Hours(c.FieldTime()), u.CapacityFigure(c.Capacity()), u.CapacityUnit(), words.Percent(c.Efficiency()))
		})
		out = append(out, chart.NewBarsForPhone(words.Same("Time of "+words.Name(d.MachineName(c.Machine))), says, x, bars))
	}
	return out
}

// clockTable gives the capacities of the machines.
func (d *Document) clockTable() page.Table {
	t := page.Table{
		Label: "Table of time and capacity",
		Caption: "Field capacity is new ground by time in the field; field efficiency is that by speed at work x width. " +
			"Stops are stands of 3 minutes or more: filling, repairs, meals; of more than 2 hours, they are no time in the field.",
		Columns: []page.Column{page.Names("Machine", ""), page.Figures("In the field, h:min"), page.Figures("Speed at work"), page.Figures("New ground"),
			page.Figures("Capacity"), page.Figures("Speed x width"), page.Figures("Efficiency"), page.Figures("Stops")},
	}
	for i := range d.Clocks {
		c := &d.Clocks[i]
		rate := func(v float64) words.Text {
			return d.both(func(u quantity.Units) string { return u.CapacityFigure(v) + " " + u.CapacityUnit() })
		}
		t.Add(words.Same(d.MachineName(c.Machine)), words.Same(words.Hours(c.FieldTime())), d.both(func(u quantity.Units) string { return u.Speed(c.Speed()) }),
			d.bothAreas(c.New), rate(c.Capacity()), rate(c.Theoretical()), words.Same(words.Percent(c.Efficiency())), words.Same(fmt.Sprint(len(c.Stops))))
	}
	return t
}
