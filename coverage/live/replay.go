package live

import (
	"strings"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/worklog"
	"lapwing/geo"
	"lapwing/geo/gnsslog"
	"lapwing/geo/journal"
)

// Replay returns what a log says of a machine, record by record, as if it were driven
// again, in the order of time. A log without times is a [*geo.SyntaxError], as is one
// that names machines and not this one.
func Replay(file string, log *gnsslog.Log, m *machine.Machine) ([]journal.Record, []field.Warning, error) {
	if log.NoClock {
		return nil, nil, &geo.SyntaxError{File: file, Found: "a log without times", Want: "times, to play it by"}
	}
	l := worklog.Of(file, log)
	var pick func(int) bool
	if names, _ := l.Machines(); len(names) > 1 {
		var err error
		if pick, err = l.Only(m.Name); err != nil {
			return nil, nil, err
		}
	}
	track, warnings, err := l.Track(m.Implement, pick)
	if err != nil {
		return nil, nil, err
	}
	out := make([]journal.Record, len(track.Fixes))
	texts := map[machine.StateID]string{}
	for i := range track.Fixes {
		f := &track.Fixes[i]
		r := journal.Record{Fix: f.Fix, Machine: m.Name}
		r.Row = 0
		if track.WorkingLogged {
			r.Working = "0"
			if f.Working {
				r.Working = "1"
			}
			if n := len(m.Implement.Sections); n > 1 {
				text, known := texts[f.State]
				if !known {
					text = bitsOf(m.Implement.Sections, m.Implement.Open(track.States, f.State))
					texts[f.State] = text
				}
				r.Sections = text
			}
		}
		out[i] = r
	}
	return out, append(l.Warnings(true), warnings...), nil
}

// bitsOf tells which sections of a bar work, "1" or "0" each: those whose middle does.
func bitsOf(sections []machine.Section, open machine.State) string {
	var bits strings.Builder
	for _, s := range sections {
		bit, middle := byte('0'), (s.Left+s.Right)/2
		for _, o := range open {
			if o.Left <= middle && middle < o.Right {
				bit = '1'
			}
		}
		bits.WriteByte(bit)
	}
	return bits.String()
}
