package mend

import (
	"math"

	"lapwing/coverage"
	"lapwing/coverage/locate"
	"lapwing/geo/plane"
)

// A guide is a line that a run is laid beside: straight, or the way of a pass
// that the skip lies along. Its first and last stretch are extended to infinity.
type guide struct {
	x, y  []float64        // corners
	along []plane.Distance // of each corner
}

func newGuide(x, y []float64) *guide {
	g := &guide{x: x, y: y, along: make([]plane.Distance, len(x))}
	for i := 1; i < len(x); i++ {
		g.along[i] = g.along[i-1] + plane.Distance(plane.Vector{X: x[i] - x[i-1], Y: y[i] - y[i-1]}.Length())
	}
	return g
}

// straight returns the guide through a point in a direction.
func straight(at plane.Point, sin, cos float64) *guide {
	x, y := float64(at.X), float64(at.Y)
	const length = float64(100 * plane.Metre) // any will do: a guide goes on straight past its ends
	return newGuide([]float64{x, x + sin*length}, []float64{y, y + cos*length})
}

// bordering returns the guide along a pass, with corners no closer than a metre;
// nil where the pass is shorter than that.
func bordering(p *coverage.Pass) *guide {
	var x, y []float64
	last := plane.Distance(math.Inf(-1))
	for i := range p.Poses {
		if at := &p.Poses[i]; at.Along-last >= plane.Distance(plane.Metre) {
			x, y, last = append(x, float64(at.Bar.X)), append(y, float64(at.Bar.Y)), at.Along
		}
	}
	if len(x) < 2 {
		return nil
	}
	return newGuide(x, y)
}

// alongRing returns the guide along a ring of the boundary, in short stretches so
// that it turns at the corners only. It begins where the ring is farthest from a
// place, so that no skip near that place lies across its ends.
func alongRing(ring plane.Ring, from plane.Point) *guide {
	first := 0
	for i, p := range ring {
		if p.Distance(from) > ring[first].Distance(from) {
			first = i
		}
	}
	var x, y []float64
	for i := range ring {
		a, b := ring[(first+i)%len(ring)], ring[(first+i+1)%len(ring)]
		n := math.Ceil(float64(a.Distance(b) / plane.Distance(2*plane.Metre)))
		for k := 0.0; k < n; k++ {
			nx, ny := float64(a.X)+k/n*float64(b.X-a.X), float64(a.Y)+k/n*float64(b.Y-a.Y)
			if m := len(x); m == 0 || (plane.Vector{X: nx - x[m-1], Y: ny - y[m-1]}).Length() > float64(plane.Centimetre) {
				x, y = append(x, nx), append(y, ny)
			}
		}
	}
	if len(x) < 2 {
		return nil
	}
	return newGuide(x, y)
}

// touching is how near a corner of a patch a ring of the boundary must come to run
// along it. Judgement. No test holds it closely.
const touching = 1 * plane.Metre

// touches reports whether a ring of the boundary runs along a patch.
func touches(ring plane.Ring, p *patch) bool {
	for _, shell := range p.shells {
		for _, at := range shell {
			for i, a := range ring {
				if distanceTo(a, ring[(i+1)%len(ring)], at) < plane.Distance(touching) {
					return true
				}
			}
		}
	}
	return false
}

// at returns the place of a spot, and the guide's direction there. Between the
// directions of two stretches it turns gradually, so that a line beside the
// guide has no steps.
func (g *guide) at(s locate.Offset) (x, y, sin, cos float64) {
	k := g.stretch(s.Along)
	sin, cos = g.direction(k)
	ahead, across := float64(s.Along-g.along[k]), float64(s.Across)
	x, y = g.x[k]+ahead*sin, g.y[k]+ahead*cos
	length := float64(g.along[k+1] - g.along[k])
	share := max(0, min(1, ahead/length))
	other, weight := k, 0.0
	if share < 0.5 && k > 0 {
		other, weight = k-1, 0.5-share
	} else if share > 0.5 && k+2 < len(g.x) {
		other, weight = k+1, share-0.5
	}
	so, co := g.direction(other)
	nx, ny := sin*(1-weight)+so*weight, cos*(1-weight)+co*weight
	if l := (plane.Vector{X: nx, Y: ny}).Length(); l > 0 {
		sin, cos = nx/l, ny/l
	}
	return x + across*cos, y - across*sin, sin, cos
}

