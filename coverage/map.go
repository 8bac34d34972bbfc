package coverage

import (
	"sync"

	"lapwing/coverage/beside"
	"lapwing/coverage/cause"
	"lapwing/coverage/edge"
	"lapwing/coverage/field"
	"lapwing/coverage/locate"
	"lapwing/coverage/machine"
	"lapwing/coverage/region"
	"lapwing/coverage/sweep"
	"lapwing/coverage/track"
	"lapwing/coverage/work"
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
	Field    field.Field
	Measured []plane.Polygon // the field's ground: parts united, holes out; its area is Ground.Field
	Machines []machine.Machine
	Records  []track.Record // of each machine
	Passes   []Pass
	Swaths   []sweep.Swath
	Regions  []region.Region // by kind, then from the largest down
	Totals   Totals
	Headland Headland
	Skips    []cause.Skip    // from the largest down
	Overlaps []cause.Overlap // from the largest down
	Warnings []field.Warning
	// Crossings are what laying the swaths took; measuring them again takes as much.
	Crossings region.Crossings
	// Thinned is how far the outline of a swath may lie from the path of the
	// bar's ends because poses were left out.
	Thinned plane.Length
}

// A Pass is one pass with what its swaths cover. Passes of a field are numbered
// from 1 in the order they began, ties by machine name.
type Pass struct {
	ID int
	work.Pass
	region.PassAreas
}

// UsualSpeed is the speed at work, in m/s, that passes are taken to have whose log
// has no times. Judgement: 9 km/h, as air drills go; no test holds it closely.
const UsualSpeed = 2.5

// Totals sums a map's areas.
type Totals struct {
	region.Totals
	Remainder plane.Area // the part of Skip that is simply not worked yet
	Yards     plane.Area // the part of Remainder that will likely stay so
	Outlined  plane.Area // the part of Skip where the outline is likely off, and not the work
}

// A Headland is the headland zone, what became of it, and how far from the
// field's edge the worked ground begins.
type Headland struct {
	region.Headland
	Edge edge.Edge
	Fit  *beside.Fit // how the edge lies against the passes along it; nil for a field without a boundary
	// Outlined says of each opening of the edge whether it lies along a side where the
	// outline is likely off, and not the work; nil where none does.
	Outlined []bool
}

// OpenByWork returns how many openings of the edge, and how long together, are likely for
// the work to close.
func (h *Headland) OpenByWork() (count int, length plane.Distance) {
	count, length = len(h.Edge.Openings), h.Edge.Open
	for i, outlined := range h.Outlined {
		if outlined {
			count--
			length -= h.Edge.Openings[i].Length
		}
	}
	return count, max(0, length)
}

// outlined finds the openings that are likely the outline's.
func (h *Headland) outlined(fit *beside.Fitting) {
	if len(fit.Misfits) == 0 {
		return
	}
	for i := range h.Edge.Openings {
		line := h.Edge.Line(&h.Edge.Openings[i])
		stretches := make([][2]plane.Point, 0, len(line))
		for k := 1; k < len(line); k++ {
			stretches = append(stretches, [2]plane.Point{line[k-1], line[k]})
		}
		if fit.Explains(stretches) < 0 {
			continue
		}
		if h.Outlined == nil {
			h.Outlined = make([]bool, len(h.Edge.Openings))
		}
		h.Outlined[i] = true
	}
}

