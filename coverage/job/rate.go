package job

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/gnsslog"
)

// A rateColumn is a column of a log that says how much was put down by area.
type rateColumn struct {
	column *gnsslog.Column
	unit   quantity.Value // what 1 in the column is
	of     string         // the rest of its name, as in plainName: of a product perhaps, or ""
}

// rateNames are what columns of logged rates are called, as in ourNames, the
// longer ones before those they hold. What else stands in the name, the unit
// aside, may be the product.
var rateNames = []string{"actualappliedrate", "actualrate", "appliedrate", "rateapplied", "applicationrate", "seedingrate", "seedrate", "rate"}

// notApplied are words in the names of columns of rates that are none of what
// was put down.
var notApplied = []string{"target", "setpoint", "desired", "planned", "prescri", "required", "control", "min", "max", "flow", "yield",
	"harvest", "sample", "sampling", "log", "turn", "speed", "drop"}

// rateUnits are the units of rates as they stand in names of columns, in
// lower case and without what separates words.
var rateUnits = map[string]string{
	"lbac": "lb/ac", "lbsac": "lb/ac", "lbacre": "lb/ac", "lbsacre": "lb/ac", "kgha": "kg/ha", "kgm2": "kg/m2", "tha": "t/ha", "tonac": "ton/ac",
	"galac": "gal/ac", "galacre": "gal/ac", "gpa": "gal/ac", "lha": "L/ha", "litreha": "L/ha", "literha": "L/ha",
	"seedsac": "seeds/ac", "seedsacre": "seeds/ac", "seedsft2": "seeds/ft2", "seedsm2": "seeds/m2", "seedsha": "seeds/ha",
	"lbnac": "lb N/ac", "kgnha": "kg N/ha",
}

// rateOf takes the name of a column apart; false where it is none of a rate.
// A unit that is not known is "".
func rateOf(name string) (of, unit string, ok bool) {
	plain, bracket := plainName(name)
	join := strings.NewReplacer("/", "", "per", "", " ", "", ".", "", "-", "", "_", "", "^", "", "*", "")
	plain = join.Replace(plain)
	if bracket != "" {
		unit = rateUnits[join.Replace(bracket)]
	} else {
		longest := ""
		for end := range rateUnits {
			if strings.HasSuffix(plain, end) && len(end) > len(longest) {
				longest = end
			}
		}
		plain, unit = strings.TrimSuffix(plain, longest), rateUnits[longest]
	}
	for _, base := range rateNames {
		before, after, found := strings.Cut(plain, base)
		if !found {
			continue
		}
		of = before + after
		for _, not := range notApplied {
			if strings.Contains(of, not) {
				return "", "", false
			}
		}
		if strings.HasPrefix(base, "seed") {
			of = "seed" + of
		}
		return of, unit, true
	}
	return "", "", false
}

// isRate reports whether a column of a name may be one of logged rates.
func isRate(name string) bool {
	_, _, ok := rateOf(name)
	return ok
}

// rateColumnsOf finds the columns of logged rates in a log; those without a
// unit are told by name.
func rateColumnsOf(log *gnsslog.Log) (found []rateColumn, bare []string) {
	for i := range log.Columns {
		col := &log.Columns[i]
		of, unit, ok := rateOf(col.Name)
		switch {
		case !ok:
		case unit == "":
			bare = append(bare, col.Name)
		default:
			found = append(found, rateColumn{column: col, unit: oneOfUnit(unit), of: of})
		}
	}
	return found, bare
}

func oneOfUnit(unit string) quantity.Value {
	v, err := quantity.Read("1 "+unit, quantity.Rate)
	if err != nil {
		panic("rateUnits: " + err.Error()) // a test reads all of them
	}
	return v
}

// rateMeaning says how the column of a rate is understood; "" where it has no
// unit.
func rateMeaning(of, unit string) string {
	switch {
	case unit == "":
		return ""
	case of == "":
		return "what was put down, in " + unit
	}
	return "what was put down of " + of + ", in " + unit
}

// A rateKey is what a product of the job says of its logged rate.
type rateKey struct {
	entry  entry
	kernel float64 // kg of one seed; 0 where nobody said
}

// noRate says in a job that a product's logged rate is not to be used.
const noRate = "none"

