package field

import (
	"io"
	"strconv"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/figure"
	"lapwing/report"
)

// The tables of an assessment as CSV (RFC 4180): SI units, "" where something
// is not known, names as in summary.json. The last column of each is the run.

// ProductsCSV writes products.csv: a line for each product.
func (d *Document) ProductsCSV(w io.Writer) error {
	lines := [][]string{{
		"product", "rate_kg_per_ha", "rate_l_per_ha", "density_kg_per_m3", "working", "swept_m2", "wasted_m2", "short_m2",
		"applied_kg", "wasted_kg", "short_kg", "applied_l", "wasted_l", "short_l", "applied_n_kg", "wasted_n_kg", "short_n_kg",
		"wasted_cost", "short_cost", "currency", "lapwing_run",
	}}
	for i := range d.Accounts {
		a := &d.Accounts[i]
		p := assess.ProductOf(a)
		working := ""
		if p.Working != nil {
			working = *p.Working
		}
		lines = append(lines, []string{
			p.Name, cellOf(p.MassRate), cellOf(p.VolumeRate), cellOf(p.Density), working,
			string(figure.AppendSquareMetres(nil, a.Applied.Area)), string(figure.AppendSquareMetres(nil, a.Wasted.Area)), string(figure.AppendSquareMetres(nil, a.Short.Area)),
			cellOf(p.Applied), cellOf(p.Wasted), cellOf(p.Short), cellOf(p.AppliedL), cellOf(p.WastedL), cellOf(p.ShortL),
			cellOf(p.Nitrogen.Applied), cellOf(p.Nitrogen.Wasted), cellOf(p.Nitrogen.Short),
			cellOf(p.WastedCost), cellOf(p.ShortCost), p.Currency, d.Run,
		})
	}
	return report.WriteCSV(w, d.Run, lines)
}

// FillsCSV writes fills.csv: a line for each fill of each tank, and one, of the
// kind "dry", for each stretch that was likely worked with the tank empty.
func (d *Document) FillsCSV(w io.Writer) error {
	lines := [][]string{{
		"product", "machine", "kind", "from_pass", "from_along_m", "from_lon", "from_lat", "from_time",
		"to_pass", "to_along_m", "to_lon", "to_lat", "to_time", "ground_m2", "left_l", "lapwing_run",
	}}
	for i := range d.Accounts {
		a := &d.Accounts[i]
		for _, l := range a.Tanks {
			line := func(kind string, from, to agronomy.PassPlace, ground float64, left string) {
				cells := []string{a.Product.Name, a.Map.Machines[l.Machine].Name, kind}
				for _, at := range []agronomy.PassPlace{from, to} {
					m := assess.MarkOf(a.Map, at)
					cells = append(cells, strconv.Itoa(m.Pass), marshalled(m.Along), marshalled(m.Lon), marshalled(m.Lat), m.Time)
				}
				lines = append(lines, append(cells, marshalled(figure.Number(ground)), left, d.Run))
			}
			for _, f := range l.Fills {
				line("fill", f.From, f.To, f.Area, marshalled(figure.Number(f.Left*figure.Litres)))
			}
			for _, dry := range l.Dry {
				line("dry", dry.From, dry.To, dry.Area, "")
			}
		}
	}
	return report.WriteCSV(w, d.Run, lines)
}

// TimesCSV writes times.csv: a line for each machine.
func (d *Document) TimesCSV(w io.Writer) error {
	lines := [][]string{{
		"machine", "from", "to", "working_s", "turning_s", "standing_s", "stopped_s", "travelling_s", "silent_s", "stops",
		"new_m2", "speed_mps", "capacity_m2_per_s", "theoretical_m2_per_s", "efficiency", "lapwing_run",
	}}
	for _, t := range d.Times() {
		cells := []string{t.Machine, t.From, t.To}
		for _, v := range []figure.Number{t.Working, t.Turning, t.Standing, t.Stopped, t.Travelling, t.Silent} {
			cells = append(cells, marshalled(v))
		}
		cells = append(cells, strconv.Itoa(len(t.Stops)), marshalled(t.New))
		for _, v := range []figure.Number{t.Speed, t.Capacity, t.Theoretical, t.Efficiency} {
			cells = append(cells, marshalled(v))
		}
		lines = append(lines, append(cells, d.Run))
	}
	return report.WriteCSV(w, d.Run, lines)
}

// cellOf is a figure for a table; "" where it is not known.
func cellOf(f *figure.Number) string {
	if f == nil {
		return ""
	}
	return marshalled(*f)
}

// marshalled writes a figure as summary.json does.
func marshalled(v interface{ MarshalJSON() ([]byte, error) }) string {
	b, err := v.MarshalJSON()
	if err != nil || string(b) == "null" {
		return ""
	}
	return string(b)
}
