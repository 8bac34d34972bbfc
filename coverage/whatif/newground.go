package whatif

import (
	"lapwing/coverage"
	"lapwing/coverage/cause"
	"lapwing/coverage/locate"
	"lapwing/coverage/region"
	"lapwing/coverage/sweep"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// NewGround returns, for each swath, the ground inside the field that no
// earlier one covered: rings as seen from its pass, by the even-odd rule. Slivers,
// which noise alone makes, are left out.
func NewGround(m *coverage.Map) [][][]locate.Offset {
	ways := locate.Ways(m.Machines, m.WorkPasses())
	regions := make([][]int, len(m.Swaths))
	for i := range m.Regions {
		if r := &m.Regions[i]; (r.Kind == region.Once || r.Kind == region.Overlap) && r.Area >= cause.Sliver {
			regions[r.Swaths[0]] = append(regions[r.Swaths[0]], i)
		}
	}
	out := make([][][]locate.Offset, len(m.Swaths))
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
func see(w *locate.Way, ring plane.Ring, sw *sweep.Swath) []locate.Offset {
	far := -4 * w.Width
	out := make([]locate.Offset, 0, len(ring)+4)
	at := func(p plane.Point) locate.Offset {
		s := w.Locate(p, sw.From, sw.To)
		return locate.Offset{Along: s.Along + s.Ahead, Across: s.Across}
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
			out = append(out, locate.Offset{Along: from, Across: a.Across}, locate.Offset{Along: from, Across: far}, locate.Offset{Along: to, Across: far}, locate.Offset{Along: to, Across: b.Across})
		}
	}
	return out
}
