package coverage

import (
	"sync"

	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// A Map is the whole answer for one field: which ground was covered how
// often, by whom, and what was left.
//
// Areas are exact sums of the faces of one arrangement, so these hold with ==:
//
//	Skip + Covered + Unlogged = Field
//	Covered = the sum of ByDepth from 1 up
//	Overlap = the sum of ByDepth from 2 up
//	Swept = Covered + Excess + OverReachSwept
type Map struct {
	Field    Field
	Machines []Machine
	Logs     []LogRecord // of each machine
	Passes   []Pass
	Swaths   []Swath
	Regions  []Region // by kind, then from the largest down
	Ground   Totals
	Headland Headland
	Skips    []SkipPatch    // from the largest down
	Overlaps []OverlapPatch // from the largest down
	Warnings []Warning
	// Thinned is how far the outline of a swath may lie from the path of the
	// bar's ends because poses were left out.
	Thinned plane.Length
}

// A Pass is one pass with what its swaths cover. Passes of a field are numbered
// from 1 in the order they began, ties by machine name.
type Pass struct {
	ID int
	WorkPass
	PassGround
}

// Totals sums a map's areas.
type Totals struct {
	AreaTotals
	Remainder plane.Area // the part of Skip that is simply not worked yet
}

// A Headland is the headland zone, what became of it, and how far from the
// field's edge the worked ground begins.
type Headland struct {
	HeadlandGround
	Edge Edge
}

// Lay lays ground over a field and says why it was skipped or worked twice.
func Lay_(field Field, machines []Machine, ground Ground, opt Options) *Map {
	l := Lay(field, machines, ground, &opt)
	var edge Edge
	var meanwhile sync.WaitGroup
	meanwhile.Go(func() { edge = MeasureEdge(l, &opt) }) // has nothing to do with the patches
	skips, overlaps := Patches(l)
	meanwhile.Wait()

	m := &Map{
		Field: l.Field, Machines: machines, Swaths: l.Swaths, Regions: l.Regions, Thinned: Thin,
		Ground: Totals{AreaTotals: l.Totals}, Headland: Headland{l.Headland, edge}, Skips: skips, Overlaps: overlaps,
	}
	for i := range l.Passes {
		m.Passes = append(m.Passes, Pass{i + 1, l.Passes[i], l.PassGrounds[i]})
	}
	for i := range skips {
		if skips[i].Cause == Unworked {
			m.Ground.Remainder += skips[i].Area
		}
	}
	m.Warnings = l.warnings()
	return m
}

// Neighbourhood finds what runs beside the passes of the map.
func (m *Map) Neighbourhood() *Neighbourhood {
	return NewNeighbourhood(&m.Field, m.Machines, WaysOf(m.Machines, m.WorkPasses()))
}

// AllNeighbours returns what lies beside every pass, in the order of m.Passes;
// see [Neighbourhood.Beside].
func (m *Map) AllNeighbours() [][]Beside {
	n := m.Neighbourhood()
	out := make([][]Beside, len(m.Passes))
	parallel.Each(len(out), func(i int) { out[i] = n.Beside(i) })
	return out
}

// EndLaps returns the laps of every pass's start and end, in the order of
// m.Passes; see [Neighbourhood.EndLaps].
func (m *Map) EndLaps() [][]EndLap {
	n := m.Neighbourhood()
	out := make([][]EndLap, len(m.Passes))
	parallel.Each(len(out), func(i int) { out[i] = n.EndLaps(i) })
	return out
}

// Neighbours returns what lies beside the pass of that ID.
func (m *Map) Neighbours(pass int) []Beside { return m.Neighbourhood().Beside(pass - 1) }

// Seams follows both sides of the pass of that ID; see [Neighbourhood.Seams].
func (m *Map) Seams(pass int, tolerance plane.Length) (left, right Seam) {
	var skips []*Region
	for i := range m.Regions {
		if m.Regions[i].Kind == Skip {
			skips = append(skips, &m.Regions[i])
		}
	}
	return m.Neighbourhood().Seams(pass-1, tolerance, skips)
}

// OffRates finds the ground that turns left off its rate; see [OffRates].
func (m *Map) OffRates() []OffRate { return OffRates(m.Machines, m.WorkPasses()) }

// Dose is the rate in turns over all swaths of the map.
func (m *Map) Dose() Dose {
	var d Dose
	for i := range m.Swaths {
		d.Add(&m.Swaths[i].Dose)
	}
	return d
}
