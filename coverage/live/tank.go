package live

import (
	"math"
	"time"

	"lapwing/coverage/agronomy"
	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// A Tank is how far the fill of a product's tank goes.
type Tank struct {
	Product string
	Area    float64        // m² left on this fill
	Way     plane.Distance // that the whole bar works with it
	For     time.Duration  // at the speed of the last passes; 0 where it is not known
	// Pass is on which pass from now it runs dry, 0 on this one, and Along how far from
	// where the bar is now, or from the start of that pass. Told is false where the field
	// has no boundary to tell passes by.
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

// fill says that all tanks of a machine were filled.
func (m *mach) fill() {
	for k := range m.filled {
		m.filled[k] = 0
	}
}

// Fill says that the tanks of a machine were filled just now.
func (e *Engine) Fill(machine int) { e.machines[machine].fill() }

// Tanks says how far the fills of a machine go, in the order of the products.
func (e *Engine) Tanks(machine int) []Tank {
	m := e.machines[machine]
	var out []Tank
	for k := range e.products {
		used, carried := m.filled[k]
		if !carried {
			continue
		}
		t := Tank{Product: e.products[k].Name, Area: max(0, *e.products[k].FillArea()-used)}
		width := m.bar.Width.Metres()
		t.Way = plane.DistanceOf(t.Area / width)
		if speed := m.speed(); speed > 0 {
			t.For = time.Duration(math.Round(t.Area/(speed*width))) * time.Second
		}
		e.runsDry(m, &t)
		out = append(out, t)
	}
	return out
}

// runsDry finds where a tank will be empty, if passes go on to and fro as this one runs.
func (e *Engine) runsDry(m *mach, t *Tank) {
	if !m.known || len(e.land.Boundary) == 0 {
		return
	}
	sin, cos := m.stance.Heading.Sincos()
	at := m.stance.Bar().At
	reach := func(sin, cos float64) plane.Distance {
		hit := e.rims.Cast(&near.Ray{X: float64(at.X), Y: float64(at.Y), DX: sin, DY: cos})
		if math.IsInf(float64(hit.Distance), 0) {
			return 0
		}
		return max(0, hit.Distance-plane.Distance(e.headland))
	}
	ahead, behind := reach(sin, cos), reach(-sin, -cos)
	whole := ahead + behind
	if whole <= 0 {
		return
	}
	t.Told = true
	if t.Way <= ahead {
		t.Along = t.Way
		return
	}
	rest := t.Way - ahead
	t.Pass = 1 + int(rest/whole)
	t.Along = rest - plane.Distance(t.Pass-1)*whole
}