func (g *guide) stretch(along plane.Distance) int {
	lo, hi := 0, len(g.x)-2
	for lo < hi {
		mid := (lo + hi + 1) / 2
		if g.along[mid] <= along {
			lo = mid
		} else {
			hi = mid - 1
		}
	}
	return lo
}

// direction returns the direction of a stretch as sine and cosine of its
// heading.
func (g *guide) direction(k int) (sin, cos float64) {
	l := float64(g.along[k+1] - g.along[k])
	return (g.x[k+1] - g.x[k]) / l, (g.y[k+1] - g.y[k]) / l
}

// spot returns where a place is as seen from stretch k, and how far before or beyond the
// stretch it is, along it. Beyond the guide's ends the stretch goes on.
func (g *guide) spot(k int, x, y float64) (s locate.Offset, beyond plane.Distance) {
	sin, cos := g.direction(k)
	dx, dy := x-g.x[k], y-g.y[k]
	ahead, across := dx*sin+dy*cos, dx*cos-dy*sin
	held := ahead
	if k > 0 {
		held = max(0, held)
	}
	if k+2 < len(g.x) {
		held = min(float64(g.along[k+1]-g.along[k]), held)
	}
	return locate.Offset{Along: g.along[k] + plane.Distance(held), Across: plane.Distance(across)}, plane.Distance(ahead - held)
}

// follow returns the spots of the corners of a ring, which is gone round in
// short steps: each is looked for within reach of the one before, since a pass
// that goes round and round has other stretches as near.
func (g *guide) follow(ring plane.Ring, reach plane.Distance) []locate.Offset {
	var out []locate.Offset
	nearest := func(x, y float64, from, to int) (locate.Offset, plane.Distance) {
		var best locate.Offset
		least := plane.Distance(math.Inf(1))
		for k := from; k <= to; k++ {
			s, beyond := g.spot(k, x, y)
			if max(s.Across.Abs(), beyond.Abs()) >= least {
				continue // it is no nearer (speed alone)
			}
			if off := plane.Distance(math.Hypot(float64(s.Across), float64(beyond))); off < least {
				best, least = s, off
			}
		}
		return best, least
	}
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		steps := math.Ceil(float64(a.Distance(b) / plane.Distance(2*plane.Metre)))
		for j := 0.0; j < max(1, steps); j++ {
			t := j / max(1, steps)
			x, y := float64(a.X)+t*float64(b.X-a.X), float64(a.Y)+t*float64(b.Y-a.Y)
			from, to := 0, len(g.x)-2
			if n := len(out); n > 0 {
				from, to = g.stretch(out[n-1].Along-reach), g.stretch(out[n-1].Along+reach)
			}
			s, _ := nearest(x, y, from, to)
			out = append(out, s)
		}
	}
	return out
}

// longAxis returns the direction of the narrowest strip that holds a ring, the
// minimum-width direction, as sine and cosine of a heading. It tries so many
// directions (judgement), and refines the best by halving steps: with half as many
// the drive of samples/long-meadow is a foot longer, and with twice as many no drive
// of samples and cases changes.
func longAxis(r plane.Ring) (sin, cos float64) {
	const turns = 90
	least := math.Inf(1)
	spread := func(a float64) float64 {
		s, c := math.Sincos(a)
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, p := range r {
			d := float64(p.X)*c - float64(p.Y)*s
			lo, hi = min(lo, d), max(hi, d)
		}
		return hi - lo
	}
	best := 0.0
	for k := range turns {
		if d := spread(float64(k) * math.Pi / turns); d < least {
			best, least = float64(k)*math.Pi/turns, d
		}
	}
	for step := math.Pi / turns; step > 1e-5; step /= 2 { // a long strip asks for more than two degrees
		for _, a := range [2]float64{best - step, best + step} {
			if d := spread(a); d < least {
				best, least = a, d
			}
		}
	}
	return math.Sincos(best)
}
