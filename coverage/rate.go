package coverage

import (
	"math"
	"slices"
	"sort"
	"time"

	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// joinRates adds the rates of t to those of a track of n fixes.
func joinRates(to [][]float32, n int, t *Track) [][]float32 {
	if to == nil && t.Rates == nil {
		return nil
	}
	out := make([][]float32, max(len(to), len(t.Rates)))
	for k := range out {
		var before, after []float32
		if k < len(to) {
			before = to[k]
		}
		if k < len(t.Rates) {
			after = t.Rates[k]
		}
		if before == nil && after == nil {
			continue
		}
		out[k] = slices.Concat(orUnknown(before, n), orUnknown(after, len(t.Fixes)))
	}
	return out
}

// orUnknown returns rates, or n that are not known.
func orUnknown(rates []float32, n int) []float32 {
	if rates != nil {
		return rates
	}
	return slices.Repeat([]float32{float32(math.NaN())}, n)
}

// ratesAt returns the rates of a track at some poses: those of the fix before
// each, until the next fix says otherwise.
func (s *splitter) ratesAt(poses []Pose) [][]float32 {
	if s.rates == nil {
		return nil
	}
	rows := make([]int32, len(poses))
	at := sort.Search(len(s.fixes), func(i int) bool { return s.fixes[i].Time > poses[0].Time })
	for i := range poses {
		for at < len(s.fixes) && s.fixes[at].Time <= poses[i].Time {
			at++
		}
		rows[i] = s.fixes[max(0, at-1)].Row
	}
	out := make([][]float32, len(s.rates))
	for k, rates := range s.rates {
		if rates == nil {
			continue
		}
		out[k] = make([]float32, len(poses))
		for i, row := range rows {
			out[k][i] = rates[row]
		}
	}
	return out
}

// Rate returns what the log says was put down of a product from pose i to the
// next, as a share of what should have been; NaN where it does not say.
func (p *Pass) Rate(product, i int) float64 {
	if product >= len(p.rates) || p.rates[product] == nil {
		return math.NaN()
	}
	return float64(p.rates[product][i])
}

// share is Rate with the target for what the log does not say.
func (p *Pass) share(product, i int) float64 {
	if rate := p.Rate(product, i); !math.IsNaN(rate) {
		return rate
	}
	return 1
}

// TellsRate reports whether the log of the pass tells of a product.
func (p *Pass) TellsRate(product int) bool {
	return product < len(p.rates) && p.rates[product] != nil
}

// DryFor is how long nothing must have been put down at work for a product to
// have run out. Meters and their sensors lag the bar's lowering and lifting by
// some seconds, which an empty tank outlasts; ten seconds are 20 m of work.
const DryFor = 10 * time.Second

// DryRuns returns the stretches, from one pose to another, over which the log
// says that nothing of a product was put down, for [DryFor] or longer.
func (p *Pass) DryRuns(product int) [][2]int {
	if !p.TellsRate(product) {
		return nil
	}
	return dryRuns(len(p.Poses)-1, func(i int) bool { return p.rates[product][i] == 0 }, func(i int) geo.Instant { return p.Poses[i].Time })
}

// DryRuns returns the fixes from ≤ i < to at work over which nothing of a
// product was put down, for [DryFor] or longer.
func (t *Track) DryRuns(product int) [][2]int {
	if product >= len(t.Rates) || t.Rates[product] == nil {
		return nil
	}
	rates := t.Rates[product]
	dry := func(i int) bool { return rates[t.Fixes[i].Row] == 0 && (t.Fixes[i].Working || !t.WorkingLogged) }
	return dryRuns(len(t.Fixes)-1, dry, func(i int) geo.Instant { return t.Fixes[i].Time })
}

// dryRuns returns the stretches from ≤ i < to of n steps that are dry for long
// enough; step i is from time i to time i + 1.
func dryRuns(n int, dry func(i int) bool, at func(i int) geo.Instant) (out [][2]int) {
	for from := 0; from < n; {
		to := from
		for to < n && dry(to) {
			to++
		}
		if to > from && at(to).Sub(at(from)) >= DryFor {
			out = append(out, [2]int{from, to})
		}
		from = to + 1
	}
	return out
}

// A Spread says how much of one product the logs say was put down where. It
// counts in m² at target: ground × share of the target, so that whatever
// follows from the target follows from it too. Where no log tells of the
// product it is the ground.
//
// The rate holds from one fix to the next, over all of the bar that works.
type Spread struct {
	m       *Map
	product int
	quads   map[int][]spreadQuad // by swath
	boxes   map[int]*near.Boxes  // around those
}

// A spreadQuad is ground that a stretch of the bar swept between two poses.
type spreadQuad struct {
	corners [][2]float64 // ticks from the swath's origin; convex, anticlockwise
	share   float64
}

// Spread returns the spread of a product, by its place in [Track.Rates].
func (m *Map) Spread(product int) *Spread {
	return &Spread{m: m, product: product, quads: map[int][]spreadQuad{}, boxes: map[int]*near.Boxes{}}
}

// Logged reports whether any pass of a machine, by its index, has rates.
func (s *Spread) Logged(machine int) bool {
	return slices.ContainsFunc(s.m.Passes, func(p Pass) bool { return p.Machine == machine && p.TellsRate(s.product) })
}

// Pass returns the m² at target of all that a pass, by its index, swept. Its
// swept ground is shared out along it as the open part of the bar and its
// travel have it.
func (s *Spread) Pass(pass int) float64 {
	p := &s.m.Passes[pass]
	swept := p.Swept.SquareMetres()
	if !p.TellsRate(s.product) {
		return swept
	}
	ground, put := 0.0, 0.0
	for i, step := range p.StepGround(s.m.Machines) {
		ground += step
		put += step * p.share(s.product, i)
	}
	if ground == 0 {
		return swept
	}
	return swept * put / ground
}

// StepGround returns the m² from each pose to the next: the travel of the
// bar's centre × the width at work, 0 in silences. In turns the sum is a
// little off [Pass.Swept].
func (p *Pass) StepGround(machines []Machine) []float64 {
	im, states := &machines[p.Machine].Implement, p.States(machines)
	out := make([]float64, max(0, len(p.Poses)-1))
	for i := range out {
		a, b := &p.Poses[i], &p.Poses[i+1]
		if a.Silent {
			continue
		}
		width := im.Width
		if int(a.State) < len(states) && states[a.State] != nil {
			width = 0
			for _, part := range states[a.State] {
				width += part.Right - part.Left
			}
		}
		out[i] = (b.Along - a.Along) / float64(plane.Metre) * width.Metres()
	}
	return out
}

// Over returns the m² at target that a swath put on a region it lies over,
// both by their index.
func (s *Spread) Over(region, swath int) float64 {
	r, sw := &s.m.Regions[region], &s.m.Swaths[swath]
	area := r.Area.SquareMetres()
	p := &s.m.Passes[sw.Pass]
	if !p.TellsRate(s.product) {
		return area
	}
	boxes := s.boxesOf(swath)
	origin := p.Poses[0].Bar
	var met []int
	least, most := math.Inf(1), math.Inf(-1)
	for i := range boxes.Meeting(r.Shape.Shell.Bounds()) {
		met = append(met, i)
		least, most = min(least, s.quads[swath][i].share), max(most, s.quads[swath][i].share)
	}
	switch {
	case len(met) == 0: // a sliver between thinned edges
		return area
	case least == most:
		return area * least
	}
	rings := ringsFrom(r.Shape, origin)
	ground, put, even := 0.0, 0.0, 0.0
	for _, i := range met {
		q := &s.quads[swath][i]
		a := areaWithin(rings, q.corners)
		ground += a
		put += a * q.share
		even += q.share
	}
	if !(ground > 0) {
		return area * even / float64(len(met))
	}
	return area * put / ground
}

// boxesOf returns the boxes around the quads of a swath, made when first asked
// for.
func (s *Spread) boxesOf(swath int) *near.Boxes {
	if boxes := s.boxes[swath]; boxes != nil {
		return boxes
	}
	sw := &s.m.Swaths[swath]
	p := &s.m.Passes[sw.Pass]
	m := &s.m.Machines[p.Machine]
	states := p.States(s.m.Machines)
	origin := p.Poses[0].Bar
	var quads []spreadQuad
	var around []plane.Box
	add := func(ring []plane.Point, share float64) {
		q := spreadQuad{share: share}
		for _, at := range ring {
			q.corners = append(q.corners, [2]float64{float64(at.X - origin.X), float64(at.Y - origin.Y)})
		}
		quads, around = append(quads, q), append(around, plane.Ring(ring).Bounds())
	}
	for i := 1; i < len(p.Poses); i++ {
		a, b := &p.Poses[i-1], &p.Poses[i]
		if a.Silent || a.Along < sw.From || a.Along >= sw.To {
			continue
		}
		from, to := barOf(a), barOf(b)
		for _, part := range stretches(&m.Implement, states, a.State) {
			q := [4]plane.Point{from.end(part.Right), to.end(part.Right), to.end(part.Left), from.end(part.Left)}
			if turnsLeft(q) {
				add(q[:], p.share(s.product, i-1))
				continue
			}
			for _, ring := range positive(q) {
				add(ring, p.share(s.product, i-1))
			}
		}
	}
	boxes := near.NewBoxes(around)
	s.quads[swath], s.boxes[swath] = quads, &boxes
	return &boxes
}

// ringsFrom returns the rings of a polygon in ticks from an origin.
func ringsFrom(shape plane.Polygon, origin plane.Point) [][][2]float64 {
	var out [][][2]float64
	for _, ring := range shape.Rings() {
		line := make([][2]float64, len(ring))
		for i, at := range ring {
			line[i] = [2]float64{float64(at.X - origin.X), float64(at.Y - origin.Y)}
		}
		out = append(out, line)
	}
	return out
}

// areaWithin returns the area of a polygon's rings within a convex one, in
// square ticks. Cutting a ring by one side after the other leaves edges that
// run to and fro along the sides; they hold no area.
func areaWithin(rings [][][2]float64, convex [][2]float64) float64 {
	sum := 0.0
	var cut, next [][2]float64
	for _, ring := range rings {
		cut = append(cut[:0], ring...)
		for i, a := range convex {
			b := convex[(i+1)%len(convex)]
			left := func(p [2]float64) float64 { return (b[0]-a[0])*(p[1]-a[1]) - (b[1]-a[1])*(p[0]-a[0]) }
			next = next[:0]
			for k, p := range cut {
				q := cut[(k+1)%len(cut)]
				lp, lq := left(p), left(q)
				if lp >= 0 {
					next = append(next, p)
				}
				if lp*lq < 0 {
					t := lp / (lp - lq)
					next = append(next, [2]float64{p[0] + t*(q[0]-p[0]), p[1] + t*(q[1]-p[1])})
				}
			}
			cut, next = next, cut
		}
		for k, p := range cut {
			q := cut[(k+1)%len(cut)]
			sum += p[0]*q[1] - q[0]*p[1]
		}
	}
	return sum / 2
}