// Lay lays ground over a field and says why it was skipped or worked twice. It
// fails with a [*region.CrossingsError].
func Lay(field field.Field, machines []machine.Machine, ground sweep.Ground, opt field.Options) (*Map, error) {
	l, err := region.Lay(field, machines, ground, &opt)
	if err != nil {
		return nil, err
	}
	var measured []plane.Polygon
	var rim edge.Edge
	var fit *beside.Fitting
	var meanwhile sync.WaitGroup
	meanwhile.Go(func() { // independent of the patches
		measured = l.Measured()
		rim = edge.Measure(l, &opt)
		if !l.Field.Worked {
			fit = beside.FitOf(&l.Field, machines, l.Passes, &opt, rim.Tolerance)
		}
	})
	skips, overlaps := cause.Explain(l)
	meanwhile.Wait()
	if fit != nil {
		cause.Outlined(l, skips, fit)
	}
	cause.Yards(l, skips)

	m := &Map{
		Field: l.Field, Measured: measured, Machines: machines, Swaths: l.Swaths, Regions: l.Regions, Thinned: sweep.Thin,
		Totals: Totals{Totals: l.Totals}, Headland: Headland{Headland: l.Headland, Edge: rim}, Skips: skips, Overlaps: overlaps,
		Crossings: l.Crossings,
	}
	if fit != nil {
		m.Headland.Fit = &fit.Fit
		m.Headland.outlined(fit)
	}
	for i := range l.Passes {
		m.Passes = append(m.Passes, Pass{i + 1, l.Passes[i], l.PassAreas[i]})
	}
	for i := range skips {
		switch s := &skips[i]; {
		case s.Outlined:
			m.Totals.Outlined += s.Area
		case s.Unworked():
			m.Totals.Remainder += s.Area
			if s.Yard {
				m.Totals.Yards += s.Area
			}
		}
	}
	m.Warnings = l.Warnings()
	return m, nil
}

// Neighbourhood finds what runs beside the passes of the map.
func (m *Map) Neighbourhood() *beside.Neighbourhood {
	return beside.New(&m.Field, m.Machines, locate.Ways(m.Machines, m.WorkPasses()))
}

// AllNeighbours returns what lies beside every pass, in the order of m.Passes;
// see [beside.Neighbourhood.Beside].
func (m *Map) AllNeighbours() [][]beside.Stretch {
	n := m.Neighbourhood()
	out := make([][]beside.Stretch, len(m.Passes))
	parallel.Each(len(out), func(i int) { out[i] = n.Beside(i) })
	return out
}

// EndLaps returns the laps of every pass's start and end, in the order of
// m.Passes; see [beside.Neighbourhood.EndLaps].
func (m *Map) EndLaps() [][]beside.EndLap {
	n := m.Neighbourhood()
	out := make([][]beside.EndLap, len(m.Passes))
	parallel.Each(len(out), func(i int) { out[i] = n.EndLaps(i) })
	return out
}

// Neighbours returns what lies beside the pass of that ID.
func (m *Map) Neighbours(pass int) []beside.Stretch { return m.Neighbourhood().Beside(pass - 1) }

// Seams follows both sides of the pass of that ID; see [beside.Neighbourhood.Seams].
func (m *Map) Seams(pass int, tolerance plane.Length) (left, right beside.Seam) {
	var skips []*region.Region
	for i := range m.Regions {
		if m.Regions[i].Kind == region.Skip {
			skips = append(skips, &m.Regions[i])
		}
	}
	return m.Neighbourhood().Seams(pass-1, tolerance, skips)
}

// OffRates finds the ground that turns left off its rate; see [sweep.OffRates].
func (m *Map) OffRates() []sweep.OffRate { return sweep.OffRates(m.Machines, m.WorkPasses()) }

// Dose is the rate in turns over all swaths of the map.
func (m *Map) Dose() sweep.Dose {
	var d sweep.Dose
	for i := range m.Swaths {
		d.Add(&m.Swaths[i].Dose)
	}
	return d
}

// MeanSpeed is the mean speed of all passes at work, in m/s; [UsualSpeed] where no log
// has times.
func (m *Map) MeanSpeed() float64 {
	var way, time float64
	for i := range m.Passes {
		p := &m.Passes[i]
		if t := p.End.Sub(p.Start).Seconds(); t > 0 {
			way, time = way+p.Length.Metres(), time+t
		}
	}
	if way == 0 || time == 0 {
		return UsualSpeed
	}
	return way / time
}
