package sweep

import (
	"math"

	"lapwing/coverage/machine"
	"lapwing/coverage/stance"
	"lapwing/coverage/work"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// An OffRate is ground that one pass put off its rate by more than 10 %, for
// the picture: the quads between the stances that the rate is taken from. They
// are not the swath's own outline, and nothing is measured on them; figures
// are in [Dose].
type OffRate struct {
	Pass  int // index into the passes
	Thick []plane.Ring
	Thin  []plane.Ring
	Back  []plane.Ring // under a part of the bar that stood or went backward
}

// OffRates finds the ground that turns left off its rate, by pass; passes
// without any are left out. It walks the poses once more, so it is done only
// for a report that draws it.
func OffRates(machines []machine.Machine, passes []work.Pass) []OffRate {
	found := make([]OffRate, len(passes))
	parallel.EachWith(len(passes), func(i int, s *sweeper) {
		found[i] = s.offRate(i, machines, &passes[i])
	})
	var out []OffRate
	for _, o := range found {
		if len(o.Thick)+len(o.Thin)+len(o.Back) > 0 {
			out = append(out, o)
		}
	}
	return out
}

func (s *sweeper) offRate(index int, machines []machine.Machine, p *work.Pass) OffRate {
	out := OffRate{Pass: index}
	s.follow(p, machines)
	keep := merged(s.keep, s.changes)
	pose := func(i int) *work.Pose { return &p.Poses[keep[i]] }
	for i, last := 0, len(keep)-1; i < last; {
		j := i + 1
		for j < last && pose(j).State == pose(i).State && !pose(j).Silent && !pose(i).Silent {
			j++
		}
		if !pose(i).Silent {
			bars := s.barsAt(keep[i : j+1])
			for _, part := range s.open(keep[i]) {
				out.add(bars, part)
			}
		}
		i = j
	}
	return out
}

// add cuts the quads of a stretch where its rate is 10 % off.
func (o *OffRate) add(bars []stance.Bar, s machine.Section) {
	steps(bars, func(i, j int, a, b float64) {
		p, q := &bars[i], &bars[j]
		left, right := s.Left.Metres(), s.Right.Metres()
		if b == 0 && a > 0 {
			return
		}
		if a <= 0 {
			o.Back = quad(o.Back, p, q, left, right)
			return
		}
		// Toward the inner end, where b u grows, the rate rises: from the outer
		// end it is thin up to u(0.9), on target up to u(1.1), thick up to where
		// the bar stands, and backward from there.
		lo, hi := left, right
		at := func(bound float64) float64 { return min(max((a-a/bound)/b, lo), hi) }
		still := min(max(a/b, lo), hi)
		if b > 0 {
			o.Thin = quad(o.Thin, p, q, lo, at(thinBound))
			o.Thick = quad(o.Thick, p, q, at(thickBound), still)
			o.Back = quad(o.Back, p, q, still, hi)
		} else {
			o.Thin = quad(o.Thin, p, q, at(thinBound), hi)
			o.Thick = quad(o.Thick, p, q, still, at(thickBound))
			o.Back = quad(o.Back, p, q, lo, still)
		}
	})
}

// quad adds the quad that the parts of the bar from left to right of its
// centre, in m, sweep from one stance to the next.
func quad(rings []plane.Ring, p, q *stance.Bar, left, right float64) []plane.Ring {
	if !(left < right) {
		return rings
	}
	l, r := plane.Metres(left), plane.Metres(right)
	ring := plane.Ring{p.End(r), q.End(r), q.End(l), p.End(l)}
	if math.Abs(float64(ring.Area())) < float64(plane.SquareMetre)/100 {
		return rings // too small to be seen on the picture
	}
	return append(rings, ring)
}
