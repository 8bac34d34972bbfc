package agronomy

import (
	"cmp"
	"slices"

	"lapwing/coverage"
	"lapwing/coverage/cause"
	"lapwing/coverage/region"
)

// A Waste is the wasted amount of one product, [Account.Wasted], taken apart.
// A machine that carries the product wastes it at each visit after the first
// one inside the field, and at every visit outside. So for the areas, with ==:
//
//	wasted = the sum of ByCause + Slivers + OverReach
//	       = the sum of ByMachine = the sum of ByPass = the sum of ByRegion
//	       = swept - covered, of these machines
//
// The amounts are what the logs say was put down on that ground, where they
// tell the rate. Each is reckoned from the sum of its portions, and not summed
// from amounts that were rounded before.
//
// The lists run from the largest area down.
type Waste struct {
	ByCause   []CauseShare   // overlaps, by why they are there
	Slivers   Amount         // overlaps too small to have a cause
	OverReach Amount         // outside the boundary, or in a hole
	ByMachine []MachineShare // of the machine that came later, or went outside
	ByPass    []PassShare    // of the pass that came later, or went outside
	ByRegion  []RegionShare  // in the order of the regions, without those that wasted nothing
}

// A RegionShare is the waste on one region.
type RegionShare struct {
	Region int // index into Regions of the account's map
	Portion
}

// A CauseShare is the waste on the overlaps of one cause.
type CauseShare struct {
	Cause cause.OverlapCause
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

// wasteOf takes the waste of p on the ground of m apart. It also returns how much of
// the whole lies beyond area × rate (see [Portion]).
func wasteOf(m *coverage.Map, p *Product, carries []bool, spread *Spread) (Waste, float64) {
	w := newWasted(m, p, carries, spread)
	var slivers, outside Portion
	var byRegion []RegionShare
	causes := map[cause.OverlapCause]Portion{}
	after := func(region, free int) Portion {
		laps := w.after(region, free)
		if laps.Area > 0 {
			byRegion = append(byRegion, RegionShare{region, laps})
		}
		return laps
	}
	for i := range m.Overlaps {
		o := &m.Overlaps[i]
		lap := after(o.Region, 1)
		switch {
		case lap.Area == 0:
		case o.Sliver():
			slivers.add(lap)
		default:
			cause := causes[o.Cause]
			cause.add(lap)
			causes[o.Cause] = cause
		}
	}
	for i := range m.Regions {
		if m.Regions[i].Kind == region.OverReach {
			outside.add(after(i, 0))
		}
	}
	slices.SortFunc(byRegion, func(a, b RegionShare) int { return cmp.Compare(a.Region, b.Region) })
	var byCause []CauseShare
	for cause, laps := range causes {
		byCause = append(byCause, CauseShare{cause, p.Over(laps)})
	}
	slices.SortFunc(byCause, func(a, b CauseShare) int {
		return cmp.Or(cmp.Compare(b.Area, a.Area), cmp.Compare(a.Cause, b.Cause))
	})
	byMachine, byPass := w.shares()
	return Waste{
		ByCause: byCause, Slivers: p.Over(slivers), OverReach: p.Over(outside),
		ByMachine: byMachine, ByPass: byPass, ByRegion: byRegion,
	}, w.total.Beyond
}

// wasted adds up, over regions, what the visits to them waste.
type wasted struct {
	m       *coverage.Map
	product *Product
	carries []bool  // by machine
	spread  *Spread // nil where no log tells the rate
	total   Portion
	passes  []Portion // by pass
}

func newWasted(m *coverage.Map, p *Product, carries []bool, spread *Spread) *wasted {
	return &wasted{m: m, product: p, carries: carries, spread: spread, passes: make([]Portion, len(m.Passes))}
}

// after counts the visits of carriers to a region as waste, after so many that are
// free: one inside the field, none outside. It returns what they wasted.
func (w *wasted) after(region, free int) (sum Portion) {
	r := &w.m.Regions[region]
	for _, s := range r.Swaths {
		pass := w.m.Swaths[s].Pass
		switch {
		case !w.carries[w.m.Passes[pass].Machine]:
		case free > 0:
			free--
		default:
			visit := Portion{Area: r.Area}
			if w.spread != nil {
				visit.Beyond = w.spread.Over(region, s) - r.Area.SquareMetres()
			}
			w.passes[pass].add(visit)
			sum.add(visit)
		}
	}
	w.total.add(sum)
	return sum
}

// shares returns what was counted by machine and by pass, without those that
// wasted nothing.
func (w *wasted) shares() (byMachine []MachineShare, byPass []PassShare) {
	machines := make([]Portion, len(w.m.Machines))
	for i, laps := range w.passes {
		machines[w.m.Passes[i].Machine].add(laps)
		if laps.Area > 0 {
			byPass = append(byPass, PassShare{w.m.Passes[i].ID, w.product.Over(laps)})
		}
	}
	for i, laps := range machines {
		if laps.Area > 0 {
			byMachine = append(byMachine, MachineShare{i, w.product.Over(laps)})
		}
	}
	slices.SortStableFunc(byMachine, func(a, b MachineShare) int { return cmp.Compare(b.Area, a.Area) })
	slices.SortStableFunc(byPass, func(a, b PassShare) int { return cmp.Compare(b.Area, a.Area) })
	return byMachine, byPass
}
