package field

import (
	"lapwing/coverage/quantity"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

// A reckoning is what a page says of product, money and time, ready to be placed
// by the template "reckoning". What was not asked for, or is not known, is nil or
// empty.
type reckoning struct {
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

func (d *Document) reckoning() reckoning {
	c := reckoning{
		Change: d.both(d.bestChange), Loss: d.both(d.skipLoss),
		Causes: page.CauseTable(d.Units, d.Tallies(), d.Changes), ByMachine: d.wasteByMachine(), Tanks: d.tankTable(),
		Turns: d.turnChart(), Times: d.timeCharts(), Clocks: d.clockTable(),
	}
	if len(d.Changes) > 0 {
		c.Why = chart.Causes(d.Units, d.Changes, func(i int) string { return words.Name(d.Accounts[i].Product.Name) })
	}
	for i := range d.Accounts {
		a := &d.Accounts[i]
		if a.Logged != nil {
			c.TankNotes = append(c.TankNotes, d.both(func(u quantity.Units) string { return d.rateWords(u, a) }))
		}
		for k := range a.Tanks {
			c.TankNotes = append(c.TankNotes, d.both(func(u quantity.Units) string { return d.tankWords(u, a, &a.Tanks[k]) }))
		}
	}
	if d.Map.Totals.Remainder > 0 {
		if c.Finish = d.finishChart(); c.Finish == nil {
			c.FinishMissing = "When the rest will be done cannot be told: no log has times."
		}
	}
	return c
}
