package waste

import (
	"io"
	"slices"
	"strconv"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/report"
)

// CSV writes waste.csv: a line for each cause of waste of each product on each
// field, SI units. The lines of a field and product add up to its waste. The run of
// the field's assessment is beside that of the whole.
func (d *Document) CSV(out io.Writer) error {
	lines := [][]string{{"field", "job", "product", "cause", "ground_m2", "kg", "l", "n_kg", "p2o5_kg", "k2o_kg", "cost", "currency", "lapwing_run", "waste_run"}}
	for i := range d.Fields {
		f := &d.Fields[i]
		for k := range f.Tallies {
			tally := &f.Tallies[k]
			causes := tally.Causes()
			if tally.Slivers.Area > 0 {
				causes = append(causes, agronomy.CauseShare{Cause: "too small", Amount: tally.Slivers})
			}
			for _, c := range causes {
				lines = append(lines, slices.Concat([]string{f.Name, f.Job, tally.Product, string(c.Cause)}, amountCells(c.Amount), []string{tally.Currency, f.Run, d.Run}))
			}
		}
	}
	return report.WriteCSV(out, d.Run, lines)
}

// FieldsCSV writes waste-fields.csv: a line for each product on each field,
// with the interval that holds what was truly wasted nine times in ten.
func (d *Document) FieldsCSV(out io.Writer) error {
	head := []string{"field", "job", "area_m2", "product"}
	for _, of := range []string{"applied", "wasted", "low", "high"} {
		for _, unit := range []string{"ground_m2", "kg", "l", "n_kg", "p2o5_kg", "k2o_kg", "cost"} {
			head = append(head, of+"_"+unit)
		}
	}
	lines := [][]string{append(head, "currency", "lapwing_run", "waste_run")}
	for i := range d.Fields {
		f := &d.Fields[i]
		for k := range f.Tallies {
			tally := &f.Tallies[k]
			low, high := make([]string, 7), make([]string, 7)
			if tally.Likely != nil {
				low, high = amountCells(tally.Likely.Low), amountCells(tally.Likely.High)
			}
			lines = append(lines, slices.Concat([]string{f.Name, f.Job, string(assess.AppendSquareMetres(nil, f.Area)), tally.Product},
				amountCells(tally.Applied), amountCells(tally.Wasted), low, high, []string{tally.Currency, f.Run, d.Run}))
		}
	}
	return report.WriteCSV(out, d.Run, lines)
}

// amountCells writes an amount for a CSV file; "" is not known.
func amountCells(a agronomy.Amount) []string {
	cell := func(v *float64, by float64) string {
		if v == nil {
			return ""
		}
		return strconv.FormatFloat(*v*by, 'f', -1, 64)
	}
	return []string{
		string(assess.AppendSquareMetres(nil, a.Area)), cell(a.Mass, 1), cell(a.Volume, assess.Litres),
		cell(a.N, 1), cell(a.Phosphate, 1), cell(a.Potash, 1), cell(a.Cost, 1),
	}
}
