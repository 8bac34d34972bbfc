package job

import (
	"strconv"

	"lapwing/geo/gnsslog"
	"lapwing/geo/taskdata"
)

// The names under which what a task set tells of a machine stands in messages.
const (
	workStateName    = "work state"
	sectionStateName = "section states"
	actualWidthName  = "actual working width"
)

// columnsOfTrack lays out what one device did in a log of a task set as the
// columns of any other log, so that one reading serves all of them.
func columnsOfTrack(t *taskdata.Track) columns {
	log := &gnsslog.Log{Format: "ISO 11783-10", Fixes: t.Fixes, NoClock: t.NoClock}
	if t.Zoneless {
		log.Zoneless = len(t.Fixes)
	}
	for _, text := range t.Notes {
		log.Notes = append(log.Notes, gnsslog.Note{Count: 1, Text: text})
	}
	var cols []gnsslog.Column
	if t.Working != nil {
		cols = append(cols, workColumn(t.Working))
	}
	n := min(t.Bar.Count, taskdata.MostSections)
	if sections := len(t.Bar.Sections); t.State != nil && n > 0 && (sections == 0 || sections == n) {
		cols = append(cols, stateColumn(t, n))
	} else if t.Widths != nil {
		cols = append(cols, widthColumn(t.Widths, len(t.Fixes)))
	}
	log.Columns = cols
	c := columns{file: t.File, log: log, widthUnit: "mm"}
	for i := range cols {
		switch cols[i].Name {
		case workStateName:
			c.working = &cols[i]
		case sectionStateName:
			c.sections = &cols[i]
		case actualWidthName:
			c.width = &cols[i]
		}
	}
	return c
}

func workColumn(working []bool) gnsslog.Column {
	col := gnsslog.Column{Name: workStateName, Distinct: []string{"0", "1"}, Codes: make([]uint32, len(working))}
	for i, on := range working {
		if on {
			col.Codes[i] = 1
		}
	}
	return col
}

// stateColumn writes each state of n sections as "1" and "0" from left to
// right.
func stateColumn(t *taskdata.Track, n int) gnsslog.Column {
	col := gnsslog.Column{Name: sectionStateName, Codes: t.State}
	for _, s := range t.States {
		text := make([]byte, n)
		for i := range text {
			text[i] = '0'
			if s.On(i) {
				text[i] = '1'
			}
		}
		col.Distinct = append(col.Distinct, string(text))
	}
	return col
}

// mostWidth is the most that a width in a log can mean; more is what a device
// writes where it does not know.
const mostWidth = 1_000_000 // mm

// widthColumn writes the widths of the bar, "" where none is known.
func widthColumn(v *taskdata.Values, fixes int) gnsslog.Column {
	col := gnsslog.Column{Name: actualWidthName, Distinct: []string{""}, Codes: make([]uint32, fixes)}
	seen := map[int32]uint32{}
	code, next := uint32(0), 0
	for i := range fixes {
		for next < len(v.Records) && int(v.Records[next]) <= i {
			raw := v.Raw[next]
			next++
			if raw < 0 || raw > mostWidth {
				code = 0
				continue
			}
			var known bool
			if code, known = seen[raw]; !known {
				code = uint32(len(col.Distinct))
				seen[raw] = code
				col.Distinct = append(col.Distinct, strconv.Itoa(int(raw)))
			}
		}
		col.Codes[i] = code
	}
	return col
}
