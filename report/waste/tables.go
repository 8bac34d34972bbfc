package waste

import (
	"fmt"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/quantity"
	"lapwing/report/page"
	"lapwing/report/words"
)

// A matrix is the waste of fields by cause in one measure, ready to be placed.
type matrix struct {
	ID, Name string
	Unit     words.Text
	Table    page.Table
}

// matrices are the waste by field and cause: of each nutrient, then of each product.
func (d *Document) matrices() []matrix {
	all := d.group(everyYear)
	var out []matrix
	for i, m := range agronomy.Measures(all.lists()) {
		x := agronomy.NewMatrix(m, all.lists(), all.areas())
		out = append(out, matrix{ID: fmt.Sprintf("matrix-%d", i), Name: measureName(&m), Unit: unitOf(&m).text(d.Units), Table: d.matrixTable(&x, all)})
	}
	return out
}

func (d *Document) matrixTable(x *agronomy.Matrix, fields group) page.Table {
	n := unitOf(&x.Measure)
	per := unit{byVolume: n.byVolume, perArea: true}
	name := measureName(&x.Measure)
	t := page.Table{
		Label:   "Table of " + words.Clean(name) + " wasted by field and cause",
		Caption: "As measured. Each row adds up to All, each column to its last row; figures are rounded one by one.",
		Columns: []page.Column{page.Names("Field", "")},
	}
	years := d.years()
	if len(years) > 1 {
		t.Columns = append(t.Columns, page.Words("Year"))
	}
	for _, c := range x.Causes {
		t.Columns = append(t.Columns, page.FiguresIn(words.Capital(words.WasteCause(c)), n.text(d.Units)))
	}
	t.Columns = append(t.Columns, page.FiguresIn("Too small to look into", n.text(d.Units)),
		page.FiguresIn("All", n.text(d.Units)), page.FiguresIn("Over the field", per.text(d.Units)))
	whole := x.Total(func(*agronomy.MatrixRow) bool { return true })
	decimals := n.decimals(whole.All)
	add := func(name string, year words.Text, r *agronomy.MatrixRow) *page.Row {
		cells := []words.Text{words.Same(name)}
		if len(years) > 1 {
			cells = append(cells, year)
		}
		for k := range r.ByCause {
			cells = append(cells, n.figure(d.Units, &r.ByCause[k], decimals))
		}
		perArea := r.PerArea()
		return t.Add(append(cells, n.figure(d.Units, &r.Slivers, decimals), n.figure(d.Units, &r.All, decimals), per.figure(d.Units, &perArea, 2))...)
	}
	for i := range x.Rows {
		f := fields[x.Rows[i].Field]
		add(f.Name, words.Same(yearName(f.Year)), &x.Rows[i])
	}
	if len(x.Rows) < 2 {
		return t
	}
	if len(years) > 1 {
		for _, y := range years {
			sum := x.Total(func(r *agronomy.MatrixRow) bool { return fields[r.Field].Year == y })
			add("All fields", words.Same(yearName(y)), &sum).Class = "sum"
		}
		add("All fields", words.Same("all years"), &whole).Class = "sum"
		return t
	}
	add("All fields", words.Text{}, &whole).Class = "sum"
	return t
}

// yearName writes a year; 0 is not known.
func yearName(year int) string {
	if year == 0 {
		return "not known"
	}
	return fmt.Sprint(year)
}

// A counted is one row of a table of what was wasted: of a nutrient or a product on
// fields that are taken together.
type counted struct {
	field  string
	year   string
	of     string
	sum    agronomy.Sum
	m2     float64         // of the fields
	tally  *agronomy.Tally // nil for a nutrient
	mostBy string
}

