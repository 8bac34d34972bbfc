package season

import (
	"fmt"

	"lapwing/coverage/quantity"
	"lapwing/report/page"
	"lapwing/report/words"
)

// fieldTable has a row for each entry of a season.
func (y *year) fieldTable() page.Table {
	m := measureOf(y.entries)
	ground := y.unit("acres", "ha")
	t := page.Table{
		ID: y.id("fields"), Label: "Table of fields", Sorts: true, Empty: "No fields.",
		Caption: m.says() + " Choose a column to sort by it, a field to open its page.",
		Columns: []page.Column{
			page.Words("No."), page.Names("Field", "name"), page.Classed("Worked", "when"), page.FiguresIn("Area", ground), y.column(m),
			page.Figures("Skips"), page.FiguresIn("Skipped", ground), page.Figures("Of field"), page.FiguresIn("Not worked yet", ground),
			page.FiguresIn("Edge open", y.unit("ft", "m")), page.FiguresIn("Worked twice", ground), page.FiguresIn("Outside", ground),
		},
	}
	total := y.total()
	nitrogen, costs := total.nitrogenKnown, len(total.cost) > 0
	if nitrogen {
		t.Columns = append(t.Columns, page.FiguresIn("N wasted", y.unit("lb", "kg")))
	}
	if costs {
		t.Columns = append(t.Columns, page.Figures("Wasted"))
	}
	t.Columns = append(t.Columns, page.Figures("Efficiency"))
	for _, entry := range y.entries {
		var w sorting
		g := &entry.Ground
		w.figure(words.Same(fmt.Sprint(entry.Number)), float64(entry.Number))
		w.text(words.Same(entry.Name()))
		w.text(words.Same(entry.days()))
		w.area(y.Units, entry.Field.Area.Float())
		m.figure(&w, y.Units, entry)
		w.figure(words.Same(fmt.Sprint(entry.skips())), float64(entry.skips()))
		w.area(y.Units, entry.skipped())
		w.figure(words.Same(words.Share(entry.skipped(), entry.Field.Area.Float())), entry.skipped()/max(entry.Field.Area.Float(), 1))
		w.area(y.Units, entry.unworked())
		w.figure(words.Both(y.Units, func(u quantity.Units) string { return u.LengthFigure(entry.open()) }), entry.open())
		w.area(y.Units, g.Excess.Float())
		w.area(y.Units, g.OverReach.Float())
		if nitrogen {
			kg, known := entry.nitrogen()
			w.optional(words.Both(y.Units, func(u quantity.Units) string { return u.MassFigure(kg) }), kg, known)
		}
		if costs {
			w.purse(entry.cost())
		}
		e, known := entry.efficiency()
		w.optional(words.Same(words.Share(e, 1)), e, known)
		line := w.put(&t)
		line.Cells[1].Link = entry.page()
		line.Cells[2].Sort = entry.day()
	}
	return t
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

// area is a figure of m² in a column headed by acres or hectares.
func (w *sorting) area(u quantity.Units, m2 float64) {
	w.figure(words.Both(u, func(u quantity.Units) string { return u.SquareMetresFigure(m2) }), m2)
}

// put adds the row to a table.
func (w *sorting) put(t *page.Table) *page.Row {
	line := t.Add(w.texts...)
	for i, v := range w.by {
		line.By(i, v)
	}
	return line
}

func (w *sorting) purse(p purse) {
	v := 0.0
	for _, c := range p.currencies() {
		v += p[c] // of several currencies the sum only sorts
	}
	w.figure(words.Same(p.text()), v)
}

// optional is a figure that may not be known; it then sorts below all others.
func (w *sorting) optional(t words.Text, by float64, known bool) {
	if !known {
		t, by = words.Same("not known"), -1
	}
	w.figure(t, by)
}

// unit picks a word by the system of units.
func (s *Book) unit(us, metric string) words.Text {
	d := words.Text{Shown: us, US: us, Metric: metric}
	if s.Units == quantity.Metric {
		d.Shown = metric
	}
	return d
}
