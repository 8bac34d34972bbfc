package coverage

import (
	"lapwing/geo"
	"lapwing/geo/plane"
)

// LastAtWork returns the machine whose last pass ended last.
func (m *Map) LastAtWork() int {
	machine := 0
	var last geo.Instant
	for i := range m.Passes {
		if p := &m.Passes[i]; i == 0 || p.End >= last {
			machine, last = p.Machine, p.End
		}
	}
	return machine
}

// LastPass returns the pass of a machine that ended last, nil where it has none.
func (m *Map) LastPass(machine int) *Pass {
	var last *Pass
	for i := range m.Passes {
		if p := &m.Passes[i]; p.Machine == machine && (last == nil || p.End >= last.End) {
			last = p
		}
	}
	return last
}

// Stopped returns where a machine's log ends; the middle of the field where
// the log is nowhere near it.
func (m *Map) Stopped(machine int) plane.Point {
	var at plane.Point
	var last geo.Instant
	found := false
	for i := range m.Machines[machine].Tracks {
		t := &m.Machines[machine].Tracks[i]
		for k := range t.Fixes {
			f := &t.Fixes[k]
			if f.Quality == geo.NoFix || f.At == (geo.LonLat{}) || found && !t.NoClock && f.Time < last {
				continue
			}
			if p, near := m.Field.Frame.ToPlane(f.At); near {
				at, last, found = p, f.Time, true
			}
		}
	}
	return at
}
