package agronomy

import (
	"math"
	"slices"
	"time"

	"lapwing/coverage"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Ledger is the tank of one product on one machine: how far each fill went,
// by the rate that the log tells, else the set one, and the ground swept.
type Ledger struct {
	Machine  int     // index into Map.Machines
	Filled   float64 // m³ in a tank filled to its limit: tank × fill
	FillArea float64 // m² that a filled tank covers: Filled / rate
	Expected int     // fills that the ground swept takes
	Reported int     // fills the crew counted; 0 where nobody said
	// Fills are in order. Where the crew said when the tank was filled they
	// begin then; otherwise the tank is taken to be filled at the start and
	// each time it is empty.
	Fills []Fill
	// Dry is ground that was worked after the tank must have been empty: the
	// product is likely to be missing there. DryBy says how that is known.
	Dry   []Stretch
	DryBy Evidence
}

// A Evidence is where it is known from that a tank ran dry.
type Evidence string

// The knowledges, from the best down.
const (
	ByRate  Evidence = "rate"  // the log says that nothing was put down
	ByTimes Evidence = "times" // the crew said when the tank was filled
	ByCount Evidence = "count" // the crew said how often
	// ByStops: nobody said, but a fill takes a stop of three minutes or more,
	// or a silence of the log, and so much ground was worked without one.
	ByStops Evidence = "stops"
)

// A Fill is one tankful on its way over the field.
type Fill struct {
	From, To Mark
	Area     float64 // m² covered with it, and after it was empty
	Left     float64 // m³ still in the tank at To
	used     float64 // Ground, as if at the set rate
	empty    *Mark   // where it was empty though work went on
	wet      float64 // Ground up to there
}

// A Stretch is ground worked from one place to another, m².
type Stretch struct {
	From, To Mark
	Area     float64
}

// A Mark is a place on the way of the bar.
type Mark struct {
	Pass  int         // its ID
	Along float64     // ticks along it
	At    plane.Point // of the bar's centre
	Time  geo.Instant // means nothing where the log has no clock
}

// tankSlack is how much farther than reckoned a fill may go before the tank is
// said to have run dry, as a share: tanks are read, and rates held, to a few
// per cent (common practice, no source).
const tankSlack = 0.05

// silentFill is the silence of a log that a fill may hide in; shorter, and
// nobody has coupled a hose.
const silentFill = 3 * time.Minute

// Tanks keeps the ledgers of p over the ground of m, one for each machine
// that carries it and swept ground; none where the tank or the rate by volume
// is not known.
func Tanks(m *coverage.Map, p *Product) []Ledger {
	ground := p.FillArea()
	if ground == nil || *ground <= 0 {
		return nil
	}
	carries := carriers(m.Machines, p)
	var out []Ledger
	for machine := range m.Machines {
		if !carries[machine] {
			continue
		}
		l := Ledger{Machine: machine, Filled: *p.Tank * p.Fill, FillArea: *ground}
		l.Fills = l.drawn(m, p, fillWhenEmpty{})
		if l.Expected = len(l.Fills); l.Expected == 0 {
			continue
		}
		l.report(m, p)
		for i := range l.Fills {
			f := &l.Fills[i]
			f.Left = max(0, l.Filled*(1-f.used/l.FillArea))
		}
		out = append(out, l)
	}
	return out
}

// report takes into account what the crew said of its fills, and finds the
// ground worked dry.
func (l *Ledger) report(m *coverage.Map, p *Product) {
	counted := max(p.Fills, len(p.FilledAt))
	at, clocked := chances(m, l.Machine)
	switch {
	case len(p.FilledAt) > 0 && clocked:
		l.DryBy = ByTimes
		l.Fills = l.drawn(m, p, fillAt(p.FilledAt))
		l.Reported = len(l.Fills)
		l.Dry = l.dry(l.Fills)
	case counted > 0:
		l.DryBy, l.Reported = ByCount, counted
		if counted < len(l.Fills) { // what came after the last one, if each was used up
			s := Stretch{From: l.Fills[counted].From, To: l.Fills[len(l.Fills)-1].To}
			used := 0.0
			for _, f := range l.Fills[counted:] {
				s.Area += f.Area
				used += f.used
			}
			if used > tankSlack*l.FillArea*float64(counted) {
				l.Dry = []Stretch{s}
			}
		}
	case clocked:
		l.DryBy = ByStops
		l.Dry = l.dry(l.drawn(m, p, fillAt(at)))
	}
}

// dry returns the ground that fills were worked past their end.
func (l *Ledger) dry(fills []Fill) []Stretch {
	var out []Stretch
	for _, f := range fills {
		if f.empty != nil && f.used > (1+tankSlack)*l.FillArea {
			out = append(out, Stretch{From: *f.empty, To: f.To, Area: f.Area - f.wet})
		}
	}
	return out
}

// chances returns when a machine may have filled its tank: after each stop of
// three minutes or more, and after each silence that long, time elsewhere, or
// change of log. The second result is false where its log has no clock.
func chances(m *coverage.Map, machine int) ([]geo.Instant, bool) {
	var out []geo.Instant
	last := map[int]geo.Instant{} // the end of the last pass, by track
	for i := range m.Passes {
		p := &m.Passes[i]
		if p.Machine != machine {
			continue
		}
		if tracks := m.Machines[machine].Tracks; p.Track < len(tracks) && tracks[p.Track].NoClock {
			return nil, false
		}
		if end, ok := last[p.Track]; !ok || end != p.After || len(p.Before.Stops) > 0 || p.Before.Silent >= silentFill {
			out = append(out, p.Start)
		}
		for _, s := range p.During.Stops {
			out = append(out, s.From+geo.Instant(s.Stood))
		}
		if p.During.Silent >= silentFill { // somewhere in it
			out = append(out, p.End)
		}
		last[p.Track] = p.End
	}
	slices.Sort(out)
	return out, true
}

// A filling decides when the tank is filled.
type filling interface {
	// due reports whether it is filled before a time; empty says whether
	// there is nothing left.
	due(t geo.Instant, empty bool) bool
}

// fillWhenEmpty fills the tank at the start and each time it is empty.
type fillWhenEmpty struct{}

func (fillWhenEmpty) due(_ geo.Instant, empty bool) bool { return empty }

// fillTimes fills it at certain times.
type fillTimes struct{ left []geo.Instant }

func fillAt(times []geo.Instant) *fillTimes { return &fillTimes{times} }

func (f *fillTimes) due(t geo.Instant, _ bool) bool {
	is := false
	for len(f.left) > 0 && f.left[0] <= t {
		f.left, is = f.left[1:], true
	}
	return is
}

// drawn follows the machine over the field and draws the ground of its passes
// from the tank.
func (l *Ledger) drawn(m *coverage.Map, p *Product, when filling) []Fill {
	var fills []Fill
	for i := range m.Passes {
		if m.Passes[i].Machine == l.Machine {
			fills = l.drive(fills, m, &m.Passes[i], p, when)
		}
	}
	return fills
}

// drive draws the ground of one pass from the tank. Along the pass it is
// shared out as the open part of the bar and its travel have it, so that the
// whole is what the pass swept.
func (l *Ledger) drive(fills []Fill, m *coverage.Map, pass *coverage.Pass, p *Product, when filling) []Fill {
	steps := pass.StepGround(m.Machines)
	drawn := 0.0
	for _, step := range steps {
		drawn += step
	}
	if drawn == 0 {
		return fills
	}
	right := pass.Swept.SquareMetres() / drawn
	for i, step := range steps {
		fills = l.draw(fills, pass, i+1, step*right, p.shareAt(pass, i), when)
	}
	return fills
}

// shareAt is what the log says was put down from pose i of a pass to the next,
// as a share of p's rate; 1 where it does not say.
func (p *Product) shareAt(pass *coverage.Pass, i int) float64 {
	if p.Logged == 0 {
		return 1
	}
	if rate := pass.Rate(p.Logged-1, i); !math.IsNaN(rate) {
		return rate
	}
	return 1
}

// draw draws the ground up to pose i of a pass, at a share of the rate.
func (l *Ledger) draw(fills []Fill, pass *coverage.Pass, i int, whole, share float64, when filling) []Fill {
	for left := whole; left > 0; {
		at := markAt(pass, i, 1-left/whole)
		n := len(fills)
		empty := n > 0 && fills[n-1].used >= l.FillArea
		if due := when.due(at.Time, empty); n == 0 || due {
			fills = append(fills, Fill{From: at, To: at})
			n, empty = n+1, false
		}
		f := &fills[n-1]
		part := left
		switch {
		case empty && f.empty == nil:
			f.empty, f.wet = &at, f.Area
		case !empty && f.used+left*share > l.FillArea: // up to where it is empty
			part = (l.FillArea - f.used) / share
		}
		f.Area += part
		if part == left {
			f.used += part * share
		} else {
			f.used = l.FillArea
		}
		left -= part
		f.To = markAt(pass, i, 1-left/whole)
	}
	return fills
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
