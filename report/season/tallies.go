package season

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lapwing/coverage/cause"
	"lapwing/coverage/quantity"
	"lapwing/report/page"
	"lapwing/report/words"
)

// A tally is what one machine or one operator did on all entries.
type tally struct {
	name                         string
	key                          string   // of its page, see operatorKey
	with                         []string // the operators of a machine, the machines of an operator
	fields                       int
	swept, fresh, lapped, beside float64 // m²
	effort                       effort
	cost                         purse
}

// tallies adds up what was done on the entries of a season by machine, under the name that key gives it.
func (y *year) tallies(of func(machine, operator string) (name, with, key string)) []*tally {
	by := map[string]*tally{}
	var out []*tally
	at := func(entry *Entry, machine string) *tally {
		name, with, key := of(machine, y.operator(entry, machine))
		one := cmp.Or(key, name)
		t := by[one]
		if t == nil {
			t = &tally{name: name, key: key, cost: purse{}}
			by[one] = t
			out = append(out, t)
		}
		if with != "" && !slices.ContainsFunc(t.with, func(o string) bool { return strings.EqualFold(o, with) }) {
			t.with = append(t.with, with)
		}
		return t
	}
	for _, entry := range y.entries {
		here := map[*tally]bool{}
		for i := range entry.Passes {
			p := &entry.Passes[i]
			t := at(entry, p.Machine)
			here[t] = true
			t.swept += p.Swept.Float()
			t.fresh += p.New.Float()
			t.lapped += p.Overlap.Float()
		}
		for i := range entry.Times {
			at(entry, entry.Times[i].Machine).effort.add(&entry.Times[i])
		}
		for i := range entry.Skips {
			if entry.Skips[i].Cause == cause.Unworked || entry.Skips[i].Outlined {
				continue
			}
			once := map[*tally]bool{}
			for _, m := range entry.Skips[i].Machines {
				if t := at(entry, m); !once[t] {
					once[t] = true
					t.beside += entry.Skips[i].Area.Float()
				}
			}
		}
		for i := range entry.Products {
			p := &entry.Products[i]
			for _, m := range p.Waste.ByMachine {
				if m.Cost != nil {
					at(entry, m.Machine).cost[p.Currency] += float64(*m.Cost)
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
// is not named is in one row.
func (y *year) machineTallies() []*tally {
	return y.tallies(func(machine, operator string) (name, with, key string) {
		return machine, operator, operatorKey("", machine)
	})
}

func (y *year) operatorTallies() []*tally {
	return y.tallies(func(machine, operator string) (name, with, key string) {
		if operator == "" {
			return "not named", machine, ""
		}
		return operator, machine, operatorKey(operator, "")
	})
}

func (y *year) tallyTable(id, one, with string, tallies []*tally, pages map[string]string) page.Table {
	ground := y.unit("acres", "ha")
	t := page.Table{
		ID: y.id(id), Label: "Table of " + id, Sorts: true, Empty: "No passes.",
		Caption: "Worked twice is ground that an earlier pass had covered. A skip between two machines counts beside each.",
		Columns: []page.Column{
			page.Names(one, "name"), page.Names(with, "name"), page.Figures("Fields"), page.FiguresIn("Worked, laps counted", ground), page.FiguresIn("New ground", ground),
			page.FiguresIn("Worked twice", ground), page.Figures("Share twice"), page.FiguresIn("Skips beside it", ground),
		},
	}
	if with == "" {
		t.Columns = slices.Delete(t.Columns, 1, 2)
	}
	costs := len(y.total().cost) > 0
	if costs {
		t.Columns = append(t.Columns, page.Figures("Wasted"))
	}
	t.Columns = append(t.Columns, page.Figures("Hours in fields"), page.FiguresIn("Pace", y.unit("acres/h", "ha/h")), page.Figures("Efficiency"))
	for _, line := range tallies {
		var w sorting
		w.text(words.Same(line.name))
		if with != "" {
			w.text(words.Same(strings.Join(line.with, ", ")))
		}
		w.figure(words.Same(fmt.Sprint(line.fields)), float64(line.fields))
		w.area(y.Units, line.swept)
		w.area(y.Units, line.fresh)
		w.area(y.Units, line.lapped)
		w.figure(words.Same(words.Share(line.lapped, line.swept)), line.lapped/max(line.swept, 1))
		w.area(y.Units, line.beside)
		if costs {
			w.purse(line.cost)
		}
		timed := line.effort.seconds > 0
		w.optional(words.Same(quantity.Number(line.effort.seconds/3600, 1)), line.effort.seconds, timed)
		pace := line.effort.fresh / max(line.effort.seconds, 1)
		w.optional(words.Both(y.Units, func(u quantity.Units) string { return u.CapacityFigure(pace) }), pace, timed)
		e, known := line.effort.efficiency()
		w.optional(words.Same(words.Share(e, 1)), e, known)
		w.put(&t).Cells[0].Link = pages[line.key]
	}
	return t
}

func (s *Book) failureTable() page.Table {
	t := page.Table{
		ID: "failed", Label: "Table of jobs that could not be assessed", Columns: []page.Column{page.Names("Job", "name"), page.Classed("Why", "where")},
		Caption: "Put right what is said here and run the same command again: only these are done.",
	}
	for _, f := range s.Failed {
		t.Add(words.Same(f.Job), words.Same(f.Why))
	}
	return t
}
