package taskdata

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

func (r *reading) takeTask(e *element, file string) error {
	t := Task{ID: e.text("A"), Name: e.text("B"), Partfield: e.text("E")}
	r.meet(file, e)
	e.each("DAN", func(x *element) {
		if id := x.text("C"); id != "" && !slices.Contains(t.Devices, id) {
			t.Devices = append(t.Devices, id)
		}
	})
	e.each("CNN", func(x *element) {
		t.Couplings = append(t.Couplings, Coupling{x.text("A"), x.text("B"), x.text("C"), x.text("D")})
	})
	e.each("OTP", func(x *element) {
		if t.practice == "" {
			t.practice = x.text("A")
		}
	})
	e.each("TIM", func(x *element) {
		if x.text("D") == timeEffective {
			r.takeTotals(x, file, &t)
		}
	})
	var err error
	e.each("GRD", func(x *element) {
		if err == nil {
			err = r.noteGrid(x, file)
		}
	})
	e.each("TLG", func(x *element) {
		if err == nil {
			err = r.takeLog(x, file, &t)
		}
	})
	r.set.Tasks = append(r.set.Tasks, t)
	return err
}

// takeTotals takes the sums that stand in one of a task's times. A device sums up
// over a task, so that of several times the last has all of it.
func (r *reading) takeTotals(x *element, file string, t *Task) {
	x.each("DLV", func(v *element) {
		ddi, okDDI := parseDDI(v.text("A"))
		raw, okRaw := v.whole("B")
		if !okDDI || !okRaw || raw != int64(int32(raw)) {
			r.note(file, v.line, fmt.Sprintf("value of task %s left out: A=%.20q B=%.20q, want four hexadecimal digits and a 32-bit number",
				shorten(t.ID), v.text("A"), v.text("B")))
			return
		}
		one := Total{ddi, v.text("C"), int32(raw)}
		for i := range t.Totals {
			if t.Totals[i].DDI == one.DDI && t.Totals[i].Element == one.Element {
				t.Totals[i] = one
				return
			}
		}
		if len(t.Totals) < mostValues {
			t.Totals = append(t.Totals, one)
		}
	})
}

// noteGrid notes a prescription: what was to be put out says nothing about
// the ground that was worked. G names its file.
func (r *reading) noteGrid(x *element, file string) error {
	name := x.text("G")
	if err := r.inFolder(name, "GRD", x.line); err != nil {
		return err
	}
	text := "prescription grid left out"
	if !r.files.has(withEnding(name, ".bin")) {
		text += "; its file " + shorten(withEnding(name, ".bin")) + " is missing"
	}
	r.note(file, x.line, text)
	return nil
}

// takeLog reads the log that a TLG element names. A log that cannot be used
// is noted: the set's other logs may be whole.
func (r *reading) takeLog(x *element, file string, t *Task) error {
	name := x.text("A")
	if err := r.inFolder(name, "TLG", x.line); err != nil {
		return err
	}
	left := func(why string) {
		r.note(file, x.line, fmt.Sprintf("log %s of task %s left out: %s", shorten(name), shorten(t.ID), why))
	}
	if kind := x.text("C"); kind != "" && kind != "1" {
		left(fmt.Sprintf("type %.20q, want 1 (binary)", kind))
		return nil
	}
	if r.logs[strings.ToLower(name)] {
		left("it is named before")
		return nil
	}
	r.logs[strings.ToLower(name)] = true
	log, err := r.readLog(name)
	var wrong *SyntaxError
	switch {
	case errors.As(err, &wrong):
		left(wrong.Error())
	case err != nil:
		return err
	default:
		t.Logs = append(t.Logs, log)
	}
	return nil
}

// readLog reads the two files of a log.
func (r *reading) readLog(name string) (*Log, error) {
	text, err := r.files.read(name+".xml", maxXML)
	if err != nil {
		return nil, err
	}
	h, err := readHeader(r.files.shown(name+".xml"), text)
	if err != nil {
		return nil, err
	}
	data, err := r.files.read(name+".bin", maxBIN)
	if err != nil {
		return nil, err
	}
	log, notes, err := decode(r.files.shown(name+".bin"), data, h)
	if err != nil {
		return nil, err
	}
	log.Name = name
	for _, n := range append(h.notes, notes...) {
		r.noteMany(n.File, n.Line, n.Count, n.Text)
	}
	return log, nil
}
