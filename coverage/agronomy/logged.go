package agronomy

import (
	"math"

	"lapwing/coverage"
)

// LoggedRate is what the logs of the machines that carry a product say of its
// rate.
type LoggedRate struct {
	// Area is the m² that passes swept whose logs tell the rate, and Put what
	// was put down there, in m² at the product's own rate (see [Portion]). So
	// Put / Area is the mean rate as a share of that.
	Area, Put float64
	// Dry are the stretches worked while nothing was put down, in order. Their
	// marks are of passes of Map, on which a machine counts as working whatever
	// it put down.
	Dry   []Dry
	Map   *coverage.Map
	Tells []bool // of each machine, whether its logs tell the rate
}

// Dry is a stretch that a machine worked after a product had run out, or with
// it shut off: its log says that nothing was put down for ten seconds or more
// ([work.Pass.DrySpans]).
type Dry struct {
	Machine int // index into Map.Machines
	Stretch
}

// loggedOf gathers what the logs tell of p, and what they say was put down
// beyond area × rate on all that was swept (see [Portion]). The map on is p's own
// where it has one, else all, the field's; spread is p's on that ground. Where p ran
// out is looked for in the passes of all, since a pass of p's own map ends where p
// does. Without a spread the results are nil and 0.
func loggedOf(all, on *coverage.Map, p *Product, carries []bool, spread *Spread) (_ *LoggedRate, beyond float64) {
	if spread == nil {
		return nil, 0
	}
	l := LoggedRate{Map: all, Tells: make([]bool, len(on.Machines))}
	for i := range on.Passes {
		pass := &on.Passes[i]
		if !carries[pass.Machine] || !pass.TellsRate(p.RateColumn-1) {
			continue
		}
		swept, put := pass.Swept.SquareMetres(), spread.Pass(i)
		l.Tells[pass.Machine] = true
		l.Area += swept
		l.Put += put
		beyond += put - swept
	}
	for i := range all.Passes {
		if pass := &all.Passes[i]; carries[pass.Machine] {
			l.Dry = append(l.Dry, dryOf(all, pass, p.RateColumn-1)...)
		}
	}
	return &l, beyond
}

// dryOf returns the stretches of a pass on which nothing was put down.
func dryOf(m *coverage.Map, pass *coverage.Pass, product int) (out []Dry) {
	runs := pass.DrySpans(product)
	if len(runs) == 0 {
		return nil
	}
	steps := stepAreas(m, pass)
	for _, run := range runs {
		d := Dry{pass.Machine, Stretch{From: markAt(pass, run[0]+1, 0), To: markAt(pass, run[1], 1)}}
		for _, step := range steps[run[0]:run[1]] {
			d.Area += step
		}
		out = append(out, d)
	}
	return out
}

// of returns the dry stretches of one machine. The second result is false where
// its logs do not tell the rate.
func (l *LoggedRate) of(machine int) (dry []Stretch, tells bool) {
	if l == nil || !l.Tells[machine] {
		return nil, false
	}
	for _, d := range l.Dry {
		if d.Machine == machine {
			dry = append(dry, d.Stretch)
		}
	}
	return dry, true
}

// Mean is the mean rate as a share of the product's own; NaN where nothing
// was swept.
func (l *LoggedRate) Mean() float64 {
	if l.Area == 0 {
		return math.NaN()
	}
	return l.Put / l.Area
}
