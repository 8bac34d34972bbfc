package whatif

import (
	"slices"

	"lapwing/coverage"
	"lapwing/coverage/cause"
	"lapwing/coverage/locate"
	"lapwing/coverage/machine"
	"lapwing/coverage/region"
	"lapwing/coverage/sweep"
	"lapwing/coverage/work"
	"lapwing/geo/arrange"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// A Replay measures the ground of a map again with its passes elsewhere, many
// times over. It finds areas only: no regions, no causes, no edge. Its passes
// are thinned more than the map's, so its areas are to be compared with those
// of its own [Replay.Run] without a move.
//
// It is safe for use by several goroutines at once.
type Replay struct {
	m       *coverage.Map
	passes  []replayed
	fixed   []arrange.Layer // boundary, headland (empty), silences
	watched []watched
	groups  [][]bool
}

// replayThin is how far the edge of a replayed swath may lie from the path of
// the bar's end. Its effect on an area is nearly the same in every run and cancels
// in the difference, but for a third at most, since edges cross elsewhere. Smaller,
// and the noise of a good receiver keeps many poses; larger, and a weaving pass is
// straightened by as much as a lap is wide. Judgement: halved or doubled, it moves the ends
// of the intervals of samples/tern-bank by 7 % of the interval at most.
const replayThin = 3 * plane.Centimetre

// A replayed pass is a trace of it, and where its poses are among the knots.
type replayed struct {
	trace *sweep.Trace
	knots []plane.Distance
	at    []knotShare // for each pose of the trace
}

// A knotShare is a place between two knots.
type knotShare struct {
	knot  int     // the one before
	share float64 // of the way to the next
}

// A watched skip is a skip that runs are asked about.
type watched struct {
	rings  []plane.Ring
	area   plane.Area
	beside []besideSkip // the passes that bound it, two at most
}

// A besideSkip is the place of a pass that a skip lies beside.
type besideSkip struct {
	pass int
	at   knotShare
}

// NewReplay prepares to measure m again. Knots are, for each pass, the
// distances along it, rising, at which runs say where it was; watch
// are indices into m.Skips; groups say of each machine whether it is one of a
// group, whose waste is wanted.
func NewReplay(m *coverage.Map, knots [][]plane.Distance, watch []int, groups [][]bool) *Replay {
	r := &Replay{m: m, passes: make([]replayed, len(m.Passes)), groups: groups}
	parallel.Each(len(m.Passes), func(i int) { r.passes[i] = replayPass(&m.Passes[i].Pass, m.Machines, knots[i]) })
	r.fixed = make([]arrange.Layer, region.FirstSwathLayer)
	for _, p := range m.Field.Boundary {
		r.fixed[region.BoundaryLayer] = append(r.fixed[region.BoundaryLayer], p.Rings()...)
	}
	for i := range m.Regions {
		if m.Regions[i].Kind == region.Unlogged {
			r.fixed[region.SilenceLayer] = append(r.fixed[region.SilenceLayer], m.Regions[i].Shape.Rings()...)
		}
	}
	ways := locate.Ways(m.Machines, m.WorkPasses())
	r.watched = make([]watched, len(watch))
	parallel.Each(len(watch), func(i int) {
		p := &m.Skips[watch[i]]
		shape := m.Regions[p.Region].Shape
		r.watched[i] = watched{rings: shape.Rings(), area: shape.Area(), beside: r.besides(ways, p)}
	})
	return r
}

// replayPass thins a pass, with a pose at every knot.
func replayPass(p *work.Pass, machines []machine.Machine, knots []plane.Distance) replayed {
	out := replayed{trace: sweep.NewTrace(p, &machines[p.Machine].Implement, plane.Distance(replayThin), knots), knots: knots}
	for _, along := range out.trace.Along() {
		out.at = append(out.at, shareOf(knots, along))
	}
	return out
}

// shareOf finds a distance along among the knots.
func shareOf(knots []plane.Distance, along plane.Distance) knotShare {
	i, _ := slices.BinarySearch(knots, along)
	switch {
	case i == 0:
		return knotShare{}
	case i == len(knots):
		return knotShare{knot: i - 1}
	}
	return knotShare{i - 1, float64((along - knots[i-1]) / (knots[i] - knots[i-1]))}
}

// besides finds the two passes a skip lies nearest to.
func (r *Replay) besides(ways []locate.Way, p *cause.Skip) []besideSkip {
	var out []besideSkip
	ids := slices.Clone(p.Passes)
	for len(ids) > 0 && len(out) < 2 {
		w, at := locate.Nearest(ways, p.At, ids)
		pass := w.Index
		out = append(out, besideSkip{pass, shareOf(r.passes[pass].knots, at.Along)})
		ids = slices.DeleteFunc(ids, func(id int) bool { return id == w.ID() })
	}
	return out
}

// A Trial is what one run found.
type Trial struct {
	Ground region.Totals
	Wasted []plane.Area // of each group: swept less covered by its machines
	Left   []float64    // of each watched skip, the share that is still bare
}

// A Move is how far a pass is moved at each of its knots, to the east and
// north; between two it changes steadily. A nil Move leaves the pass alone.
type Move []struct{ East, North plane.Distance }

// at returns how far the pass is moved at a place.
func (m Move) at(k knotShare) (east, north plane.Distance) {
	if m == nil {
		return 0, 0
	}
	east, north = m[k.knot].East, m[k.knot].North
	if k.share > 0 {
		east += plane.Distance(k.share) * (m[k.knot+1].East - east)
		north += plane.Distance(k.share) * (m[k.knot+1].North - north)
	}
	return east, north
}

// Run measures the ground with each pass moved; nil for none.
func (r *Replay) Run(moves []Move) Trial {
	if moves == nil {
		moves = make([]Move, len(r.passes))
	}
	layers := slices.Clone(r.fixed)
	var of []int // the pass of each swath
	for i := range r.passes {
		for _, rings := range r.sweep(i, moves[i]) {
			layers, of = append(layers, rings), append(of, i)
		}
	}
	first := len(layers) // of the watched skips
	for i := range r.watched {
		layers = append(layers, r.watched[i].moved(moves))
	}
	out := Trial{Wasted: make([]plane.Area, len(r.groups)), Left: make([]float64, len(r.watched))}
	var o region.Overlay
	for _, c := range arrange.Areas(layers) {
		under, skips := c.Under, c.Under
		for len(under) > 0 && under[len(under)-1] >= first {
			under = under[:len(under)-1]
		}
		if skips = skips[len(under):]; len(under) == 1 && under[0] == region.BoundaryLayer {
			for _, k := range skips {
				out.Left[k-first] += float64(c.Area) / float64(r.watched[k-first].area)
			}
		}
		if len(under) == 0 {
			continue
		}
		o.Read(under)
		out.Ground.Add(&o, c.Area)
		for g, group := range r.groups {
			out.Wasted[g] += plane.Area(wasted(&o, func(swath int) bool { return group[r.m.Passes[of[swath]].Machine] })) * c.Area
		}
	}
	return out
}

// wasted counts the visits of some swaths to a place that were not wanted: all
// but the first inside the field, and all outside.
func wasted(o *region.Overlay, counts func(swath int) bool) int {
	n := 0
	for _, s := range o.Swaths {
		if counts(s) {
			n++
		}
	}
	if o.Inside && n > 0 {
		n--
	}
	return n
}

// sweep returns the rings of each visit of a pass that is moved.
func (r *Replay) sweep(pass int, move Move) []arrange.Layer {
	q := &r.passes[pass]
	var out []arrange.Layer
	for _, rings := range q.trace.Rings(func(pose int) (east, north plane.Distance) { return move.at(q.at[pose]) }) {
		if len(rings) > 0 {
			out = append(out, rings)
		}
	}
	return out
}

// moved returns the skip's ground moved by the mean of the moves of the passes beside
// it: where both are moved alike, so is what they left out.
func (w *watched) moved(moves []Move) arrange.Layer {
	var east, north plane.Distance
	for _, b := range w.beside {
		e, n := moves[b.pass].at(b.at)
		east, north = east+e/plane.Distance(len(w.beside)), north+n/plane.Distance(len(w.beside))
	}
	by := plane.Point{X: east.Length(), Y: north.Length()}
	out := make(arrange.Layer, len(w.rings))
	for i, ring := range w.rings {
		out[i] = make(plane.Ring, len(ring))
		for k, p := range ring {
			out[i][k] = p.Add(by)
		}
	}
	return out
}
