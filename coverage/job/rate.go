package job

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/field"
	"lapwing/coverage/job/spec"
	"lapwing/coverage/machine"
	"lapwing/coverage/worklog"
	"lapwing/geo"
)

// ratesOf gives a track the rates of the products that its machine carries;
// pick is how its fixes were picked from the log.
func (u *understanding) ratesOf(l worklog.Log, machine string, t *machine.Track, pick func(int) bool) error {
	if len(u.job.Products) == 0 {
		return nil
	}
	rates, bare := l.Rates()
	for _, name := range bare {
		if !u.namedElsewhere(name) {
			u.warnOnce(field.Warning{File: l.File, Text: fmt.Sprintf("column %q: names no unit of a rate, such as lb/ac; left out", name)})
		}
	}
	var taken []string
	var rows []int
	for k := range u.job.Products {
		p := &u.job.Products[k]
		if !p.CarriedBy(machine) {
			continue
		}
		found, err := u.rateColumn(l, rates, machine, k)
		if err != nil {
			return err
		}
		if found == nil {
			continue
		}
		factor, ok := p.Share(found.Unit.Kind, found.Unit.Nutrient, u.spec.Products[k].Kernel)
		if !ok {
			return &geo.SyntaxError{File: l.File, Where: fmt.Sprintf("column %q", found.Column),
				Found: fmt.Sprintf("a rate that cannot be compared with that of %s in the job", p.Name),
				Want:  "a density, an analysis or thousand_kernels of it, or logged_rate: none"}
		}
		if rows == nil {
			rows = rowsOf(l, pick)
		}
		if t.Rates == nil {
			t.Rates = make([][]float32, len(u.job.Products))
		}
		t.Rates[k] = u.shares(l, found, factor*found.Unit.SI, rows)
		p.RateColumn = k + 1
		taken = append(taken, found.Column)
		u.doubtRate(l, found, p, t, k)
	}
	u.warnOfOpen(l, machine, rates, taken)
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
func rowsOf(l worklog.Log, pick func(int) bool) []int {
	rows := make([]int, 0, len(l.Fixes))
	for i := range l.Fixes {
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
func (u *understanding) rateColumn(l worklog.Log, rates []worklog.Rate, machine string, product int) (*worklog.Rate, error) {
	p := &u.job.Products[product]
	if key := u.spec.Products[product].LoggedRate; key.Given {
		return namedRate(l, key.Text, rates)
	}
	rates = slices.DeleteFunc(slices.Clone(rates), func(rate worklog.Rate) bool { return u.namedElsewhere(rate.Column) })
	fits := func(rate *worklog.Rate, p *agronomy.Product, k int) bool {
		_, ok := p.Share(rate.Unit.Kind, rate.Unit.Nutrient, u.spec.Products[k].Kernel)
		return ok
	}
	for i := range rates {
		if speaksOf(&rates[i], p.Name) && fits(&rates[i], p, product) {
			return &rates[i], nil
		}
	}
	var free []int // products that no column speaks of
	for k := range u.job.Products {
		other := &u.job.Products[k]
		spoken := slices.ContainsFunc(rates, func(rate worklog.Rate) bool { return speaksOf(&rate, other.Name) && fits(&rate, other, k) })
		if other.CarriedBy(machine) && !spoken && !u.spec.Products[k].LoggedRate.Given {
			free = append(free, k)
		}
	}
	var open []*worklog.Rate // columns that speak of no product
	for i := range rates {
		if !slices.ContainsFunc(u.job.Products, func(p agronomy.Product) bool { return speaksOf(&rates[i], p.Name) }) {
			open = append(open, &rates[i])
		}
	}
	var ours []*worklog.Rate
	for _, rate := range open {
		its := slices.DeleteFunc(slices.Clone(free), func(k int) bool { return !fits(rate, &u.job.Products[k], k) })
		if len(its) == 1 && its[0] == product {
			ours = append(ours, rate)
		}
	}
	if len(ours) == 1 && (ours[0].Of == "" || len(open) == 1) {
		return ours[0], nil
	}
	return nil, nil
}

// warnOfOpen warns of columns of rates that no product of a machine took.
func (u *understanding) warnOfOpen(l worklog.Log, machine string, rates []worklog.Rate, taken []string) {
	asked := false // a product that does not say itself which column is its own
	for k := range u.job.Products {
		asked = asked || u.job.Products[k].CarriedBy(machine) && !u.spec.Products[k].LoggedRate.Given
	}
	for _, rate := range rates {
		if asked && !slices.Contains(taken, rate.Column) && !u.namedElsewhere(rate.Column) {
			u.warnOnce(field.Warning{File: l.File, Text: fmt.Sprintf("column %q: a rate, but of which product it does not say; left out; logged_rate of a product names it", rate.Column)})
		}
	}
}

// namedRate finds the column that the job names.
func namedRate(l worklog.Log, name string, rates []worklog.Rate) (*worklog.Rate, error) {
	if strings.EqualFold(name, spec.NoRate) {
		return nil, nil
	}
	want, _ := worklog.PlainName(name)
	for i := range rates {
		if plain, _ := worklog.PlainName(rates[i].Column); plain == want {
			return &rates[i], nil
		}
	}
	rate, err := l.RateIn(name)
	if err != nil {
		return nil, err
	}
	return &rate, nil
}

// namedElsewhere reports whether the job gives a column to a product by name.
func (u *understanding) namedElsewhere(column string) bool {
	plain, _ := worklog.PlainName(column)
	return slices.ContainsFunc(u.spec.Products, func(p spec.Product) bool {
		want, _ := worklog.PlainName(p.LoggedRate.Text)
		return p.LoggedRate.Given && want == plain
	})
}

// speaksOf reports whether the name of a column has a product's in it.
func speaksOf(rate *worklog.Rate, product string) bool {
	plain, _ := worklog.PlainName(product)
	if rate.Of == "" || plain == "" {
		return false
	}
	return strings.Contains(rate.Of, plain) || len(rate.Of) > 2 && strings.Contains(plain, rate.Of)
}

// heldRows is how many lines later, in a log without times, a rate must be told again to
// be taken to hold between: as long as [machine.DryFor] in a log at 1 Hz.
const heldRows = int(machine.DryFor / time.Second)

// shares turns the rates of a log into shares of the product's rate. A rate that is told
// less often than the place holds until it is told again, for less than [machine.DryFor];
// where the log is silent for longer it is not known.
func (u *understanding) shares(l worklog.Log, rate *worklog.Rate, factor float64, rows []int) []float32 {
	out := make([]float32, len(rows))
	count, first := 0, 0
	last := -1 // the last row that tells the rate
	for i, row := range rows {
		value, wrong := rate.At(row)
		out[i] = float32(value * factor)
		if !math.IsNaN(value) {
			if last >= 0 && (l.NoClock && i-last <= heldRows || !l.NoClock && l.Fixes[row].Time.Sub(l.Fixes[rows[last]].Time) < machine.DryFor) {
				for k := last + 1; k < i; k++ {
					out[k] = out[last]
				}
			}
			last = i
		}
		if wrong {
			if count++; count == 1 && row < len(l.Lines) {
				first = int(l.Lines[row])
			}
		}
	}
	if count > 0 {
		u.warn(field.Warning{File: l.File, Line: first, Count: count, Text: fmt.Sprintf("column %q: no rate; taken as empty", rate.Column)})
	}
	return out
}

// farOff is how far a mean logged rate may be from the job's, as a factor,
// without a word: no meter is out by half, and a unit mistaken for another is
// by more (1.12 for lb/ac and kg/ha passes; 9.35 for gal/ac and L/ha does not).
// TestLoggedRates holds it.
const farOff = 1.5

// doubtRate warns where a log's rate is far from the job's, and of what the
// log leaves open.
func (u *understanding) doubtRate(l worklog.Log, rate *worklog.Rate, p *agronomy.Product, t *machine.Track, k int) {
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
		u.warn(field.Warning{File: l.File, Count: silent, Text: fmt.Sprintf("column %q: says nothing at work; how much %s was put down there is not known, and counts as neither applied, wasted nor short", rate.Column, p.Name)})
	}
	if mean := sum / float64(n); n > 0 && (mean > farOff || mean < 1/farOff) {
		u.warn(field.Warning{File: l.File, Text: fmt.Sprintf("column %q: %.2g times the rate of %s in the job on average; is it of that product, and in that unit?", rate.Column, mean, p.Name)})
	}
}

// runDry gives each product that ran out while a machine worked, or of which the logs
// do not tell the rate everywhere, the ground where it had: maps of its own, on which
// those stretches were not worked.
func (u *understanding) runDry() {
	for k := range u.job.Products {
		p := &u.job.Products[k]
		if p.RateColumn == 0 {
			continue
		}
		own := slices.IndexFunc(u.job.Own, func(o agronomy.Own) bool { return o.Product == k })
		carriers := u.carriersOf(k)
		if own >= 0 {
			carriers = u.job.Own[own].Machines
		}
		dry := hasSpans(carriers, func(t *machine.Track) [][2]int { return t.DrySpans(k) })
		unknown := hasSpans(carriers, func(t *machine.Track) [][2]int { return t.UnknownSpans(k) })
		if !dry && !unknown {
			continue
		}
		if own < 0 {
			own = len(u.job.Own)
			u.job.Own = append(u.job.Own, agronomy.Own{Product: k})
		}
		o := &u.job.Own[own]
		if dry {
			o.Machines = shut(carriers, func(t *machine.Track) [][2]int { return t.DrySpans(k) })
		}
		if unknown {
			told := shut(carriers, func(t *machine.Track) [][2]int { return t.UnknownSpans(k) })
			o.Told = shut(told, func(t *machine.Track) [][2]int { return t.DrySpans(k) })
		}
	}
}

// carriersOf returns the machines that carry a product.
func (u *understanding) carriersOf(product int) (out []machine.Logged) {
	for _, m := range u.job.Machines {
		if u.job.Products[product].CarriedBy(m.Name) {
			out = append(out, m)
		}
	}
	return out
}

// hasSpans reports whether a track of some machines has spans.
func hasSpans(machines []machine.Logged, spans func(*machine.Track) [][2]int) bool {
	return slices.ContainsFunc(machines, func(m machine.Logged) bool {
		return slices.ContainsFunc(m.Tracks, func(t machine.Track) bool { return len(spans(&t)) > 0 })
	})
}

// shut returns machines that did not work on spans of their tracks.
func shut(machines []machine.Logged, spans func(*machine.Track) [][2]int) []machine.Logged {
	out := slices.Clone(machines)
	for i := range out {
		m := &out[i]
		m.Tracks = slices.Clone(m.Tracks)
		for j := range m.Tracks {
			m.Tracks[j] = shutOn(m.Tracks[j], spans(&m.Tracks[j]), m.Working)
		}
	}
	return out
}

// shutOn returns a track that did not work on some stretches: where a product had run
// out, or was put down at a rate that is not known.
// Where working is worked out from the motion, those fixes are left out. The
// first fix of a stretch stays: a pass reaches to the place where it ran out.
func shutOn(t machine.Track, runs [][2]int, rule machine.WorkingRule) machine.Track {
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
