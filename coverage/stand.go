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

// LastAmong returns which of some machines drove the last pass of them all; -1 where none
// has a pass.
func (m *Map) LastAmong(machines []int) int {
	machine := -1
	var last geo.Instant
	for _, i := range machines {
		if p := m.LastPass(i); p != nil && (machine < 0 || p.End >= last) {
			machine, last = i, p.End
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

// Stopped returns where a machine's log ends; the field's centre where the log has
// no fix near the field.
func (m *Map) Stopped(machine int) plane.Point {
	if machine < len(m.Records) {
		return m.Records[machine].End
	}
	return plane.Point{}
}
