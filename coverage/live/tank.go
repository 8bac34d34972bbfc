package live

import (
	"math"
	"slices"
	"time"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/machine"
	"lapwing/coverage/track"
	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// A Tank is how far the fill of a product's tank goes.
type Tank struct {
	Product string
	Area    float64        // m² left on this fill, at the product's rate
	Way     plane.Distance // that the whole bar works with it
	// For is how long it lasts at the pace of the machine's passes so far in this field,
	// turns included, or before the first of them at its speed now; 0 where neither is known.
	For time.Duration
	// Pass is on which pass from now it runs dry: 0 on this one, 1 on the next, which is
	// the one that comes where the bar is up. Along is how far that is from where the bar
	// is now, or else from the start of that pass. Told is false where the field has no
	// boundary to tell passes by, or no pass has begun.
	Pass  int
	Along plane.Distance
	Told  bool
}

// tanked are the products whose tank a machine carries, by their number.
func tanked(products []agronomy.Product, machine string) map[int]float64 {
	out := map[int]float64{}
	for i := range products {
		if area := products[i].FillArea(); area != nil && *area > 0 && products[i].CarriedBy(machine) {
			out[i] = 0
		}
	}
	return out
}

// onWay is the ground in m² that the bar of a machine has worked since the newest stance that
// is settled.
func (m *mach) onWay() float64 {
	if !m.going || !m.worksNow {
		return 0
	}
	_, _, width := m.open(m.state)
	return width.Metres() * math.Hypot(m.stance.X-m.at.X, m.stance.Y-m.at.Y)
}

// fill says that all tanks of a machine were filled by a time.
func (m *mach) fill(at geo.Instant) {
	for k := range m.filled {
		m.filled[k] = -m.onWay() // is added when it settles, and was worked before the fill
	}
	if n := len(m.fills); n > 0 && m.stands && m.fills[n-1] >= m.still {
		m.fills[n-1] = at // it still stands where it was filled
		return
	}
	m.fills = append(m.fills, at)
}

// Fill says that the tanks of a machine were filled just now, and returns when that is by
// the receivers' time.
func (e *Engine) Fill(machine int) geo.Instant {
	e.machines[machine].fill(e.now)
	return e.now
}

// FilledBefore says when the tanks of a machine were filled before this engine began. It
// counts from the next answer on.
func (e *Engine) FilledBefore(machine int, at ...geo.Instant) {
	m := e.machines[machine]
	m.earlier = append(m.earlier, at...)
}

// chances fills the tanks where the machine had the time for it, by the rule of package
// agronomy: it stood for a long stop, or no fix came for so long.
func (m *mach) chances(stands bool, now geo.Instant) {
	if m.last.time != 0 && now.Sub(m.last.time) >= track.LongStop {
		m.fill(now)
	}
	switch {
	case !stands:
		m.stands = false
	case !m.stands:
		m.stands, m.still = true, now
	case now.Sub(m.still) >= track.LongStop:
		m.fill(now)
	}
}

// A usage is what an answer tells of the tanks of one source's machine.
type usage struct {
	used map[int]float64 // m² since the last fill, by product
	pace float64         // m²/s that it sweeps in passes and turns; 0 where not known
}

// usages are the usages of the machines of all sources.
func (q *Question) usages(a *assess.Assessment) []usage {
	m := a.Map
	out := make([]usage, len(q.taken))
	for i := range out {
		at := slices.IndexFunc(m.Machines, func(of machine.Machine) bool { return of.Name == q.sources[i].Machine })
		if at < 0 {
			continue
		}
		out[i].used = map[int]float64{}
		for k := range q.products {
			if p := &q.products[k]; p.CarriedBy(q.sources[i].Machine) {
				out[i].used[k] = agronomy.SinceFill(m, p, at, q.fills[i])
			}
		}
		for k := range a.Clocks {
			if c := &a.Clocks[k]; c.Machine == at {
				if took := (c.Working + c.Turning).Seconds(); took > 0 {
					out[i].pace = c.Swept.SquareMetres() / took
				}
			}
		}
	}
	return out
}

// refill goes on from the use that an answer tells, which goes up to a time. since is the
// ground in m² that was worked after that.
func (m *mach) refill(u *usage, cut geo.Instant, since float64) {
	m.pace = u.pace
	if n := len(m.fills); n > 0 && m.fills[n-1] > cut {
		return // it was filled after that
	}
	for k := range m.filled {
		m.filled[k] = u.used[k] + since
	}
}

// Tanks says how far the fills of a machine go, in the order of the products.
func (e *Engine) Tanks(machine int) []Tank {
	m := e.machines[machine]
	width := m.bar.Width.Metres()
	pace := m.pace
	if pace == 0 && m.worksNow {
		pace = m.speed() * width
	}
	var out []Tank
	for k := range e.products {
		used, carried := m.filled[k]
		if !carried {
			continue
		}
		t := Tank{Product: e.products[k].Name, Area: max(0, *e.products[k].FillArea()-used-m.onWay())}
		t.Way = plane.DistanceOf(t.Area / width)
		if pace > 0 {
			t.For = time.Duration(math.Round(t.Area/pace)) * time.Second
		}
		e.runsDry(m, &t)
		out = append(out, t)
	}
	return out
}

// runsDry finds where a tank will be empty, if passes go on to and fro like the present one,
// or the last. A pass along the headland is taken to have no end.
func (e *Engine) runsDry(m *mach, t *Tank) {
	if !m.worked || len(e.land.Boundary) == 0 {
		return
	}
	bar := m.workedAt.Bar()
	ahead, onward := e.inner(bar.At, bar.Sin, bar.Cos)
	behind, back := e.inner(bar.At, -bar.Sin, -bar.Cos)
	if !onward {
		ahead = 0 // its end is reached
	}
	if !back {
		behind = 0
	}
	rest := t.Way
	switch whole := ahead + behind; {
	case m.worksNow && (whole <= 0 || rest <= ahead):
		t.Told, t.Along = true, rest
	case whole > 0:
		if m.worksNow {
			rest -= ahead
		}
		t.Told = true
		t.Pass = 1 + int(rest/whole)
		t.Along = rest - plane.Distance(t.Pass-1)*whole
	}
}

// inner is how far the ground within the headland reaches from a place in a direction.
// It is false where that way stays in the headland.
func (e *Engine) inner(from plane.Point, sin, cos float64) (far plane.Distance, leaves bool) {
	const step = float64(plane.Centimetre) // far below what is told, and far above a tick
	end := float64(e.rims.Cast(&near.Ray{X: float64(from.X), Y: float64(from.Y), DX: sin, DY: cos}).Distance)
	if math.IsInf(end, 0) {
		return 0, false
	}
	depth, inside := float64(e.headland), false
	for s := 0.0; s < end; {
		x, y := float64(from.X)+s*sin, float64(from.Y)+s*cos
		away := math.Sqrt(e.rims.Nearest(x, y, math.Inf(1)).D2) - depth
		switch {
		case away > step:
			inside = true
		case inside:
			return plane.Distance(s), true
		}
		// The edge of the headland is no nearer than away.
		s += max(math.Abs(away), step)
	}
	return plane.Distance(end), inside
}
