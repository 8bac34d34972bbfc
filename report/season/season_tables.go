package season

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lapwing/coverage"
	"lapwing/coverage/quantity"
	"lapwing/report/page"
	"lapwing/report/words"
)

// unit picks a word by the system of units.
func (s *Book) unit(us, metric string) words.Text {
	d := words.Text{Shown: us, US: us, Metric: metric}
	if s.Units == quantity.Metric {
		d.Shown = metric
	}
	return d
}

// A sorting row keeps the text of each cell with what it sorts by.
type sorting struct {
	texts []words.Text
	by    map[int]float64
}

func (w *sorting) text(t words.Text) { w.texts = append(w.texts, t) }

func (w *sorting) figure(t words.Text, by float64) {
	if w.by == nil {
		w.by = map[int]float64{}
	}
	w.by[len(w.texts)] = by
	w.texts = append(w.texts, t)
}

// put adds the row to a table.
func (w *sorting) put(t *page.Table) *page.Row {
	line := t.Add(w.texts...)
	for i, v := range w.by {
		line.By(i, v)
	}
	return line
}

// costs reports whether anything wasted has a price.
func (s *Book) costs() bool { return len(s.currencies()) > 0 }

func (w *sorting) purse(p purse) {
	v := 0.0
	for _, c := range p.currencies() {
		v += p[c] // of several currencies the sum only sorts
	}
	w.figure(words.Same(p.text()), v)
}

// area is a figure of m² in a column headed by acres or hectares.
func (w *sorting) area(u quantity.Units, m2 float64) {
	w.figure(words.Both(u, func(u quantity.Units) string { return u.SquareMetresFigure(m2) }), m2)
}

// fieldTable has a row for each sheet.
func (s *Book) fieldTable() page.Table {
	ground := s.unit("acres", "ha")
	t := page.Table{
		ID: "fields", Label: "Table of fields", Sorts: true, Empty: "No sheets.",
		Caption: "In the order of what needs attention. Choose a head to sort by it, a field to open its sheet.",
		Columns: []page.Column{
			page.Words("No."), page.Classed("Field", "name"), page.Classed("Worked", "when"), page.FiguresIn("Area", ground), page.FiguresIn("Skips", ground),
			page.Figures("Of field"), page.FiguresIn("Not worked yet", ground), page.FiguresIn("Edge open", s.unit("ft", "m")),
			page.FiguresIn("Worked twice", ground), page.FiguresIn("Outside", ground),
		},
	}
	nitrogen, costs := s.total().nitrogenKnown, s.costs()
	if nitrogen {
		t.Columns = append(t.Columns, page.FiguresIn("N wasted", s.unit("lb", "kg")))
	}
	if costs {
		t.Columns = append(t.Columns, page.Figures("Wasted"))
	}
	t.Columns = append(t.Columns, page.Figures("Efficiency"))
	for _, sheet := range s.Sheets {
		var w sorting
		g := &sheet.Ground
		w.figure(words.Same(fmt.Sprint(sheet.Number)), float64(sheet.Number))
		w.text(words.Same(s.label(sheet)))
		w.text(words.Same(sheet.days()))
		w.area(s.Units, sheet.Field.Area.Float())
		w.area(s.Units, sheet.skipped())
		w.figure(words.Same(words.Share(sheet.skipped(), sheet.Field.Area.Float())), sheet.skipped()/max(sheet.Field.Area.Float(), 1))
		w.area(s.Units, g.Remainder.Float())
		w.figure(words.Both(s.Units, func(u quantity.Units) string { return u.LengthFigure(sheet.open()) }), sheet.open())
		w.area(s.Units, g.Excess.Float())
		w.area(s.Units, g.OverReach.Float())
		if nitrogen {
			kg, known := sheet.nitrogen()
			w.optional(words.Both(s.Units, func(u quantity.Units) string { return u.MassFigure(kg) }), kg, known)
		}
		if costs {
			w.purse(sheet.cost())
		}
		e, known := sheet.efficiency()
		w.optional(words.Same(words.Share(e, 1)), e, known)
		line := w.put(&t)
		line.Cells[1].Link = sheet.Dir + "/report.html"
		line.Cells[2].Sort = sheet.day()
	}
	return t
}

// optional is a figure that may not be known; it then sorts below all others.
func (w *sorting) optional(t words.Text, by float64, known bool) {
	if !known {
		t, by = words.Same("not known"), -1
	}
	w.figure(t, by)
}

// A tally is what one machine or one operator did on all sheets.
type tally struct {
	name                         string
	with                         []string // the operators of a machine, the machines of an operator
	fields                       int
	swept, fresh, lapped, beside float64 // m²
	effort                       effort
	cost                         purse
}

