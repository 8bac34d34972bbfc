package coverage

import (
	"math"

	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// A Seen is a place as seen from a pass: how far along it the bar's line goes
// over the place, and how far across the bar it is, positive to the right.
type Seen struct{ Along, Across float64 } // ticks

// NewGround returns, for each swath, the ground inside the field that no
// earlier one covered: rings as seen from its pass. A place is inside if it is
// inside of an odd number of them. Slivers, which noise alone makes, are left out.
func (m *Map) NewGround() [][][]Seen {
	ways := m.ways()
	regions := make([][]int, len(m.Swaths))
	for i := range m.Regions {
		if r := &m.Regions[i]; (r.Kind == Once || r.Kind == Overlap) && r.Area >= sliver {
			regions[r.Swaths[0]] = append(regions[r.Swaths[0]], i)
		}
	}
	out := make([][][]Seen, len(m.Swaths))
	parallel.Each(len(m.Swaths), func(s int) {
		sw := &m.Swaths[s]
		w := &ways[sw.Pass]
		for _, i := range regions[s] {
			for _, ring := range m.Regions[i].Shape.Rings() {
				out[s] = append(out[s], w.see(ring, sw))
			}
		}
	})
	return out
}

// see turns a ring on the plane into one as seen from a swath of the way.
//
// Where the way comes back to its start, as a round does, a ring runs on from
// its end to its beginning. It is led there along the two ends and far out on
// the left, so that what lies to the left of it there is inside or outside as
// it should be.
func (w *way) see(ring plane.Ring, sw *Swath) []Seen {
	far := -4 * w.width
	out := make([]Seen, 0, len(ring)+4)
	at := func(p plane.Point) Seen {
		s := w.locate(p, sw.From, sw.To)
		return Seen{s.along + s.ahead, s.across}
	}
	for i, p := range ring {
		a, q := at(p), ring[(i+1)%len(ring)]
		out = append(out, a)
		b := at(q)
		if math.Abs(b.Along-a.Along) > 2*plane.Distance(p, q)+w.width {
			from, to := sw.To, sw.From
			if a.Along < b.Along {
				from, to = to, from
			}
			out = append(out, Seen{from, a.Across}, Seen{from, far}, Seen{to, far}, Seen{to, b.Across})
		}
	}
	return out
}

// A Stretch is a part of a pass, in ticks along it.
type Stretch struct{ From, To float64 }

// Worked returns the ground that a part of the bar, from left to right of its
// centre in ticks, sweeps over a stretch of the pass, in square metres: its
// width by the way of its middle, which is longer on the outside of a turn.
func (p *Pass) Worked(left, right float64, s Stretch) float64 {
	middle, way := (left+right)/2, 0.0
	from := poseAt(p.Poses, s.From)
	for i := max(1, int(from)); i < len(p.Poses); i++ {
		a, b := &p.Poses[i-1], &p.Poses[i]
		lo, hi := max(a.Along, s.From), min(b.Along, s.To)
		if a.Along >= s.To {
			break
		}
		if hi <= lo || a.Silent {
			continue
		}
		part := (hi - lo) / (b.Along - a.Along)
		way += max(0, (hi-lo)-middle*part*turnBetween(a.Heading, b.Heading))
	}
	return (right - left) / float64(plane.Metre) * way / float64(plane.Metre)
}
