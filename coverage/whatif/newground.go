package whatif

import (
	"lapwing/coverage"
	"lapwing/coverage/cause"
	"lapwing/coverage/region"
	"lapwing/coverage/sweep"
	"lapwing/coverage/work"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// A Offset is a place as seen from a pass: how far along it the bar's line goes
// over the place, and how far across the bar it is, positive to the right.
type Offset struct{ Along, Across plane.Distance }

// NewGround returns, for each swath, the ground inside the field that no
// earlier one covered: rings as seen from its pass, by the even-odd rule. Slivers,
// which noise alone makes, are left out.
func NewGround(m *coverage.Map) [][][]Offset {
	ways := work.Ways(m.Machines, m.WorkPasses())
	regions := make([][]int, len(m.Swaths))
	for i := range m.Regions {
		if r := &m.Regions[i]; (r.Kind == region.Once || r.Kind == region.Overlap) && r.Area >= cause.Sliver {
			regions[r.Swaths[0]] = append(regions[r.Swaths[0]], i)
		}
	}
	out := make([][][]Offset, len(m.Swaths))
	parallel.Each(len(m.Swaths), func(s int) {
		sw := &m.Swaths[s]
		w := &ways[sw.Pass]
		for _, i := range regions[s] {
			for _, ring := range m.Regions[i].Shape.Rings() {
				out[s] = append(out[s], see(w, ring, sw))
			}
		}
	})
	return out
}

// see turns a ring on the plane into one as seen from a swath of a way.
//
// Where the way comes back to its start, as a round does, a ring that lies over the
// two jumps from the end of the way to its beginning. The jump is drawn along the
// ends of the swath and far out on its left, so that the even-odd rule still tells
// inside from outside on every line along the bar's way.
func see(w *work.Way, ring plane.Ring, sw *sweep.Swath) []Offset {
	far := -4 * w.Width
	out := make([]Offset, 0, len(ring)+4)
	at := func(p plane.Point) Offset {
		s := w.Locate(p, sw.From, sw.To)
		return Offset{s.Along + s.Ahead, s.Across}
	}
	for i, p := range ring {
		a, q := at(p), ring[(i+1)%len(ring)]
		out = append(out, a)
		b := at(q)
		if (b.Along - a.Along).Abs() > 2*p.Distance(q)+w.Width {
			from, to := sw.To, sw.From
			if a.Along < b.Along {
				from, to = to, from
			}
			out = append(out, Offset{from, a.Across}, Offset{from, far}, Offset{to, far}, Offset{to, b.Across})
		}
	}
	return out
}