// tallies adds up what was done on the current sheets by machine, under the name that key gives it.
func (s *Book) tallies(key func(machine, operator string) (name, with string)) []*tally {
	by := map[string]*tally{}
	var out []*tally
	of := func(sheet *Sheet, machine string) *tally {
		name, with := key(machine, sheet.operator(machine))
		t := by[name]
		if t == nil {
			t = &tally{name: name, cost: purse{}}
			by[name] = t
			out = append(out, t)
		}
		if with != "" && !slices.Contains(t.with, with) {
			t.with = append(t.with, with)
		}
		return t
	}
	for _, sheet := range s.current() {
		here := map[*tally]bool{}
		for i := range sheet.Passes {
			p := &sheet.Passes[i]
			t := of(sheet, p.Machine)
			here[t] = true
			t.swept += p.Swept.Float()
			t.fresh += p.New.Float()
			t.lapped += p.Overlap.Float()
		}
		for i := range sheet.Times {
			of(sheet, sheet.Times[i].Machine).effort.add(&sheet.Times[i])
		}
		for i := range sheet.Skips {
			if sheet.Skips[i].Cause == coverage.Unworked {
				continue
			}
			once := map[*tally]bool{}
			for _, m := range sheet.Skips[i].Machines {
				if t := of(sheet, m); !once[t] {
					once[t] = true
					t.beside += sheet.Skips[i].Area.Float()
				}
			}
		}
		for i := range sheet.Products {
			p := &sheet.Products[i]
			for _, m := range p.Waste.ByMachine {
				if m.Cost != nil {
					of(sheet, m.Machine).cost[p.Currency] += float64(*m.Cost)
				}
			}
		}
		for t := range here {
			t.fields++
		}
	}
	for _, t := range out {
		slices.Sort(t.with)
	}
	slices.SortFunc(out, func(a, b *tally) int { return cmp.Or(cmp.Compare(b.lapped, a.lapped), cmp.Compare(a.name, b.name)) })
	return out
}

// machineTallies and operatorTallies sum up by who did it. Whose operator
// nobody named is in one row.
func (s *Book) machineTallies() []*tally {
	return s.tallies(func(machine, operator string) (string, string) { return machine, operator })
}

func (s *Book) operatorTallies() []*tally {
	return s.tallies(func(machine, operator string) (string, string) {
		if operator == "" {
			operator = "not named"
		}
		return operator, machine
	})
}

func (s *Book) tallyTable(id, one, with string, tallies []*tally) page.Table {
	ground := s.unit("acres", "ha")
	t := page.Table{
		ID: id, Label: "Table of " + id, Sorts: true, Empty: "No passes.",
		Caption: "Worked twice is ground that an earlier pass had covered. A skip between two machines counts beside each.",
		Columns: []page.Column{
			page.Classed(one, "name"), page.Classed(with, "name"), page.Figures("Fields"), page.FiguresIn("Swept", ground), page.FiguresIn("New ground", ground),
			page.FiguresIn("Worked twice", ground), page.Figures("Of swept"), page.FiguresIn("Skips beside it", ground),
		},
	}
	costs := s.costs()
	if costs {
		t.Columns = append(t.Columns, page.Figures("Wasted"))
	}
	t.Columns = append(t.Columns, page.Figures("Hours in fields"), page.FiguresIn("Pace", s.unit("acres/h", "ha/h")), page.Figures("Efficiency"))
	for _, line := range tallies {
		var w sorting
		w.text(words.Same(line.name))
		w.text(words.Same(strings.Join(line.with, ", ")))
		w.figure(words.Same(fmt.Sprint(line.fields)), float64(line.fields))
		w.area(s.Units, line.swept)
		w.area(s.Units, line.fresh)
		w.area(s.Units, line.lapped)
		w.figure(words.Same(words.Share(line.lapped, line.swept)), line.lapped/max(line.swept, 1))
		w.area(s.Units, line.beside)
		if costs {
			w.purse(line.cost)
		}
		timed := line.effort.seconds > 0
		w.optional(words.Same(quantity.Number(line.effort.seconds/3600, 1)), line.effort.seconds, timed)
		pace := line.effort.fresh / max(line.effort.seconds, 1)
		w.optional(words.Both(s.Units, func(u quantity.Units) string { return u.CapacityFigure(pace) }), pace, timed)
		e, known := line.effort.efficiency()
		w.optional(words.Same(words.Share(e, 1)), e, known)
		w.put(&t)
	}
	return t
}

func (s *Book) failureTable() page.Table {
	t := page.Table{
		ID: "failed", Label: "Table of jobs that could not be assessed", Columns: []page.Column{page.Classed("Job", "name"), page.Classed("Why", "where")},
		Caption: "Put right what is said here and run the same command again: only these are done.",
	}
	for _, f := range s.Failed {
		t.Add(words.Same(f.Job), words.Same(f.Why))
	}
	return t
}
