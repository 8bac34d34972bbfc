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

// Replay returns the records that a cab would write if a machine drove a log again, in the
// order of time. It fails with a [*geo.SyntaxError] for a log without times, and for one that
// names machines of which none is this one.
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

// bitsOf writes "1" for each section of a bar whose middle is open, "0" for each other.
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
