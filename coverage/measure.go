package coverage

import (
	"errors"
	"fmt"

	"lapwing/geo"
)

// Measure finds how often each part of field was covered, and why. A field
// without a boundary is taken to be the worked ground.
func Measure(fld Field, logged []Logged, opt Options) (*Map, error) {
	machines := Machines(logged)
	if err := fit(&opt, machines); err != nil {
		return nil, err
	}
	if len(fld.Boundary) == 0 {
		around, ok := FieldAround(logged)
		if !ok {
			return nil, errors.New("no fix has a position")
		}
		fld.Frame = around.Frame
	}
	logs := Clean(&fld, logged, &opt)                         // what the antennas did
	walks := Follow(logs, machines)                           // what the bars did
	passes, notes := Split(&fld, machines, logs, walks, &opt) // where they worked
	ground := Sweep(machines, passes)                         // what they swept
	m := Lay_(fld, machines, ground, opt)                     // how often each piece was covered, and why
	m.Logs = Recorded(logged, logs, &fld.Frame)
	m.Warnings = append(warningsOf(logs, notes), m.Warnings...)
	if !m.Field.Worked {
		if w, is := LikelyShift(m.Field, machines, m.WorkPasses(), opt.Shift); is {
			m.Warnings = append(m.Warnings, w)
		}
	}
	return m, nil
}

// FieldAround returns a field without a boundary in the midst of the fixes of
// some machines, and whether any fix has a position.
func FieldAround(logged []Logged) (Field, bool) {
	at, ok := Middle(logged)
	return Field{Frame: geo.NewFrame(at)}, ok
}

// Split_ finds the passes of machines, as [Measure] does before it looks at the
// ground.
func Split_(fld Field, logged []Logged, opt Options) ([]WorkPass, []Warning) {
	machines := Machines(logged)
	logs := Clean(&fld, logged, &opt)
	passes, notes := Split(&fld, machines, logs, Follow(logs, machines), &opt)
	return passes, warningsOf(logs, notes)
}

// fit says which implement or headland is too large for the grid, if one is.
func fit(o *Options, machines []Machine) error {
	for i := range machines {
		if reach := machines[i].Implement.Reach(); reach > Room {
			return fmt.Errorf("machine %q: found a bar that reaches %.0f m from the antenna, want %.0f m at most",
				machines[i].Name, reach.Metres(), Room.Metres())
		}
	}
	if deep := o.HeadlandWidth(Widest(machines)); deep > Room {
		return fmt.Errorf("headland: found %d rounds that are %.0f m deep, want %.0f m at most", max(1, o.Rounds), deep.Metres(), Room.Metres())
	}
	return nil
}

// warningsOf are the warnings about logs: of each what cleaning it found, and
// then what its passes gave rise to.
func warningsOf(logs []Log, passes [][]Warning) []Warning {
	var out []Warning
	for i := range logs {
		out = append(append(out, logs[i].Warnings...), passes[i]...)
	}
	return out
}

// WorkPasses returns the passes as they were driven, in their order.
func (m *Map) WorkPasses() []WorkPass {
	out := make([]WorkPass, len(m.Passes))
	for i := range out {
		out[i] = m.Passes[i].WorkPass
	}
	return out
}
