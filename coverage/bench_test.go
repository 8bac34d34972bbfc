package coverage_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/sweep"
	"lapwing/coverage/work"
)

func BenchmarkStages(b *testing.B) {
	for _, s := range []struct {
		name string
		make func(hz, noise float64, seed uint64) *covertest.Scene
	}{{"quarter", covertest.QuarterSection}, {"section", covertest.Section}} {
		sc := s.make(10, 0.02, 1)
		n := 0
		for _, m := range sc.Machines {
			for _, t := range m.Tracks {
				n += len(t.Fixes)
			}
		}
		name := fmt.Sprintf("%s/fixes=%d", s.name, n)
		passes, _, _ := coverage.Split(sc.Field, sc.Machines, field.Options{})
		ground := sweep.Sweep(machine.Machines(sc.Machines), passes)
		b.Run("Split/"+name, func(b *testing.B) {
			for b.Loop() {
				passes, _, _ = coverage.Split(sc.Field, sc.Machines, field.Options{})
			}
		})
		b.Run("Sweep/"+name, func(b *testing.B) {
			for b.Loop() {
				ground = sweep.Sweep(machine.Machines(sc.Machines), passes)
			}
		})
		b.Run("Lay/"+name, func(b *testing.B) {
			for b.Loop() {
				laid(b, sc.Field, machine.Machines(sc.Machines), ground, field.Options{})
			}
		})
	}
}

// A work is a field with the passes over it, ready to be swept and laid.
type task struct {
	name     string
	field    field.Field
	machines []machine.Logged
	passes   []work.Pass
	fixes    int // of all tracks
	sections int
}

func (w task) String() string {
	return fmt.Sprintf("%s/fixes=%d/passes=%d/machines=%d/sections=%d", w.name, w.fixes, len(w.passes), len(w.machines), w.sections)
}

// works makes the works with the given names, or all: fields of 3 ha, 65 ha and
// 259 ha with 2 cm of noise; the second by ten machines in turn; and with 48
// sections each of which shuts by itself for three seconds or so, once a pass
// or once a minute, which makes 10,000 skips; and for twenty seconds out of
// forty: half the field is skipped then, in a few patches with thousands of
// holes.
func works(names ...string) []task {
	var out []task
	add := func(name string, make func() *covertest.Scene, change func(*task)) {
		if len(names) > 0 && !slices.Contains(names, name) {
			return
		}
		s := make()
		w := task{name: name, field: s.Field, machines: s.Machines, sections: len(s.Machines[0].Implement.Sections)}
		for _, t := range s.Machines[0].Tracks {
			w.fixes += len(t.Fixes)
		}
		w.passes, _, _ = coverage.Split(s.Field, s.Machines, field.Options{})
		if change != nil {
			change(&w)
		}
		out = append(out, w)
	}
	quarter := func() *covertest.Scene { return covertest.QuarterSection(10, 0.02, 1) }
	add("small", func() *covertest.Scene { return covertest.Small(0.02, 1) }, nil)
	add("quarter", quarter, nil)
	add("section", func() *covertest.Scene { return covertest.Section(10, 0.02, 1) }, nil)
	add("machines", quarter, shareOut)
	add("sections-once-a-pass", quarter, func(w *task) { w.openAndShut(3000, 30) })
	add("sections", quarter, func(w *task) { w.openAndShut(600, 30) })
	add("sections-for-200-fixes", quarter, func(w *task) { w.openAndShut(200, 200) })
	return out
}

// shareOut gives the passes to ten machines in turn.
func shareOut(w *task) {
	w.machines = slices.Repeat(w.machines, 10)
	for i := range w.machines {
		w.machines[i].Name = fmt.Sprint("drill ", i)
	}
	for i := range w.passes {
		w.passes[i].Machine = i % 10
	}
}

// openAndShut gives the bar 48 sections that open and shut by themselves, for
// so many fixes on average.
func (w *task) openAndShut(openFor, shutFor int) {
	const n = 48
	rng := rand.New(rand.NewPCG(48, 48))
	m := w.machines[0]
	m.Implement.Sections = machine.EqualSections(m.Implement.Width, n)
	w.machines, w.sections = []machine.Logged{m}, n
	states := []machine.State{nil}
	var open [n]bool
	for i := range open {
		open[i] = true
	}
	id := machine.StateID(0)
	for i := range w.passes {
		for j := range w.passes[i].Poses {
			changed := false
			for k := range open {
				last := shutFor
				if open[k] {
					last = openFor
				}
				if rng.IntN(last) == 0 {
					open[k], changed = !open[k], true
				}
			}
			if changed {
				state := machine.State{}
				for k, s := range m.Implement.Sections {
					switch last := len(state) - 1; {
					case !open[k]:
					case last >= 0 && state[last].Right == s.Left:
						state[last].Right = s.Right
					default:
						state = append(state, s)
					}
				}
				id = machine.StateID(len(states))
				states = append(states, state)
			}
			w.passes[i].Poses[j].State = id
		}
	}
	for i := range w.passes {
		w.passes[i].States = states
	}
}

func BenchmarkSweepLay(b *testing.B) {
	for _, w := range works() {
		b.Run(w.String(), func(b *testing.B) {
			var m *coverage.Map
			for b.Loop() {
				m = laid(b, w.field, machine.Machines(w.machines), sweep.Sweep(machine.Machines(w.machines), w.passes), field.Options{})
			}
			if g := m.Totals; g.Covered == 0 || g.Field != g.Skip+g.Covered+g.Unlogged {
				b.Errorf("skip %v + covered %v + unlogged %v make no field of %v", g.Skip, g.Covered, g.Unlogged, g.Field)
			}
			if w.sections == 48 && len(m.Skips) < 48 {
				b.Errorf("%d skips, want the sections to have been shut", len(m.Skips))
			}
		})
	}
}