// ratesOf gives a track the rates of the products that its machine carries;
// pick is how its fixes were picked from the log.
func (r *reading) ratesOf(c columns, machine string, t *machine.Track, pick func(int) bool) *InputError {
	if len(r.job.Products) == 0 {
		return nil
	}
	rates, bare := c.rates, []string(nil)
	if c.by == nil {
		rates, bare = rateColumnsOf(c.log)
	}
	for _, name := range bare {
		if !r.namedElsewhere(rateColumn{column: &gnsslog.Column{Name: name}}) {
			r.warnOnce(field.Warning{File: c.file, Text: fmt.Sprintf("column %q: names no unit of a rate, such as lb/ac; left out", name)})
		}
	}
	var taken []*gnsslog.Column
	var rows []int
	for k := range r.job.Products {
		p := &r.job.Products[k]
		if !p.CarriedBy(machine) {
			continue
		}
		found, wrong := r.rateColumn(c, rates, machine, k)
		if wrong != nil {
			return wrong
		}
		if found == nil {
			continue
		}
		factor, ok := p.Share(found.unit.Kind, found.unit.Nutrient, r.rateKeys[k].kernel)
		if !ok {
			return &InputError{File: c.file, Where: "column " + strconv.Quote(found.column.Name),
				Found: fmt.Sprintf("a rate that cannot be compared with that of %s in the job", p.Name),
				Want:  "a density, an analysis or thousand_kernels of it, or logged_rate: none"}
		}
		if rows == nil {
			rows = rowsOf(c.log, pick)
		}
		if t.Rates == nil {
			t.Rates = make([][]float32, len(r.job.Products))
		}
		t.Rates[k] = r.shares(c, found, factor*found.unit.SI, rows)
		p.Logged = k + 1
		taken = append(taken, found.column)
		r.doubtRate(c, found, p, t, k)
	}
	r.warnOfOpen(c, machine, rates, taken)
	if t.Rates != nil {
		for i := range t.Fixes {
			t.Fixes[i].Row = int32(i)
			if t.NoClock { // rates come to passes by time; here the order stands in for it
				t.Fixes[i].Time = geo.Instant(i)
			}
		}
	}
	return nil
}

// rowsOf returns the fixes of a log that a track has.
func rowsOf(log *gnsslog.Log, pick func(int) bool) []int {
	rows := make([]int, 0, len(log.Fixes))
	for i := range log.Fixes {
		if pick == nil || pick(i) {
			rows = append(rows, i)
		}
	}
	return rows
}

// rateColumn chooses the column of a product's rate: the one that the job
// names; else one that has the product's name in its own; else, of a log with
// one column that bears no name, the only product that it can be of. nil
// where there is none.
func (r *reading) rateColumn(c columns, rates []rateColumn, machine string, product int) (*rateColumn, *InputError) {
	p := &r.job.Products[product]
	if key := r.rateKeys[product].entry; key.given() {
		return namedRate(c, key.text(""), rates)
	}
	rates = slices.DeleteFunc(slices.Clone(rates), func(rate rateColumn) bool { return r.namedElsewhere(rate) })
	fits := func(rate *rateColumn, p *agronomy.Product, k int) bool {
		_, ok := p.Share(rate.unit.Kind, rate.unit.Nutrient, r.rateKeys[k].kernel)
		return ok
	}
	for i := range rates {
		if rates[i].speaksOf(p.Name) && fits(&rates[i], p, product) {
			return &rates[i], nil
		}
	}
	var free []int // products that no column speaks of
	for k := range r.job.Products {
		other := &r.job.Products[k]
		spoken := slices.ContainsFunc(rates, func(rate rateColumn) bool { return rate.speaksOf(other.Name) && fits(&rate, other, k) })
		if other.CarriedBy(machine) && !spoken && !r.rateKeys[k].entry.given() {
			free = append(free, k)
		}
	}
	var open []*rateColumn // columns that speak of no product
	for i := range rates {
		if !slices.ContainsFunc(r.job.Products, func(p agronomy.Product) bool { return rates[i].speaksOf(p.Name) }) {
			open = append(open, &rates[i])
		}
	}
	var ours []*rateColumn
	for _, rate := range open {
		its := slices.DeleteFunc(slices.Clone(free), func(k int) bool { return !fits(rate, &r.job.Products[k], k) })
		if len(its) == 1 && its[0] == product {
			ours = append(ours, rate)
		}
	}
	if len(ours) == 1 && (ours[0].of == "" || len(open) == 1) {
		return ours[0], nil
	}
	return nil, nil
}

