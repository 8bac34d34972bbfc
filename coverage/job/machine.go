package job

import (
	"fmt"
	"strings"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/worklog"
	"lapwing/geo/source"
)

// tellApart makes machines of the logs of a call. A machine column, or the
// device of a task set, says whose a fix is. Other logs are one machine's,
// unless two of them overlap in time.
func (u *understanding) tellApart(byPath map[string][]worklog.Log) (err error) {
	m := u.spec.Machines[0]
	var logs []worklog.Log
	for _, t := range m.Tracks {
		logs = append(logs, byPath[t.Path]...)
	}
	one := true
	var last []worklog.Log // those that do not tell the machine
	for _, l := range logs {
		if l.TellsMachine() || l.By.Name() != "" {
			continue
		}
		for _, before := range last {
			if one && !l.NoClock && !before.NoClock && l.Span().Overlaps(before.Span()) {
				one = false
				u.warn(field.Warning{File: l.File, Text: fmt.Sprintf("overlaps %s in time, so each log is taken as a machine of its own", before.File)})
			}
		}
		last = append(last, l)
	}
	for _, l := range logs {
		var bar machine.Implement
		if m.Implement != nil {
			bar = *m.Implement
		} else if bar, err = u.deviceBar(l, logs); err != nil {
			return err
		}
		switch {
		case l.TellsMachine():
			err = u.addByColumn(l, bar)
		case l.By.Name() != "":
			err = u.add(l.By.Name(), l, bar, nil)
		case one:
			err = u.add("machine 1", l, bar, nil)
		default:
			err = u.add(u.freeName(source.Stem(l.File)), l, bar, nil)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// deviceBar returns the implement of the device that made a log, from all its
// logs.
func (u *understanding) deviceBar(l worklog.Log, logs []worklog.Log) (machine.Implement, error) {
	for _, m := range u.job.Machines {
		if m.Name == l.By.Name() {
			return m.Implement, nil
		}
	}
	var its []worklog.Log
	for _, other := range logs {
		if other.By.Name() == l.By.Name() {
			its = append(its, other)
		}
	}
	return u.taskImplement(its)
}

// addByColumn adds the fixes of each machine that a log names.
func (u *understanding) addByColumn(l worklog.Log, bar machine.Implement) error {
	return l.EachMachine(func(name string, pick func(int) bool) error { return u.add(name, l, bar, pick) })
}

// add gives the machine of that name one more track.
func (u *understanding) add(name string, l worklog.Log, bar machine.Implement, pick func(int) bool) error {
	track, err := u.track(l, l.Divided(bar), pick)
	if err != nil {
		return err
	}
	for i := range u.job.Machines {
		if m := &u.job.Machines[i]; strings.EqualFold(m.Name, name) {
			m.Tracks = append(m.Tracks, track)
			return nil
		}
	}
	u.job.Machines = append(u.job.Machines, machine.Logged{Machine: machine.Machine{Name: name, Implement: bar}, Tracks: []machine.Track{track}})
	return nil
}

// freeName returns name, with a number behind it if a machine has it already.
func (u *understanding) freeName(name string) string {
	for n, try := 2, name; ; n++ {
		taken := false
		for _, m := range u.job.Machines {
			taken = taken || strings.EqualFold(m.Name, try)
		}
		if !taken {
			return try
		}
		try = fmt.Sprintf("%s %d", name, n)
	}
}
