package agronomy

import (
	"math"

	"lapwing/coverage"
)

// Logged is what the logs of the machines that carry a product say of its
// rate.
type Logged struct {
	// Area is the m² of passes whose logs tell the rate, and Put what was
	// put down on it, in m² at the product's own rate: Put / Area is the
	// mean rate as a share of that.
	Area, Put float64
	// Dry are the stretches worked with nothing coming, in order; their marks
	// are of passes of Map, on which the machines worked whatever came.
	Dry []Dry
	Map *coverage.Map

	tells map[int]bool // the machines whose logs tell the rate, by index
}

// Dry is a stretch that a machine worked after a product had run out, or with
// it shut off: its log says that nothing was put down for ten seconds or more
// ([coverage.Pass.DryRuns]).
type Dry struct {
	Machine int // index into Map.Machines
	Stretch
}

// spread returns where p was put; nil where no log tells.
func (p *Product) spread(m *coverage.Map) *coverage.Spread {
	if p.Logged == 0 {
		return nil
	}
	return m.Spread(p.Logged - 1)
}

// loggedOf gathers what the logs tell of p. Its ground is that of on, a map of
// its own perhaps, whose Swept it takes beyond; where it ran out is seen on all
// ground that was worked.
func loggedOf(all, on *coverage.Map, p *Product, g *Ground) *Logged {
	spread := p.spread(on)
	if spread == nil {
		return nil
	}
	l := Logged{Map: all, tells: map[int]bool{}}
	carries := carriers(on.Machines, p)
	for i := range on.Passes {
		pass := &on.Passes[i]
		if !carries[pass.Machine] || !pass.TellsRate(p.Logged-1) {
			continue
		}
		swept, put := pass.Swept.SquareMetres(), spread.Pass(i)
		l.tells[pass.Machine] = true
		l.Area += swept
		l.Put += put
		g.SweptBeyond += put - swept
	}
	for i := range all.Passes {
		if pass := &all.Passes[i]; carries[pass.Machine] {
			l.Dry = append(l.Dry, dryOf(all, pass, p.Logged-1)...)
		}
	}
	return &l
}

// dryOf returns the stretches of a pass with nothing coming.
func dryOf(m *coverage.Map, pass *coverage.Pass, product int) (out []Dry) {
	runs := pass.DryRuns(product)
	if len(runs) == 0 {
		return nil
	}
	steps := pass.StepGround(m.Machines)
	drawn := 0.0
	for _, step := range steps {
		drawn += step
	}
	right := 1.0
	if drawn > 0 {
		right = pass.Swept.SquareMetres() / drawn
	}
	for _, run := range runs {
		d := Dry{pass.Machine, Stretch{From: markAt(pass, run[0]+1, 0), To: markAt(pass, run[1], 1)}}
		for _, step := range steps[run[0]:run[1]] {
			d.Area += step * right
		}
		out = append(out, d)
	}
	return out
}

// tell puts what the logs say of tanks that ran dry in place of what is
// reckoned, for the machines whose logs tell the rate.
func (l *Logged) tell(tanks []Ledger) {
	if l == nil {
		return
	}
	for i := range tanks {
		t := &tanks[i]
		if !l.tells[t.Machine] {
			continue
		}
		t.Dry, t.DryBy = nil, ByRate
		for _, d := range l.Dry {
			if d.Machine == t.Machine {
				t.Dry = append(t.Dry, d.Stretch)
			}
		}
	}
}

// Mean is the mean rate as a share of the product's own; NaN where nothing
// was swept.
func (l *Logged) Mean() float64 {
	if l.Area == 0 {
		return math.NaN()
	}
	return l.Put / l.Area
}