// warnOfOpen warns of columns of rates that no product of a machine took.
func (r *reading) warnOfOpen(c columns, machine string, rates []rateColumn, taken []*gnsslog.Column) {
	asked := false // a product that does not say itself which column is its own
	for k := range r.job.Products {
		asked = asked || r.job.Products[k].CarriedBy(machine) && !r.rateKeys[k].entry.given()
	}
	for _, rate := range rates {
		if asked && !slices.Contains(taken, rate.column) && !r.namedElsewhere(rate) {
			r.warnOnce(field.Warning{File: c.file, Text: fmt.Sprintf("column %q: a rate, but of which product it does not say; left out; logged_rate of a product names it", rate.column.Name)})
		}
	}
}

// namedRate finds the column that the job names.
func namedRate(c columns, name string, rates []rateColumn) (*rateColumn, *InputError) {
	if strings.EqualFold(name, noRate) {
		return nil, nil
	}
	want, _ := plainName(name)
	for i := range rates {
		if plain, _ := plainName(rates[i].column.Name); plain == want {
			return &rates[i], nil
		}
	}
	where := "column " + strconv.Quote(name)
	col := c.named(name)
	if col == nil {
		return nil, &InputError{File: c.file, Where: where, Found: "no such column", Want: "the one that logged_rate names"}
	}
	text, bracket := plainName(col.Name)
	for end, unit := range rateUnits {
		if bracket == "" && strings.HasSuffix(strings.ReplaceAll(text, "/", ""), end) || bracket != "" && strings.ReplaceAll(bracket, "/", "") == end {
			return &rateColumn{column: col, unit: oneOfUnit(unit)}, nil
		}
	}
	return nil, &InputError{File: c.file, Where: where, Found: "no unit in its name", Want: `one such as "lb/ac", "kg/ha", "gal/ac" or "seeds/m2" at its end`}
}

// namedElsewhere reports whether the job gives the column to a product by name.
func (r *reading) namedElsewhere(rate rateColumn) bool {
	plain, _ := plainName(rate.column.Name)
	return slices.ContainsFunc(r.rateKeys, func(k rateKey) bool {
		want, _ := plainName(k.entry.text(""))
		return k.entry.given() && want == plain
	})
}

// speaksOf reports whether the name of a column has a product's in it.
func (rate *rateColumn) speaksOf(product string) bool {
	plain, _ := plainName(product)
	if rate.of == "" || plain == "" {
		return false
	}
	return strings.Contains(rate.of, plain) || len(rate.of) > 2 && strings.Contains(plain, rate.of)
}

// shares turns the values of a column into shares of the product's rate.
func (r *reading) shares(c columns, rate *rateColumn, factor float64, rows []int) []float32 {
	col := rate.column
	of := make([]float32, len(col.Distinct))
	wrong := make([]bool, len(col.Distinct))
	for code, text := range col.Distinct {
		text = strings.TrimSpace(text)
		v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
		switch {
		case err != nil || v < 0 || math.IsInf(v, 0) || math.IsNaN(v):
			of[code], wrong[code] = float32(math.NaN()), text != ""
		default:
			of[code] = float32(v * factor)
		}
	}
	out := make([]float32, len(rows))
	count, first := 0, 0
	for i, row := range rows {
		code := col.Codes[row]
		out[i] = of[code]
		if wrong[code] {
			if count++; count == 1 && row < len(c.log.Lines) {
				first = int(c.log.Lines[row])
			}
		}
	}
	if count > 0 {
		r.warn(field.Warning{File: c.file, Line: first, Count: count, Text: fmt.Sprintf("column %q: no rate; that of the job stands in", col.Name)})
	}
	return out
}

// farOff is how far a mean logged rate may be from the job's, as a factor,
// without a word: no meter is out by half, and a unit mistaken for another is
// by more (1.12 for lb/ac and kg/ha passes; 9.35 for gal/ac and L/ha does not).
const farOff = 1.5