// rowsOf are the nutrients and products of a group, each a row.
func rowsOf(g group, field, year string) (mass, volume []counted) {
	lists := g.lists()
	for _, m := range agronomy.Measures(lists) {
		if m.Nutrient != "" {
			sum, _ := m.Sum(lists)
			mass = append(mass, counted{field: field, year: year, of: m.Nutrient, sum: sum, m2: g.areaOf(&m).SquareMetres()})
		}
	}
	all := g.together()
	for i := range all {
		t := &all[i]
		m := measureOf(t)
		sum, some := m.Sum([][]agronomy.Tally{{*t}})
		if !some {
			continue // neither mass nor volume is known; the warnings say why
		}
		row := counted{field: field, year: year, of: t.Product, sum: sum, m2: g.areaWith(func(o *agronomy.Tally) bool { return o.Product == t.Product && o.Currency == t.Currency }).SquareMetres(), tally: t}
		if causes := t.Causes(); len(causes) > 0 {
			row.mostBy = words.WasteCause(causes[0].Cause)
		}
		if m.ByVolume {
			volume = append(volume, row)
		} else {
			mass = append(mass, row)
		}
	}
	return mass, volume
}

// countedTables are the tables of some rows: one of masses, and one of volumes where
// a product is known by volume only, so that a column has one unit.
func (d *Document) countedTables(id, label, caption string, named bool, mass, volume []counted) []page.Table {
	out := []page.Table{d.countedTable(id, label, caption, named, false, mass)}
	if len(volume) > 0 {
		out = append(out, d.countedTable(id+"-volume", label+", by volume", "Products whose mass is not known.", named, true, volume))
	}
	return out
}

func (d *Document) countedTable(id, label, caption string, named, byVolume bool, rows []counted) page.Table {
	n, per := unit{byVolume: byVolume}, unit{byVolume: byVolume, perArea: true}
	t := page.Table{ID: id, Label: label, Caption: caption, Empty: "No products given.", Sorts: true}
	if named {
		t.Columns = append(t.Columns, page.Names("Field", ""))
	}
	if d.severalYears() {
		t.Columns = append(t.Columns, page.Words("Year"))
	}
	t.Columns = append(t.Columns, page.Names("Of", ""))
	most, likely := 0.0, false
	var tallies []agronomy.Tally
	for i := range rows {
		r := &rows[i]
		most = max(most, r.sum.Applied)
		likely = likely || r.sum.Likely != nil
		if r.tally != nil {
			tallies = append(tallies, *r.tally)
		}
	}
	figures := func(names ...string) {
		for _, name := range names {
			t.Columns = append(t.Columns, page.FiguresIn(name, n.text(d.Units)))
		}
	}
	if likely {
		figures("Wasted, best estimate", "At least", "At most", "As measured", "Put down")
	} else {
		figures("Wasted, as measured", "Put down")
	}
	t.Columns = append(t.Columns, page.FiguresIn("Share", words.Same("%")), page.FiguresIn("Over the field", per.text(d.Units)))
	money := currencies(tallies)
	for _, c := range money {
		t.Columns = append(t.Columns, page.FiguresIn("Cost", words.Same(words.Plain(c, 8))))
	}
	if named {
		t.Columns = append(t.Columns, page.Words("Most by"))
	}
	// What was put down is a hundred times what was wasted, which has the digits.
	decimals := n.decimals(most / 100)
	for i := range rows {
		r := &rows[i]
		var cells []words.Text
		var by []float64
		add := func(text words.Text, v *float64) {
			cells = append(cells, text)
			if v == nil {
				by = append(by, -1)
			} else {
				by = append(by, *v)
			}
		}
		if named {
			cells = append(cells, words.Same(r.field))
		}
		if d.severalYears() {
			cells = append(cells, words.Same(r.year))
		}
		cells = append(cells, words.Same(r.of))
		first := len(cells)
		amount := func(v *float64) { add(n.figure(d.Units, v, decimals), v) }
		if likely {
			if s := r.sum.Likely; s != nil {
				amount(&s.Middle)
				amount(&s.Low)
				amount(&s.High)
			} else {
				add(words.Same("not told"), nil)
				add(words.Text{}, nil)
				add(words.Text{}, nil)
			}
		}
		amount(&r.sum.Wasted)
		amount(&r.sum.Applied)
		if share, ok := r.sum.Share(); ok {
			add(words.Same(quantity.Number(100*share, 1)), &share)
		} else {
			add(words.Text{}, nil)
		}
		over := r.sum.Best() / r.m2
		add(per.figure(d.Units, &over, 2), &over)
		for _, c := range money {
			switch {
			case r.tally == nil || r.tally.Currency != "" && r.tally.Currency != c:
				add(words.Text{}, nil)
			case r.tally.Currency == "":
				add(words.Same("no price"), nil)
			default:
				cost := best(r.tally).Cost
				if cost == nil {
					add(words.Same("not known"), nil)
				} else {
					add(words.Same(quantity.Number(*cost, 2)), cost)
				}
			}
		}
		if named {
			cells = append(cells, words.Same(r.mostBy))
		}
		row := t.Add(cells...)
		for k, v := range by {
			row.By(first+k, v)
		}
	}
	return t
}

