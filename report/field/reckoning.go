package field

import (
	"lapwing/coverage/quantity"
	"lapwing/report/chart"
	"lapwing/report/page"
	"lapwing/report/words"
)

// A reckoning is what a page says of product, money and time, ready to be placed
// by the template "reckoning". What nobody asked for or can tell is nil or empty.
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

func (r *Document) reckoning() reckoning {
	c := reckoning{
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
