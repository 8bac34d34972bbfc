package coverage

import (
	"cmp"
	"math"
	"slices"

	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// markSpacing is how far apart the stand-off is measured along the boundary.
// Between marks it is taken to run straight; where the ground beside the
// boundary changes there is a mark anyway. Closer marks cost time and move the
// sums by less than a centimetre.
const markSpacing = 50 * plane.Centimetre

// A rim is one edge of the boundary as it lies in the arrangement, with what
// is on its inner side and across.
type rim struct {
	from, to plane.Point
	inner    *Region
	outer    arrange.Label
}

// measureEdge follows the boundary and measures how far from it the covered
// ground begins.
func (m *Map) measureEdge(opt Options) {
	e := &m.Headland.Edge
	limit := float64(m.Headland.Width)
	e.Tolerance = opt.edgeTolerance(m.Machines)
	tolerance := float64(e.Tolerance)
	allowance := float64(opt.EdgeAllowance)

	covered, silent := m.groundEdges()
	for _, ring := range m.rims() {
		profile := EdgeRing{Hole: ringOf(ring).Area() < 0}
		w := walker{covered: &covered, silent: &silent, limit: limit, near: limit}
		along := 0.0
		for _, r := range ring {
			length := plane.Distance(r.from, r.to)
			touches := r.inner.Kind == Once || r.inner.Kind == Overlap || r.outer != arrange.None
			n := max(1, int(math.Ceil(length/float64(markSpacing))))
			if touches {
				n = 1
			}
			for k := range n {
				t := float64(k) / float64(n)
				at := plane.Point{
					X: r.from.X + plane.Round(t*float64(r.to.X-r.from.X)),
					Y: r.from.Y + plane.Round(t*float64(r.to.Y-r.from.Y)),
				}
				mark := EdgeMark{At: at, Along: along + t*length}
				if touches {
					w.near = 0
				} else {
					w.step(at, length/float64(n))
					mark.StandOff = max(0, min(limit, w.near-allowance))
					mark.Unlogged = mark.StandOff > tolerance &&
						(r.inner.Kind == Unlogged || w.silentWithin(at, tolerance+allowance))
				}
				profile.Marks = append(profile.Marks, mark)
			}
			along += length
		}
		profile.Length = along
		e.Profile = append(e.Profile, profile)
	}
	e.sum(tolerance)
}

// edgeTolerance is the stand-off up to which the boundary counts as reached.
func (o *Options) edgeTolerance(machines []Machine) plane.Length {
	if o.EdgeTolerance > 0 {
		return o.EdgeTolerance
	}
	var row plane.Length
	for i := range machines {
		row = max(row, machines[i].Implement.RowSpacing)
	}
	if row > 0 {
		return row / 2
	}
	return plane.Metres(6 * 0.0254)
}

// rims returns the boundary's edges, ring by ring, the field on their left.
func (m *Map) rims() [][]rim {
	from := map[plane.Point][]rim{}
	for i := range m.Regions {
		r := &m.Regions[i]
		if r.Kind == OverReach {
			continue
		}
		for j, ring := range r.Shape.Rings() {
			for k, p := range ring {
				l := r.across[j][k]
				if l == arrange.None || m.class(l).Kind == OverReach {
					from[p] = append(from[p], rim{p, ring[(k+1)%len(ring)], r, l})
				}
			}
		}
	}
	var out [][]rim
	for _, poly := range m.Field.Boundary {
		for _, ring := range poly.Rings() {
			for _, start := range ring { // the first corner whose edge is still there
				var loop []rim
				for p := start; len(from[p]) > 0; {
					r := from[p][0]
					from[p] = from[p][1:]
					loop = append(loop, r)
					if p = r.to; p == start {
						break
					}
				}
				if len(loop) > 0 {
					out = append(out, loop)
				}
			}
		}
	}
	return out
}

func ringOf(rims []rim) plane.Ring {
	out := make(plane.Ring, len(rims))
	for i, r := range rims {
		out[i] = r.from
	}
	return out
}

// groundEdges returns the edges where covered ground meets ground that is not,
// and the edges of unlogged ground. Skips beyond the zone are left out: covered
// ground that only they border on is no nearer than the zone is wide.
func (m *Map) groundEdges() (covered, silent nearby) {
	var cover, silence []edge
	for i := range m.Regions {
		r := &m.Regions[i]
		if r.Kind == Once || r.Kind == Overlap {
			continue // seen from the other side, or on the boundary
		}
		if r.Kind == Skip && !r.Headland {
			continue
		}
		for j, ring := range r.Shape.Rings() {
			for k, p := range ring {
				q := ring[(k+1)%len(ring)]
				e := edge{float64(p.X), float64(p.Y), float64(q.X), float64(q.Y)}
				l := r.across[j][k]
				switch {
				case r.Kind == OverReach && l == arrange.None,
					r.Kind != OverReach && l != arrange.None && m.class(l).Depth > 0:
					cover = append(cover, e)
				}
				if r.Kind == Unlogged {
					silence = append(silence, e)
				}
			}
		}
	}
	return newNearby(cover), newNearby(silence)
}

// A walker goes along the boundary. From one place to the next the stand-off
// changes by no more than the way between them, so that it need not look far.
type walker struct {
	covered, silent *nearby
	limit           float64
	near            float64 // the distance found last, at most limit
}

func (w *walker) step(at plane.Point, way float64) {
	w.near = min(w.limit, w.covered.distance(at, min(w.limit, w.near+way+2)))
}

func (w *walker) silentWithin(at plane.Point, most float64) bool {
	return w.silent.distance(at, most) <= most
}

// sum works out the lengths and the openings from the profile.
func (e *Edge) sum(tolerance float64) {
	var area float64
	for i := range e.Profile {
		r := &e.Profile[i]
		e.Length += r.Length
		var open []Opening
		for k := range r.Marks {
			a := r.Marks[k]
			b, end := r.Marks[0], r.Length
			if k+1 < len(r.Marks) {
				b, end = r.Marks[k+1], r.Marks[k+1].Along
			}
			l := end - a.Along
			area += l * (a.StandOff + b.StandOff) / 2
			e.Max = max(e.Max, a.StandOff)
			if a.Unlogged {
				e.Unlogged += l
				continue
			}
			// The part of the way on which a straight line from one stand-off
			// to the other is above the tolerance.
			from, to := 0.0, 1.0
			over := func(s float64) bool { return s > tolerance }
			cross := (tolerance - a.StandOff) / (b.StandOff - a.StandOff)
			switch {
			case !over(a.StandOff) && !over(b.StandOff):
				continue
			case !over(a.StandOff):
				from = cross
			case !over(b.StandOff):
				to = cross
			}
			o := Opening{Ring: i, From: a.Along + from*l, To: a.Along + to*l, Length: (to - from) * l,
				Max: max(a.StandOff, b.StandOff), Start: a.At, End: b.At}
			e.Open += o.Length
			if n := len(open); n > 0 && o.From-open[n-1].To < 1 {
				open[n-1].To, open[n-1].End = o.To, o.End
				open[n-1].Length += o.Length
				open[n-1].Max = max(open[n-1].Max, o.Max)
			} else {
				open = append(open, o)
			}
		}
		if n := len(open); n > 1 && open[0].From < 1 && r.Length-open[n-1].To < 1 { // through the ring's start
			open[n-1].To, open[n-1].End = open[0].To, open[0].End
			open[n-1].Length += open[0].Length
			open[n-1].Max = max(open[n-1].Max, open[0].Max)
			open = open[1:]
		}
		for k := range open {
			open[k].At = r.at(open[k].From + open[k].Length/2)
		}
		e.Openings = append(e.Openings, open...)
	}
	if e.Length > 0 {
		e.Mean = area / e.Length
	}
	e.Reached = e.Length - e.Open - e.Unlogged
	slices.SortStableFunc(e.Openings, func(a, b Opening) int { return cmp.Compare(b.Length, a.Length) })
}

// at returns the mark nearest before a distance along the ring.
func (r *EdgeRing) at(along float64) plane.Point {
	along = math.Mod(along, r.Length)
	k, _ := slices.BinarySearchFunc(r.Marks, along, func(m EdgeMark, a float64) int { return cmp.Compare(m.Along, a) })
	return r.Marks[max(0, min(k, len(r.Marks)-1))].At
}
