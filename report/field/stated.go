package field

import (
	"bytes"
	"fmt"
	"strings"
	"time"

	"lapwing/coverage/assess"
	"lapwing/coverage/quantity"
	"lapwing/report/page"
	"lapwing/report/words"
)

// statedName is what a task set says a figure of.
func statedName(kind assess.StatedKind) string {
	switch kind {
	case assess.StatedField:
		return "Field"
	case assess.StatedSwept:
		return "Ground worked, laps counted"
	case assess.StatedDistance:
		return "Distance at work"
	case assess.StatedTime:
		return "Time at work"
	}
	return "Put down"
}

// statedFigure writes a figure of a kind.
func statedFigure(u quantity.Units, kind assess.StatedKind, v float64) string {
	switch kind {
	case assess.StatedField, assess.StatedSwept:
		return u.SquareMetres(v)
	case assess.StatedDistance:
		return u.Metres(v)
	case assess.StatedTime:
		return words.Hours(time.Duration(v * float64(time.Second)))
	case assess.StatedVolume:
		return u.Volume(v / 1000)
	}
	return u.Mass(v)
}

// A statedRow is one figure that a task set says, beside ours.
type statedRow struct{ name, set, measured, off string }

func (d *Document) statedRows(u quantity.Units) (rows []statedRow) {
	for i := range d.Stated {
		s := &d.Stated[i]
		row := statedRow{name: statedName(s.Kind), set: statedFigure(u, s.Kind, s.Set)}
		if s.Measured != nil {
			row.measured = statedFigure(u, s.Kind, *s.Measured)
		}
		if off, known := s.Off(); known {
			sign := "+"
			if off < 0 {
				sign, off = "-", -off
			}
			row.off = sign + quantity.Number(100*off, 1) + " %"
			if off > 10 { // in another unit, or of another day
				row.off = "over 10 times"
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// textStated is the table of what the task set itself says.
func (d *Document) textStated(b *bytes.Buffer) {
	rows := d.statedRows(d.Units)
	if len(rows) == 0 {
		return
	}
	line := func(name, set, measured, off string) {
		fmt.Fprintln(b, strings.TrimRight(fmt.Sprintf("%s %12s %12s %12s", words.Pad(name, 32), set, measured, off), " "))
	}
	b.WriteByte('\n')
	line("The task set itself", "says", "measured", "difference")
	for _, r := range rows {
		line("  "+r.name, r.set, r.measured, r.off)
	}
}

func (d *Document) statedTable() page.Table {
	t := page.Table{Caption: "What the task set itself says of the field and the work, and what was measured",
		Columns: []page.Column{page.Words("Figure"), page.Figures("It says"), page.Figures("Measured"), page.Figures("Difference")}}
	us, metric := d.statedRows(quantity.US), d.statedRows(quantity.Metric)
	for i := range us {
		of := func(u quantity.Units) statedRow {
			if u == quantity.Metric {
				return metric[i]
			}
			return us[i]
		}
		t.Add(words.Same(us[i].name), d.both(func(u quantity.Units) string { return of(u).set }),
			d.both(func(u quantity.Units) string { return of(u).measured }), words.Same(us[i].off))
	}
	return t
}
