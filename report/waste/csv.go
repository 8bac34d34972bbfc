package waste

import (
	"io"
	"slices"
	"strconv"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/cause"
	"lapwing/coverage/figure"
	"lapwing/coverage/quantity"
	"lapwing/report"
)

// CSV writes waste.csv: a line for each cause of waste of each product on each
// field, as measured, in SI units and in those that were asked for. The lines of a
// field and product add up to its waste. The run of the field's assessment is beside
// that of the whole.
func (d *Document) CSV(out io.Writer) error {
	amounts := d.amountColumns()
	lines := [][]string{slices.Concat([]string{"field", "job", "product", "cause"}, amounts.heads(""), []string{"currency", "year", "lapwing_run", "waste_run"})}
	for i := range d.Fields {
		f := &d.Fields[i]
		for k := range f.Tallies {
			tally := &f.Tallies[k]
			causes := tally.Causes()
			if tally.Slivers.Area > 0 {
				causes = append(causes, agronomy.CauseShare{Cause: "too small", Amount: tally.Slivers})
			}
			for _, c := range causes {
				lines = append(lines, slices.Concat([]string{f.Name, f.Job, tally.Product, string(c.Cause)}, amounts.cells(&c.Amount), []string{tally.Currency, yearCell(f.Year), f.Run, d.Run}))
			}
		}
	}
	return report.WriteCSV(out, d.Run, lines)
}

// FieldsCSV writes waste-fields.csv: a line for each product on each field: what was
// put down, the best estimate of what was wasted, between what that lies nine times
// in ten, and what was measured. A field without products has a line that names none.
func (d *Document) FieldsCSV(out io.Writer) error {
	amounts := d.amountColumns()
	head := []string{"field", "job", "area_m2", "product"}
	for _, of := range []string{"applied", "best", "low", "high", "wasted"} {
		head = append(head, amounts.heads(of+"_")...)
	}
	lines := [][]string{append(head, "currency", "year", "lapwing_run", "waste_run")}
	for i := range d.Fields {
		f := &d.Fields[i]
		first := []string{f.Name, f.Job, string(figure.AppendSquareMetres(nil, f.Area))}
		if !f.hasProducts() {
			lines = append(lines, slices.Concat(first, make([]string, 2+5*len(amounts)), []string{yearCell(f.Year), f.Run, d.Run}))
		}
		for k := range f.Tallies {
			tally := &f.Tallies[k]
			none := make([]string, len(amounts))
			middle, low, high := none, none, none
			if l := tally.Likely; l != nil {
				middle, low, high = amounts.cells(&l.Middle), amounts.cells(&l.Low), amounts.cells(&l.High)
			}
			lines = append(lines, slices.Concat(first, []string{tally.Product},
				amounts.cells(&tally.Applied), middle, low, high, amounts.cells(&tally.Wasted), []string{tally.Currency, yearCell(f.Year), f.Run, d.Run}))
		}
	}
	return report.WriteCSV(out, d.Run, lines)
}

