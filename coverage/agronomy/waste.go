package agronomy

import (
	"cmp"
	"slices"

	"lapwing/coverage"
)

// A Waste is the ground that one product was wasted on, taken apart. Each
// visit after the first of a machine that carries it wastes it once, inside
// the field, and every visit does outside. So on the grid, with ==:
//
//	Total = the sum of ByCause + Slivers + OverReach
//	      = the sum of ByMachine = the sum of ByPass
//	      = swept - covered, of these machines
//
// The amounts are what the logs say was put down on that ground, where they
// do.
//
// The lists run from the largest down.
type Waste struct {
	Total     Amount
	ByCause   []CauseShare   // overlaps, by why they are there
	Slivers   Amount         // overlaps too small to be looked into
	OverReach Amount         // outside the boundary, or in a hole
	ByMachine []MachineShare // of the machine that came later, or went outside
	ByPass    []PassShare    // likewise
}

// A CauseShare is the waste on the overlaps of one cause.
type CauseShare struct {
	Cause coverage.Cause
	Amount
}

// A MachineShare is the waste of one machine.
type MachineShare struct {
	Machine int // index into Map.Machines
	Amount
}

// A PassShare is the waste of one pass.
type PassShare struct {
	Pass int // its ID
	Amount
}

// wasteOf takes the waste of p on the ground of m apart, and returns what of
// it lies beyond its ground × rate.
func wasteOf(m *coverage.Map, p *Product) (Waste, float64) {
	carries := carriers(m.Machines, p)
	spread := p.spread(m)
	var total, slivers, outside put
	causes := map[coverage.Cause]put{}
	passes := make([]put, len(m.Passes))
	// waste counts the visits of carriers over a region after the first few.
	waste := func(region, free int) (sum put) {
		r := &m.Regions[region]
		for _, s := range r.Swaths {
			pass := m.Swaths[s].Pass
			switch {
			case !carries[m.Passes[pass].Machine]:
			case free > 0:
				free--
			default:
				one := put{ground: r.Area}
				if spread != nil {
					one.beyond = spread.Over(region, s) - r.Area.SquareMetres()
				}
				passes[pass].add(one)
				sum.add(one)
			}
		}
		total.add(sum)
		return sum
	}
	for i := range m.Overlaps {
		o := &m.Overlaps[i]
		lap := waste(o.Region, 1)
		switch {
		case lap.ground == 0:
		case o.Sliver():
			slivers.add(lap)
		default:
			cause := causes[o.Cause]
			cause.add(lap)
			causes[o.Cause] = cause
		}
	}
	for i := range m.Regions {
		if m.Regions[i].Kind == coverage.OverReach {
			outside.add(waste(i, 0))
		}
	}
	w := Waste{Total: p.of(total), Slivers: p.of(slivers), OverReach: p.of(outside)}
	for cause, lap := range causes {
		w.ByCause = append(w.ByCause, CauseShare{cause, p.of(lap)})
	}
	machines := make([]put, len(m.Machines))
	for i, laps := range passes {
		machines[m.Passes[i].Machine].add(laps)
		if laps.ground > 0 {
			w.ByPass = append(w.ByPass, PassShare{m.Passes[i].ID, p.of(laps)})
		}
	}
	for i, laps := range machines {
		if laps.ground > 0 {
			w.ByMachine = append(w.ByMachine, MachineShare{i, p.of(laps)})
		}
	}
	slices.SortFunc(w.ByCause, func(a, b CauseShare) int {
		return cmp.Or(cmp.Compare(b.Area, a.Area), cmp.Compare(a.Cause, b.Cause))
	})
	slices.SortStableFunc(w.ByMachine, func(a, b MachineShare) int { return cmp.Compare(b.Area, a.Area) })
	slices.SortStableFunc(w.ByPass, func(a, b PassShare) int { return cmp.Compare(b.Area, a.Area) })
	return w, total.beyond
}

// carriers tells of each machine whether it carries p.
func carriers(machines []coverage.Machine, p *Product) []bool {
	out := make([]bool, len(machines))
	for i := range machines {
		out[i] = p.CarriedBy(machines[i].Name)
	}
	return out
}
