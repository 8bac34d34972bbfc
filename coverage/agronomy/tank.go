package agronomy

import (
	"math"
	"slices"
	"time"

	"lapwing/coverage"
	"lapwing/coverage/track"
	"lapwing/geo"
)

// A Ledger is the account of one product's tank on one machine: how far each
// fill went over the ground swept, at the rate that the log tells, or else at
// the product's.
type Ledger struct {
	Machine  int     // index into Map.Machines
	Filled   float64 // m³ in a tank filled to its limit: tank × fill
	FillArea float64 // m² that a filled tank covers: Filled / rate
	Expected int     // fills that the ground swept takes
	Reported int     // fills the crew counted; 0 where the job does not say
	// Fills are in order. Where the crew said when the tank was filled they
	// begin then; otherwise the tank is taken to be filled at the start and
	// each time it is empty.
	Fills []Fill
	// Dry is ground that was worked after the tank must have been empty, so that
	// the product is likely to be missing there. DryBy is the evidence, "" where
	// there is none to look for it by.
	Dry   []Stretch
	DryBy Evidence
}

// An Evidence is what a tank's dry ground is known by.
type Evidence string

// The evidence, from the best down.
const (
	ByRate  Evidence = "rate"  // the log says that nothing was put down
	ByTimes Evidence = "times" // the crew said when the tank was filled
	ByCount Evidence = "count" // the crew said how often
	// ByStops: the crew did not say, but a fill takes a stop of three minutes or
	// more, or as long a silence of the log, and more ground than a fill covers
	// was worked without one.
	ByStops Evidence = "stops"
)

// A Fill is one tankful on its way over the field.
type Fill struct {
	From, To PassPlace
	Area     float64 // m² covered with it, and after it was empty
	Left     float64 // m³ still in the tank at To
}

// tankSlack is how much farther than reckoned a fill may go before the tank is
// said to have run dry, as a share. Judgement: tanks are read, and rates held,
// to a few per cent. TestTankSlack fails where it is halved.
const tankSlack = 0.05

// tanksOf keeps the ledgers of p over the ground of m, one for each machine
// that carries p ([carriers]) and swept ground; none where the tank or the rate by volume
// is not known. Where the logs tell the rate, they say better than any fill
// where p ran out.
func tanksOf(m *coverage.Map, p *Product, carries []bool, logged *LoggedRate) []Ledger {
	area := p.FillArea()
	if area == nil || *area <= 0 {
		return nil
	}
	var out []Ledger
	for machine := range m.Machines {
		if !carries[machine] {
			continue
		}
		t := tank{m: m, product: p, machine: machine, area: *area}
		expected := t.drawn(fillWhenEmpty{})
		if len(expected) == 0 {
			continue
		}
		c := t.compare(expected)
		if dry, tells := logged.of(machine); tells {
			c.dry, c.by = dry, ByRate
		}
		filled := *p.Tank * p.Fill
		fills := make([]Fill, len(c.fills))
		for i, d := range c.fills {
			fills[i] = Fill{From: d.from, To: d.to, Area: d.area, Left: max(0, filled*(1-d.used/t.area))}
		}
		out = append(out, Ledger{
			Machine: machine, Filled: filled, FillArea: t.area, Expected: len(expected), Reported: c.reported,
			Fills: fills, Dry: c.dry, DryBy: c.by,
		})
	}
	return out
}

// A tank is what is drawn from on the way of one machine over a map.
type tank struct {
	m       *coverage.Map
	product *Product
	machine int
	area    float64 // m² that a filled tank covers at the product's rate
}

// A draught is what was drawn from one filling of the tank.
type draught struct {
	from, to PassPlace
	area     float64    // m² covered with it, and after it was empty
	used     float64    // area, in m² at the product's rate
	empty    *PassPlace // where it was empty though work went on; nil where it was not
	wet      float64    // m² covered before it was empty
}

// A comparison sets the fills that the ground takes against what the crew and
// the log say.
type comparison struct {
	fills    []draught
	reported int
	dry      []Stretch
	by       Evidence
}

// compare finds the ground that was worked dry, by the best evidence there is:
// the times of fills that the crew gave, their number, or the stops in the log.
// Expected are the fills of a tank filled whenever it is empty.
func (t *tank) compare(expected []draught) comparison {
	p := t.product
	counted := max(p.Fills, len(p.FilledAt))
	at, clocked := t.chances(0)
	switch {
	case len(p.FilledAt) > 0 && clocked:
		fills := t.drawn(fillAt(p.FilledAt))
		return comparison{fills: fills, reported: len(fills), dry: t.dry(fills), by: ByTimes}
	case counted > 0:
		return comparison{fills: expected, reported: counted, dry: t.dryAfter(expected, counted), by: ByCount}
	case clocked:
		return comparison{fills: expected, dry: t.dry(t.drawn(fillAt(at))), by: ByStops}
	}
	return comparison{fills: expected}
}