// MatrixCSV writes waste-matrix.csv: the waste by field and cause as measured, of
// each nutrient and then of each product, with the sum of each row and of each
// column. A column has one unit: SI, then the one that was asked for.
func (d *Document) MatrixCSV(out io.Writer) error {
	fields := d.group(everyYear)
	var list []agronomy.Matrix
	var causes []string
	var units []matrixUnit
	for _, m := range agronomy.Measures(fields.lists()) {
		x := agronomy.NewMatrix(m, fields.lists(), fields.areas())
		list = append(list, x)
		for _, c := range x.Causes {
			if !slices.Contains(causes, string(c)) {
				causes = append(causes, string(c))
			}
		}
		for _, u := range []quantity.Units{quantity.Metric, d.Units} {
			if n := (matrixUnit{unitOf(&m), u}); !slices.Contains(units, n) {
				units = append(units, n)
			}
		}
	}
	head := []string{"field", "job", "year", "of", "kind"}
	for _, n := range units {
		for _, c := range slices.Concat(causes, []string{"too small", "all"}) {
			head = append(head, c+", "+n.name(n.system))
		}
		head = append(head, "all, "+n.over().name(n.system))
	}
	lines := [][]string{append(head, "lapwing_run", "waste_run")}
	for k := range list {
		x := &list[k]
		n := unitOf(&x.Measure)
		kind := "product"
		if x.Nutrient != "" {
			kind = "nutrient"
		}
		add := func(field, job, year string, r *agronomy.MatrixRow, run string) {
			line := []string{field, job, year, measureName(&x.Measure), kind}
			for _, as := range units {
				if as.unit != n {
					line = append(line, make([]string, len(causes)+3)...)
					continue
				}
				cell := func(n unit, v float64) {
					line = append(line, strconv.FormatFloat(n.in(as.system, v), 'f', -1, 64))
				}
				for _, c := range causes {
					v := 0.0
					if at := slices.IndexFunc(x.Causes, func(o cause.OverlapCause) bool { return string(o) == c }); at >= 0 {
						v = r.ByCause[at]
					}
					cell(n, v)
				}
				cell(n, r.Slivers)
				cell(n, r.All)
				cell(as.over(), r.PerArea())
			}
			lines = append(lines, append(line, run, d.Run))
		}
		for i := range x.Rows {
			f := fields[x.Rows[i].Field]
			add(f.Name, f.Job, yearCell(f.Year), &x.Rows[i], f.Run)
		}
		years := d.years()
		for _, y := range years {
			sum := x.Total(func(r *agronomy.MatrixRow) bool { return fields[r.Field].Year == y })
			add(allFields, "", yearCell(y), &sum, "")
		}
		if len(years) > 1 {
			sum := x.Total(func(*agronomy.MatrixRow) bool { return true })
			add(allFields, "", "all", &sum, "")
		}
	}
	return report.WriteCSV(out, d.Run, lines)
}

// allFields names the lines that add up fields.
const allFields = "all fields"

// A matrixUnit is a unit in one system of units.
type matrixUnit struct {
	unit
	system quantity.Units
}

func (n matrixUnit) over() unit { return unit{byVolume: n.byVolume, perArea: true} }

func yearCell(year int) string {
	if year == 0 {
		return ""
	}
	return strconv.Itoa(year)
}

// An amountColumn is one figure of an amount in one unit.
type amountColumn struct {
	name string
	cell func(*agronomy.Amount) string // "" is not known
}

type amountColumns []amountColumn

// amountColumns are the columns of an amount: SI, then what was asked for where
// that is another unit.
func (d *Document) amountColumns() amountColumns {
	column := func(name string, by float64, of func(*agronomy.Amount) *float64) amountColumn {
		return amountColumn{name, func(a *agronomy.Amount) string {
			v := of(a)
			if v == nil {
				return ""
			}
			return strconv.FormatFloat(*v*by, 'f', -1, 64)
		}}
	}
	ground := func(name string, one float64) amountColumn {
		return amountColumn{name, func(a *agronomy.Amount) string {
			return strconv.FormatFloat(a.Area.SquareMetres()/one, 'f', -1, 64)
		}}
	}
	mass := func(a *agronomy.Amount) *float64 { return a.Mass }
	volume := func(a *agronomy.Amount) *float64 { return a.Volume }
	nutrients := []struct {
		name string
		of   func(*agronomy.Amount) *float64
	}{
		{"n", func(a *agronomy.Amount) *float64 { return a.N }},
		{"p2o5", func(a *agronomy.Amount) *float64 { return a.Phosphate }},
		{"k2o", func(a *agronomy.Amount) *float64 { return a.Potash }},
	}
	out := amountColumns{
		{"ground_m2", func(a *agronomy.Amount) string { return string(figure.AppendSquareMetres(nil, a.Area)) }},
		column("kg", 1, mass), column("l", figure.Litres, volume),
	}
	for _, n := range nutrients {
		out = append(out, column(n.name+"_kg", 1, n.of))
	}
	if d.Units == quantity.US {
		out = append(out, ground("ground_ac", quantity.Acre), column("lb", 1/quantity.Pound, mass), column("gal", 1/quantity.Gallon, volume))
		for _, n := range nutrients {
			out = append(out, column(n.name+"_lb", 1/quantity.Pound, n.of))
		}
	} else {
		out = append(out, ground("ground_ha", quantity.Hectare))
	}
	return append(out, column("cost", 1, func(a *agronomy.Amount) *float64 { return a.Cost }))
}

func (c amountColumns) heads(of string) []string {
	out := make([]string, len(c))
	for i := range c {
		out[i] = of + c[i].name
	}
	return out
}

func (c amountColumns) cells(a *agronomy.Amount) []string {
	out := make([]string, len(c))
	for i := range c {
		out[i] = c[i].cell(a)
	}
	return out
}