// productTables are what was put down and wasted on all fields, by year where there
// are several.
func (d *Document) productTables() []page.Table {
	var mass, volume []counted
	for _, y := range d.years() {
		m, v := rowsOf(d.group(y), "", yearName(y))
		mass, volume = append(mass, m...), append(volume, v...)
	}
	if d.severalYears() {
		m, v := rowsOf(d.group(everyYear), "", "all years")
		mass, volume = append(mass, m...), append(volume, v...)
	}
	return d.countedTables("products", "Table of waste by product", "All fields together. "+likelyCaption, false, mass, volume)
}

// fieldTables are the waste of each nutrient and product on each field.
func (d *Document) fieldTables() []page.Table {
	var mass, volume []counted
	for _, f := range d.group(everyYear) {
		m, v := rowsOf(group{f}, f.Name, yearName(f.Year))
		mass, volume = append(mass, m...), append(volume, v...)
	}
	return d.countedTables("by-field", "Table of waste by field", "A row for each nutrient and each product of a field; the columns sort. "+likelyCaption, true, mass, volume)
}

const likelyCaption = "The true figure lies between \"at least\" and \"at most\" nine times in ten. Share, cost and what it is over the field are of the first figure."

// causeTable is what each cause wasted on all fields, and what mends it.
func (d *Document) causeTable(all []agronomy.Tally, changes []agronomy.Change) page.Table {
	n := unit{}
	t := page.Table{
		ID: "causes", Label: "Table of waste by cause", Empty: "Nothing was wasted.",
		Caption: "As measured. Ground that two products went on counts twice.",
		Columns: []page.Column{page.Words("Cause"), page.FiguresIn("Ground", words.Both(d.Units, quantity.Units.AreaUnit))},
	}
	nitrogen, decimals := false, 2
	for i := range changes {
		nitrogen = nitrogen || changes[i].N > 0
		decimals = min(decimals, n.decimals(changes[i].N))
	}
	if nitrogen {
		t.Columns = append(t.Columns, page.FiguresIn("N", n.text(d.Units)))
	}
	money := currencies(all)
	for _, c := range money {
		t.Columns = append(t.Columns, page.FiguresIn("Cost", words.Same(words.Plain(c, 8))))
	}
	t.Columns = append(t.Columns, page.Classed("What mends it", "where"))
	for i := range changes {
		c := &changes[i]
		cells := []words.Text{words.Same(words.Capital(words.WasteCause(c.Cause))),
			words.Both(d.Units, func(u quantity.Units) string { return u.AreaFigure(c.Area) })}
		if nitrogen {
			cells = append(cells, n.figure(d.Units, &c.N, decimals))
		}
		for _, currency := range money {
			sum := 0.0
			for k := range c.Saves {
				if all[k].Currency == currency && c.Saves[k].Cost != nil {
					sum += *c.Saves[k].Cost
				}
			}
			cells = append(cells, words.Same(quantity.Number(sum, 2)))
		}
		t.Add(append(cells, words.Same(words.Capital(words.Remedy(c.Cause))))...)
	}
	return t
}
