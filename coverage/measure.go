package coverage

import (
	"errors"
	"fmt"
	"slices"

	"lapwing/coverage/cause"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/stance"
	"lapwing/coverage/sweep"
	"lapwing/coverage/track"
	"lapwing/coverage/work"
	"lapwing/geo"
)

// ErrNoPosition says that there is nothing to tell by where a field without a boundary is.
var ErrNoPosition = errors.New("no fix has a position")

// Measure finds how often each part of field was covered, and why. A field
// without a boundary is taken to be the worked ground.
func Measure(fld field.Field, logged []machine.Logged, opt field.Options) (*Map, error) {
	machines := machine.Machines(logged)
	if err := fit(&opt, machines); err != nil {
		return nil, err
	}
	logged, far := track.Near(&fld, logged, &opt)
	if opt.Crossings == 0 {
		opt.Crossings = field.UsualCrossings(machine.Fixes(logged) + fld.Corners())
	}
	if len(fld.Boundary) == 0 {
		around, ok := FieldAround(logged)
		if !ok {
			return nil, ErrNoPosition
		}
		fld.Frame = around.Frame
	}
	logs := track.Clean(&fld, logged, &opt) // what the antennas did
	records := track.Records(logged, logs, &fld.Frame)
	m, err := along(fld, machines, logs, opt) // the fixes are let go: they are as large as all that follows
	if err != nil {
		return nil, err
	}
	m.Records = records
	m.Warnings = slices.Concat(far, m.Warnings, m.likelyOther()) // which names the files of the records
	return m, nil
}

// along finds how often the bars covered each part of a field along the paths of logs.
func along(fld field.Field, machines []machine.Machine, logs []track.Log, opt field.Options) (*Map, error) {
	walks := stance.Follow(logs, machines)                                 // what the bars did
	passes, judged, notes := work.Split(&fld, machines, logs, walks, &opt) // where they worked
	told := warningsOf(logs, notes)                                        // and the paths are let go
	ground := sweep.Sweep(machines, passes)                                // what they swept
	m, err := Lay(fld, machines, ground, opt)                              // how often each piece was covered, and why
	if err != nil {
		return nil, err
	}
	cause.Doubt(m.Regions, m.Skips, m.Overlaps, machines, judged)
	m.Warnings = slices.Concat(told, m.Warnings)
	if m.Headland.Fit != nil {
		m.Warnings = append(m.Warnings, m.Headland.Fit.Warnings()...)
	}
	return m, nil
}

// FieldAround returns a field without a boundary in the midst of the fixes of
// some machines, and whether any fix has a position.
func FieldAround(logged []machine.Logged) (field.Field, bool) {
	at, ok := machine.Middle(logged)
	return field.Field{Frame: geo.NewFrame(at)}, ok
}

// Split finds the passes of machines, as [Measure] does before it looks at the
// ground, and how surely where no log says when the bar worked.
func Split(fld field.Field, logged []machine.Logged, opt field.Options) ([]work.Pass, []work.Judgement, []field.Warning) {
	machines := machine.Machines(logged)
	logs := track.Clean(&fld, logged, &opt)
	passes, judged, notes := work.Split(&fld, machines, logs, stance.Follow(logs, machines), &opt)
	return passes, judged, warningsOf(logs, notes)
}

// fit says which implement or headland is too large for the grid, if one is.
func fit(o *field.Options, machines []machine.Machine) error {
	for i := range machines {
		if reach := machines[i].Implement.Reach(); reach > field.Room {
			return fmt.Errorf("machine %q: found a bar that reaches %.0f m from the antenna, want %.0f m at most",
				machines[i].Name, reach.Metres(), field.Room.Metres())
		}
	}
	if deep := o.HeadlandWidth(machine.Widest(machines)); deep > field.Room {
		return fmt.Errorf("headland: found %d rounds that are %.0f m deep, want %.0f m at most", max(1, o.Rounds), deep.Metres(), field.Room.Metres())
	}
	return nil
}

// warningsOf are the warnings about logs: of each what cleaning it found, and
// then what its passes gave rise to.
func warningsOf(logs []track.Log, passes [][]field.Warning) []field.Warning {
	var out []field.Warning
	for i := range logs {
		out = append(append(out, logs[i].Warnings...), passes[i]...)
	}
	return out
}

// WorkPasses returns the passes as they were driven, in their order.
func (m *Map) WorkPasses() []work.Pass {
	out := make([]work.Pass, len(m.Passes))
	for i := range out {
		out[i] = m.Passes[i].Pass
	}
	return out
}
