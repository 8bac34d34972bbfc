package agronomy

import (
	"math"

	"lapwing/coverage"
	"lapwing/coverage/stance"
	"lapwing/coverage/work"
	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// A Spread says how much of one product the logs say was put down where. It
// counts in m² at target: ground × share of the target, so that whatever
// follows from the target follows from it too. Where no log tells of the
// product it is the ground.
//
// The rate holds from one fix to the next, over all of the bar that works.
type Spread struct {
	m       *coverage.Map
	product int
	quads   map[int][]spreadQuad // by swath
	boxes   map[int]*near.Boxes  // around those
}

// A spreadQuad is ground that a stretch of the bar swept between two poses.
type spreadQuad struct {
	corners []corner // convex, anticlockwise
	share   float64
}

// A corner is a place to the east and north of a swath's origin.
type corner [2]plane.Distance

// NewSpread returns the spread of a product, by its place in [machine.Track.Rates].
func NewSpread(m *coverage.Map, product int) *Spread {
	return &Spread{m: m, product: product, quads: map[int][]spreadQuad{}, boxes: map[int]*near.Boxes{}}
}

// spreadOf returns the spread of p on the ground of m; nil where no log tells its
// rate.
func spreadOf(m *coverage.Map, p *Product) *Spread {
	if p.RateColumn == 0 {
		return nil
	}
	return NewSpread(m, p.RateColumn-1)
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
		put += step * share(&p.Pass, s.product, i)
	}
	if ground == 0 {
		return swept
	}
	return swept * put / ground
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
	origin := p.Poses[0].Bar
	var quads []spreadQuad
	var around []plane.Box
	add := func(ring []plane.Point, share float64) {
		q := spreadQuad{share: share}
		for _, at := range ring {
			q.corners = append(q.corners, cornerOf(at, origin))
		}
		quads, around = append(quads, q), append(around, plane.Ring(ring).Bounds())
	}
	for i := 1; i < len(p.Poses); i++ {
		a, b := &p.Poses[i-1], &p.Poses[i]
		if a.Silent || a.Along < sw.From || a.Along >= sw.To {
			continue
		}
		from, to := work.BarOf(a), work.BarOf(b)
		for _, part := range m.Implement.Open(p.States, a.State) {
			q := [4]plane.Point{from.End(part.Right), to.End(part.Right), to.End(part.Left), from.End(part.Left)}
			if stance.TurnsLeft(q) {
				add(q[:], share(&p.Pass, s.product, i-1))
				continue
			}
			for _, ring := range stance.Positive(q) {
				add(ring, share(&p.Pass, s.product, i-1))
			}
		}
	}
	boxes := near.NewBoxes(around)
	s.quads[swath], s.boxes[swath] = quads, &boxes
	return &boxes
}

func cornerOf(at, origin plane.Point) corner {
	return corner{plane.Distance(at.X - origin.X), plane.Distance(at.Y - origin.Y)}
}

// ringsFrom returns the rings of a polygon as seen from an origin.
func ringsFrom(shape plane.Polygon, origin plane.Point) [][]corner {
	var out [][]corner
	for _, ring := range shape.Rings() {
		line := make([]corner, len(ring))
		for i, at := range ring {
			line[i] = cornerOf(at, origin)
		}
		out = append(out, line)
	}
	return out
}

// areaWithin returns the area of a polygon's rings within a convex one, in
// square ticks. Cutting a ring by one side after the other leaves edges that
// run to and fro along the sides; they hold no area.
func areaWithin(rings [][]corner, convex []corner) float64 {
	sum := 0.0
	var cut, next []corner
	for _, ring := range rings {
		cut = append(cut[:0], ring...)
		for i, a := range convex {
			b := convex[(i+1)%len(convex)]
			left := func(p corner) float64 {
				return float64(b[0]-a[0])*float64(p[1]-a[1]) - float64(b[1]-a[1])*float64(p[0]-a[0])
			}
			next = next[:0]
			for k, p := range cut {
				q := cut[(k+1)%len(cut)]
				lp, lq := left(p), left(q)
				if lp >= 0 {
					next = append(next, p)
				}
				if lp*lq < 0 {
					t := plane.Distance(lp / (lp - lq))
					next = append(next, corner{p[0] + t*(q[0]-p[0]), p[1] + t*(q[1]-p[1])})
				}
			}
			cut, next = next, cut
		}
		for k, p := range cut {
			q := cut[(k+1)%len(cut)]
			sum += float64(p[0])*float64(q[1]) - float64(q[0])*float64(p[1])
		}
	}
	return sum / 2
}

// share returns what the log says was put down from pose i of a pass to the next,
// as a share of the product's target; 1, the target, where it does not say.
func share(p *work.Pass, product, i int) float64 {
	if rate := p.Rate(product, i); !math.IsNaN(rate) {
		return rate
	}
	return 1
}

// shareOf is share of a product; 1 where no log tells its rate.
func shareOf(p *Product, pass *coverage.Pass, i int) float64 {
	if p.RateColumn == 0 {
		return 1
	}
	return share(&pass.Pass, p.RateColumn-1, i)
}