// doubtRate warns where a log's rate is far from the job's, and of what the
// log leaves open.
func (r *reading) doubtRate(c columns, rate *rateColumn, p *agronomy.Product, t *machine.Track, k int) {
	sum, n, silent := 0.0, 0, 0
	for i, f := range t.Fixes {
		v := float64(t.Rates[k][i])
		switch {
		case !f.Working && t.WorkingLogged:
		case math.IsNaN(v):
			silent++
		case v > 0:
			sum += v
			n++
		}
	}
	if silent > 0 {
		r.warn(field.Warning{File: c.file, Count: silent, Text: fmt.Sprintf("column %q: says nothing at work; the rate of %s in the job stands in", rate.column.Name, p.Name)})
	}
	if mean := sum / float64(n); n > 0 && (mean > farOff || mean < 1/farOff) {
		r.warn(field.Warning{File: c.file, Text: fmt.Sprintf("column %q: %.2g times the rate of %s in the job on average; is it of that product, and in that unit?", rate.column.Name, mean, p.Name)})
	}
}

// warnOnce passes a warning on unless it was passed on before.
func (r *reading) warnOnce(w field.Warning) {
	w.Text = oneLine(w.Text)
	if !slices.Contains(r.job.Warnings, w) {
		r.warn(w)
	}
}

// runDry gives each product that ran out while a machine worked on the ground
// where it had: a map of its own, on which that stretch was not worked.
func (r *reading) runDry() {
	for k := range r.job.Products {
		p := &r.job.Products[k]
		if p.Logged == 0 {
			continue
		}
		own := slices.IndexFunc(r.job.Own, func(o Own) bool { return o.Product == k })
		if own < 0 {
			o := Own{Product: k}
			for _, m := range r.job.Machines {
				if p.CarriedBy(m.Name) {
					o.Machines = append(o.Machines, m)
				}
			}
			if !slices.ContainsFunc(o.Machines, func(m machine.Logged) bool {
				return slices.ContainsFunc(m.Tracks, func(t machine.Track) bool { return len(t.DryRuns(k)) > 0 })
			}) {
				continue
			}
			r.job.Own = append(r.job.Own, o)
			own = len(r.job.Own) - 1
		}
		for i := range r.job.Own[own].Machines {
			m := &r.job.Own[own].Machines[i]
			m.Tracks = slices.Clone(m.Tracks)
			for j := range m.Tracks {
				m.Tracks[j] = shutWhereDry(m.Tracks[j], k, m.Working)
			}
		}
	}
}

// shutWhereDry returns a track that did not work where a product had run out.
// Where working is worked out from the motion, those fixes are left out. The
// first fix of a stretch stays: a pass reaches to the place where it ran out.
func shutWhereDry(t machine.Track, product int, rule machine.WorkingRule) machine.Track {
	runs := t.DryRuns(product)
	if len(runs) == 0 {
		return t
	}
	for k := range runs {
		if run := &runs[k]; run[0] > 0 && t.Fixes[run[0]-1].Working && run[1]-run[0] > 1 {
			run[0]++
		}
	}
	t.Fixes = slices.Clone(t.Fixes)
	if t.WorkingLogged && rule == machine.AsLogged {
		for _, run := range runs {
			for i := run[0]; i < run[1]; i++ {
				t.Fixes[i].Working = false
			}
		}
		return t
	}
	whole := t
	t.Fixes, t.Breaks, t.Rates = nil, nil, make([][]float32, len(whole.Rates))
	breaks := whole.Breaks
	broken := false
	for i, f := range whole.Fixes {
		if len(breaks) > 0 && breaks[0] == i {
			breaks, broken = breaks[1:], true
		}
		if slices.ContainsFunc(runs, func(run [2]int) bool { return run[0] <= i && i < run[1] }) {
			broken = true
			continue
		}
		if broken && len(t.Fixes) > 0 {
			t.Breaks = append(t.Breaks, len(t.Fixes))
		}
		broken = false
		for k, rates := range whole.Rates {
			if rates != nil {
				t.Rates[k] = append(t.Rates[k], rates[f.Row])
			}
		}
		f.Row = int32(len(t.Fixes))
		t.Fixes = append(t.Fixes, f)
	}
	return t
}
