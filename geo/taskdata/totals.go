package taskdata

import (
	"math"
	"slices"
)

// Sums are what a device itself summed up of a task, in SI units; NaN for what it
// does not say.
type Sums struct {
	Area     float64 // m² worked, ground worked twice counted twice
	Distance float64 // m at work
	Time     float64 // s at work
	Mass     float64 // kg put down
	Volume   float64 // m³ put down
}

// NoSums says nothing.
func NoSums() Sums {
	none := math.NaN()
	return Sums{none, none, none, none, none}
}

// Plus adds up two tasks: of what one does not say nothing is known of both.
func (s Sums) Plus(o Sums) Sums {
	return Sums{s.Area + o.Area, s.Distance + o.Distance, s.Time + o.Time, s.Mass + o.Mass, s.Volume + o.Volume}
}

// Sums returns what a device says of a task in all. bar is the element that worked:
// its own sums go before those of what it is a part of, and these before those of
// other parts of the device.
func (s *Set) Sums(t *Task, device, bar string) Sums {
	d := s.Device(device)
	if d == nil {
		return NoSums()
	}
	var order []int
	for at := d.element(bar); at >= 0; at = d.Elements[at].Parent {
		order = append(order, at)
	}
	for i := range d.Elements {
		if !slices.Contains(order, i) {
			order = append(order, i)
		}
	}
	of := func(ddi DDI, unit float64) float64 {
		for _, i := range order {
			if raw, ok := t.sum(ddi, d.Elements[i].ID); ok && raw >= 0 {
				return float64(raw) * unit
			}
		}
		return math.NaN()
	}
	return Sums{Area: of(TotalArea, 1), Distance: of(WorkedDistance, 1/metre), Time: of(WorkedTime, 1), Mass: of(TotalMass, 1), Volume: of(TotalVolume, 1/litres)}
}

// litres are in a cubic metre.
const litres = 1000.0

// sum is what an element summed up over a task: what the task's times say, or what
// its logs said last.
func (t *Task) sum(ddi DDI, element string) (raw int32, ok bool) {
	for _, total := range t.Totals {
		if total.DDI == ddi && total.Element == element {
			return total.Raw, true
		}
	}
	for _, log := range slices.Backward(t.Logs) {
		for i := range log.Values {
			if v := &log.Values[i]; v.DDI == ddi && v.Element == element && len(v.Raw) > 0 {
				return v.Raw[len(v.Raw)-1], true
			}
		}
	}
	return 0, false
}
