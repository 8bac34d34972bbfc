package live

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/field"
	"lapwing/coverage/job"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/journal"
	"lapwing/geo/plane"
)

// A Crew is a job that an engine can go on with: its machines and its field, understood.
// Long logs take long to understand, so another goroutine than the engine's may make one.
type Crew struct {
	job       *job.Live
	bars      []machine.Machine
	products  []agronomy.Product
	opt       field.Options
	land      field.Field
	middle    geo.LonLat // of the fixes in its logs
	somewhere bool       // its logs have fixes
}

// CrewOf understands a job. What is wrong is a [*job.InputError].
func CrewOf(live *job.Live) (*Crew, error) {
	j, err := live.With(nil)
	if err != nil {
		return nil, err
	}
	if n := len(j.Fields); n != 1 {
		return nil, &job.InputError{Where: "boundary", Found: fmt.Sprintf("found %d fields", n), Want: "one"}
	}
	c := &Crew{job: live, products: j.Products, opt: j.Options, land: j.Fields[0], bars: machine.Machines(j.Machines)}
	c.middle, c.somewhere = machine.Middle(j.Machines)
	return c, nil
}

// names are the names of its machines.
func (c *Crew) names() (out []string) {
	for i := range c.bars {
		out = append(out, c.bars[i].Name)
	}
	return out
}

// Join goes on with another crew, of the same field. The machines of the crew before stand
// first in it, in the same order. So do the sources that there are, whose machines may have
// other names now; the sources behind them are new. A failure is a [*job.InputError], and
// changes nothing.
func (e *Engine) Join(c *Crew, sources []Source) error {
	names := c.names()
	at := make([]int, len(sources))
	for i, s := range sources {
		at[i] = slices.Index(names, s.Machine)
		if at[i] < 0 {
			return &job.InputError{Where: "machine", Found: fmt.Sprintf("found %q", s.Machine), Want: "a machine of the job: " + strings.Join(names, ", ")}
		}
		if !s.Other && slices.ContainsFunc(sources[:i], func(o Source) bool { return !o.Other && o.Machine == s.Machine }) {
			return &job.InputError{Where: "machine", Found: fmt.Sprintf("found %q twice", s.Machine), Want: "a machine each"}
		}
	}
	if e.job != c.job {
		e.due = true // the last answer knows fewer machines, and perhaps narrower ones
	}
	e.job, e.bars, e.products, e.sources = c.job, c.bars, c.products, slices.Clone(sources)
	e.headland = e.opt.HeadlandWidth(machine.Widest(e.bars))
	e.near.Join(e.bars)
	for i, s := range sources {
		if i == len(e.machines) {
			m := newMach(at[i], &e.bars[at[i]], c.job.Rule(s.Machine))
			m.filled = tanked(e.products, s.Machine)
			e.machines = append(e.machines, m)
		}
		m := e.machines[i]
		m.index, m.bar = at[i], &e.bars[at[i]].Implement
	}
	return nil
}

// Recall takes in a record that was in the journal of a source before the start. From the
// next answer on its ground counts as worked.
func (e *Engine) Recall(source int, r *journal.Record) {
	m := e.machines[source]
	m.history.add(r)
	if !r.At.Valid() || r.At == (geo.LonLat{}) {
		return
	}
	if !e.placed {
		e.land.Frame, e.placed = geo.NewFrame(r.At), true
	}
	e.now = max(e.now, r.Time)
	e.late = true
}

// Late reports whether ground of others came since the field was asked about.
func (e *Engine) Late() bool { return e.late }

// Count is how many records of a source came.
func (e *Engine) Count(source int) int { return e.machines[source].history.count }

// An Extent is between two meridians and two parallels, in degrees. The zero Extent is of
// nothing.
type Extent struct{ West, South, East, North float64 }

// Add makes an extent reach a place.
func (x *Extent) Add(p geo.LonLat) {
	if !p.Valid() || p == (geo.LonLat{}) {
		return
	}
	if *x == (Extent{}) {
		*x = Extent{p.Lon, p.Lat, p.Lon, p.Lat}
		return
	}
	x.West, x.East = min(x.West, p.Lon), max(x.East, p.Lon)
	x.South, x.North = min(x.South, p.Lat), max(x.North, p.Lat)
}

// nearField is how far from a field's boundary the fixes of its work may be: bars reach so
// far, and positions are off by so much. aroundWork is the same for a field without a
// boundary, from the first place that is known of it: no field is so long. Judgement:
// TestAway fails where nearField is halved, and no test where it is doubled, or aroundWork
// halved or doubled.
const (
	nearField  = 200 * plane.Metre
	aroundWork = 10_000 * plane.Metre
)

// Away is how far an extent is from the field; 0 where work in it may be on the field. known
// is false while it is not known where the field is.
func (e *Engine) Away(x Extent) (away plane.Distance, known bool) {
	if !e.placed || x == (Extent{}) {
		return 0, false
	}
	var lo, hi, least, most [2]float64 // m, of the extent and of the field
	for i, p := range []geo.LonLat{{Lon: x.West, Lat: x.South}, {Lon: x.East, Lat: x.South}, {Lon: x.West, Lat: x.North}, {Lon: x.East, Lat: x.North}} {
		east, north := e.land.Frame.Metres(p)
		if i == 0 {
			lo, hi = [2]float64{east, north}, [2]float64{east, north}
		}
		lo, hi = [2]float64{min(lo[0], east), min(lo[1], north)}, [2]float64{max(hi[0], east), max(hi[1], north)}
	}
	within := nearField.Metres()
	if len(e.land.Boundary) == 0 {
		within = aroundWork.Metres()
	}
	for i, p := range e.land.Boundary {
		for k, at := range p.Rings()[0] {
			x, y := at.X.Metres(), at.Y.Metres()
			if i == 0 && k == 0 {
				least, most = [2]float64{x, y}, [2]float64{x, y}
			}
			least, most = [2]float64{min(least[0], x), min(least[1], y)}, [2]float64{max(most[0], x), max(most[1], y)}
		}
	}
	var gap [2]float64
	for i := range gap {
		gap[i] = max(0, least[i]-hi[i], lo[i]-most[i])
	}
	if d := math.Hypot(gap[0], gap[1]); d > within {
		return plane.DistanceOf(d), true
	}
	return 0, true
}