// dry returns the ground that fills were worked past their end.
func (t *tank) dry(fills []draught) []Stretch {
	var out []Stretch
	for _, f := range fills {
		if f.empty != nil && f.used > (1+tankSlack)*t.area {
			out = append(out, Stretch{From: *f.empty, To: f.to, Area: f.area - f.wet})
		}
	}
	return out
}

// dryAfter returns the ground that is left when so many of the fills that the
// ground takes are used up.
func (t *tank) dryAfter(expected []draught, counted int) []Stretch {
	if counted >= len(expected) {
		return nil
	}
	s := Stretch{From: expected[counted].from, To: expected[len(expected)-1].to}
	used := 0.0
	for _, f := range expected[counted:] {
		s.Area += f.area
		used += f.used
	}
	if used <= tankSlack*t.area*float64(counted) {
		return nil
	}
	return []Stretch{s}
}

// SinceFill returns the m², at the rate of p, that a machine, an index into
// [coverage.Map.Machines], has worked since its tank was filled last: at one of the times
// given or those that the crew gave, or else at any chance that it had. A log that ends
// and another that goes on soon is none.
func SinceFill(m *coverage.Map, p *Product, machine int, at []geo.Instant) float64 {
	area := p.FillArea()
	if area == nil || *area <= 0 {
		return 0
	}
	t := tank{m: m, product: p, machine: machine, area: math.Inf(1)} // it goes on after it is empty
	chances, _ := t.chances(track.LongStop)
	times := slices.Concat(chances, at, p.FilledAt)
	slices.Sort(times)
	fills := t.drawn(fillAt(times))
	if len(fills) == 0 || len(times) > 0 && times[len(times)-1] > fills[len(fills)-1].to.Time {
		return 0
	}
	return fills[len(fills)-1].used
}

// chances returns when the machine may have filled its tank: after each stop of
// [track.LongStop] or more, and after each silence that long, time elsewhere, or
// change of log that took so long; 0: each. The second result is false where its log has no clock.
func (t *tank) chances(change time.Duration) ([]geo.Instant, bool) {
	var out []geo.Instant
	last := map[int]geo.Instant{} // the end of the last pass, by track
	var newest geo.Instant        // the end of the last pass of all
	for i := range t.m.Passes {
		p := &t.m.Passes[i]
		if p.Machine != t.machine {
			continue
		}
		if p.NoClock {
			return nil, false
		}
		end, ok := last[p.Track]
		changed := !ok && (change == 0 || len(last) == 0 || p.Start.Sub(newest) >= change)
		if changed || ok && end != p.After || len(p.Before.Stops) > 0 || p.Before.Silent >= track.LongStop {
			out = append(out, p.Start)
		}
		for _, s := range p.During.Stops {
			out = append(out, s.From+geo.Instant(s.Stood))
		}
		if p.During.Silent >= track.LongStop { // somewhere in it
			out = append(out, p.End)
		}
		last[p.Track] = p.End
		newest = max(newest, p.End)
	}
	slices.Sort(out)
	return out, true
}

// A filling decides when a tank is filled.
type filling interface {
	// due reports whether the tank is filled before work goes on at a time;
	// empty says whether nothing is left in it.
	due(t geo.Instant, empty bool) bool
}

// fillWhenEmpty fills the tank at the start and each time it is empty.
type fillWhenEmpty struct{}

func (fillWhenEmpty) due(_ geo.Instant, empty bool) bool { return empty }

// fillTimes fills the tank at the times left, which are in order.
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
func (t *tank) drawn(when filling) []draught {
	var fills []draught
	for i := range t.m.Passes {
		pass := &t.m.Passes[i]
		if pass.Machine != t.machine {
			continue
		}
		for k, area := range stepAreas(t.m, pass) {
			fills = t.draw(fills, pass, k+1, area, shareOf(t.product, pass, k), when)
		}
	}
	return fills
}

// draw draws whole m² up to pose i of a pass from the last of fills, at a share
// of the rate, and adds fills as the tank is filled on the way.
func (t *tank) draw(fills []draught, pass *coverage.Pass, i int, whole, share float64, when filling) []draught {
	for left := whole; left > 0; {
		at := markAt(pass, i, 1-left/whole)
		n := len(fills)
		empty := n > 0 && fills[n-1].used >= t.area
		if due := when.due(at.Time, empty); n == 0 || due {
			fills = append(fills, draught{from: at, to: at})
			n, empty = n+1, false
		}
		f := &fills[n-1]
		part := left
		switch {
		case empty && f.empty == nil:
			f.empty, f.wet = &at, f.area
		case !empty && f.used+left*share > t.area: // up to where it is empty
			part = (t.area - f.used) / share
		}
		f.area += part
		if part == left {
			f.used += part * share
		} else {
			f.used = t.area
		}
		left -= part
		f.to = markAt(pass, i, 1-left/whole)
	}
	return fills
}
