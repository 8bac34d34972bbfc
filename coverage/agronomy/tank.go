package agronomy

import (
	"math"

	"lapwing/coverage"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Ledger is the tank of one product on one machine: how far each fill went,
// by the rate and the ground swept. It takes the tank to be filled at the
// start and again each time it is empty; what went in is not logged, nor the
// rate, so whether the tank ran dry at work is not known.
type Ledger struct {
	Machine int     // index into Map.Machines
	Filled  float64 // m³ in a tank filled to its limit: tank × fill
	Ground  float64 // m² that a filled tank covers: Filled / rate
	Fills   []Fill  // in order; the last one is not used up, as a rule
}

// A Fill is one tankful on its way over the field.
type Fill struct {
	From, To Mark
	Ground   float64 // m² covered with it
	Left     float64 // m³ still in the tank at To
}

// A Mark is a place on the way of the bar.
type Mark struct {
	Pass  int         // its ID
	Along float64     // ticks along it
	At    plane.Point // of the bar's centre
	Time  geo.Instant // means nothing where the log has no clock
}

// Tanks keeps the ledgers of p over the ground of m, one for each machine
// that carries it and swept ground; none where the tank or the rate by volume
// is not known.
func Tanks(m *coverage.Map, p *Product) []Ledger {
	ground := p.TankGround()
	if ground == nil || *ground <= 0 {
		return nil
	}
	carries := carriers(m.Machines, p)
	var out []Ledger
	for machine := range m.Machines {
		if !carries[machine] {
			continue
		}
		l := Ledger{Machine: machine, Filled: *p.Tank * p.Fill, Ground: *ground}
		for i := range m.Passes {
			if m.Passes[i].Machine == machine {
				l.drive(m, &m.Passes[i])
			}
		}
		for i := range l.Fills {
			f := &l.Fills[i]
			f.Left = max(0, l.Filled*(1-f.Ground/l.Ground))
		}
		if len(l.Fills) > 0 {
			out = append(out, l)
		}
	}
	return out
}

// drive draws the ground of one pass from the tank. Along the pass it is
// shared out as the open part of the bar and its travel have it, so that the
// whole is what the pass swept.
func (l *Ledger) drive(m *coverage.Map, p *coverage.Pass) {
	widths := openWidths(&m.Machines[p.Machine], p.States(m.Machines))
	step := func(i int) float64 { // m², before the whole is put right
		a, b := &p.Poses[i-1], &p.Poses[i]
		if a.Silent {
			return 0
		}
		return (b.Along - a.Along) / float64(plane.Metre) * widths[min(int(a.State), len(widths)-1)]
	}
	drawn := 0.0
	for i := 1; i < len(p.Poses); i++ {
		drawn += step(i)
	}
	if drawn == 0 {
		return
	}
	right := p.Swept.SquareMetres() / drawn
	for i := 1; i < len(p.Poses); i++ {
		left := step(i) * right
		whole := left
		for left > 0 {
			n := len(l.Fills)
			if n == 0 || l.Fills[n-1].Ground >= l.Ground {
				at := markAt(p, i, 1-left/whole)
				l.Fills = append(l.Fills, Fill{From: at, To: at})
				n++
			}
			f := &l.Fills[n-1]
			part := min(left, l.Ground-f.Ground)
			if part == left {
				f.Ground += part
				left = 0
			} else {
				f.Ground = l.Ground
				left -= part
			}
			f.To = markAt(p, i, 1-left/whole)
		}
	}
}

// markAt returns the place at a share of the way from pose i-1 to pose i.
func markAt(p *coverage.Pass, i int, share float64) Mark {
	a, b := &p.Poses[i-1], &p.Poses[i]
	return Mark{
		Pass:  p.ID,
		Along: a.Along + share*(b.Along-a.Along),
		At: plane.Point{
			X: a.Bar.X + plane.Round(share*float64(b.Bar.X-a.Bar.X)),
			Y: a.Bar.Y + plane.Round(share*float64(b.Bar.Y-a.Bar.Y)),
		},
		Time: a.Time + geo.Instant(math.Round(share*float64(b.Time-a.Time))),
	}
}

// openWidths returns the m of the bar that work in each state of a pass.
func openWidths(m *coverage.Machine, states []coverage.State) []float64 {
	out := []float64{m.Implement.Width.Metres()}
	for i, s := range states {
		if i == 0 {
			continue // the whole bar
		}
		w := 0.0
		for _, part := range s {
			w += (part.Right - part.Left).Metres()
		}
		if s == nil {
			w = out[0]
		}
		out = append(out, w)
	}
	return out
}
