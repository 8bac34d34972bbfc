package coverage

import (
	"math"
	"slices"

	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// A border is the outline of a patch with what each stretch of it is:
//
//	   pass 3's side
//	+-----------------+
//	| start of pass 2 |   the field's edge
//	+-----------------+
//	   pass 1's side
type border struct {
	edges    []edge
	length   float64 // ticks, of all rings
	field    float64 // the part of it on the field's edge
	contacts []contact
}

// A contact is an edge of a patch on the outline of a swath.
type contact struct {
	swath  int
	edge   int // index into border.edges
	length float64
	kind   contactKind
	spot   spot // of the edge's middle, along the swath
}

// A contactKind is which part of a swath's outline an edge is on.
type contactKind int

const (
	sideContact  contactKind = iota
	startContact             // the bar's line where it, or a section of it, begins to work
	endContact               // and where it stops
)

// borderOf looks at what each edge of a region is on. A swath's outline is
// there where the swath is on one side of the edge and not on the other.
func (m *Map) borderOf(ways []way, r *Region) border {
	var b border
	for j, ring := range r.Shape.Rings() {
		for k, p := range ring {
			q := ring[(k+1)%len(ring)]
			e := edge{float64(p.X), float64(p.Y), float64(q.X), float64(q.Y)}
			b.edges = append(b.edges, e)
			b.length += plane.Distance(p, q)
			l := r.across[j][k]
			var beyond []int
			if l != arrange.None {
				beyond = m.class(l).Swaths
			}
			if l == arrange.None || m.class(l).Kind == OverReach {
				b.field += plane.Distance(p, q)
				if len(r.Swaths) == 0 {
					continue // the field ends there, whoever drove on
				}
			}
			b.add(m, ways, r.Swaths, beyond, true)
			b.add(m, ways, beyond, r.Swaths, false)
		}
	}
	return b
}

// add adds the contacts of the last edge with the swaths that are in one list
// and not in the other. Within says that they lie over the patch itself.
func (b *border) add(m *Map, ways []way, in, notIn []int, within bool) {
	n := len(b.edges) - 1
	e := b.edges[n]
	for _, s := range in {
		if slices.Contains(notIn, s) {
			continue
		}
		sw := &m.Swaths[s]
		mid := plane.Point{X: plane.Round((e.ax + e.bx) / 2), Y: plane.Round((e.ay + e.by) / 2)}
		c := contact{swath: s, edge: n, spot: ways[sw.Pass].locate(mid, sw.From, sw.To)}
		dx, dy := e.bx-e.ax, e.by-e.ay
		c.length = math.Hypot(dx, dy)
		// The patch is on the edge's left; ahead says whether it lies in the
		// direction of travel from it.
		ahead := dx*c.spot.cos - dy*c.spot.sin
		if math.Abs(ahead) > c.length*math.Sqrt2/2 {
			c.kind = startContact
			if (ahead > 0) != within {
				c.kind = endContact
			}
		}
		b.contacts = append(b.contacts, c)
	}
}

// An ending is where one end of a swath, or of some sections of it, lies
// along a patch.
type ending struct {
	swath  int
	kind   contactKind
	length float64 // of the bar's line along the patch
	near   float64 // the patch's depth from that line, at one side
	far    float64 // and at the other; the larger
}

// wedged is how much of its depth at one side a patch must have at the other
// for the bar to have been late or early as a whole, and not only at an angle.
// A wedge has 1/9, from one tenth to nine tenths of the line; a third is
// reached where the delay is a third of the wedge's own depth.
const wedged = 1.0 / 3

func (e *ending) wedge() bool { return e.near < wedged*e.far }

// endings gathers the contacts with the ends of each swath, from the longest
// down. The patch's depth is measured from the bar's line along the way
// driven, a tenth of the line from either side:
//
//	 ____________________
//	|  ^ near      far ^ |
//	|==|===============|=|  bar
func (m *Map) endings(ways []way, b *border) []ending {
	var out []ending
	type key struct {
		swath int
		kind  contactKind
	}
	var done []key
	for _, c := range b.contacts {
		k := key{c.swath, c.kind}
		if c.kind == sideContact || slices.Contains(done, k) {
			continue
		}
		done = append(done, k)
		out = append(out, m.ending(&ways[m.Swaths[c.swath].Pass], b, c.swath, c.kind))
	}
	slices.SortStableFunc(out, func(a, b ending) int {
		switch {
		case a.length > b.length:
			return -1
		case a.length < b.length:
			return 1
		}
		return 0
	})
	return out
}

func (m *Map) ending(w *way, b *border, swath int, kind contactKind) ending {
	e := ending{swath: swath, kind: kind}
	var longest contact
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, c := range b.contacts {
		if c.swath != swath || c.kind != kind {
			continue
		}
		e.length += c.length
		lo, hi = min(lo, c.spot.across-c.length/2), max(hi, c.spot.across+c.length/2)
		if c.length > longest.length {
			longest = c
		}
	}
	// Into the patch from the line, along the way driven.
	l := b.edges[longest.edge]
	sign := math.Copysign(1, (l.bx-l.ax)*longest.spot.cos-(l.by-l.ay)*longest.spot.sin)
	s := &longest.spot
	depth := func(across float64) float64 {
		x, y := s.x+s.ahead*s.sin+across*s.cos, s.y+s.ahead*s.cos-across*s.sin
		return b.depth(x, y, sign*s.sin, sign*s.cos)
	}
	e.near, e.far = depth(lo+0.1*(hi-lo)), depth(hi-0.1*(hi-lo))
	if e.near > e.far {
		e.near, e.far = e.far, e.near
	}
	return e
}

// depth returns how far the patch reaches from a place on its outline in a
// direction of length 1; 0 where it lies the other way.
func (b *border) depth(x, y, dx, dy float64) float64 {
	const close = float64(plane.Centimetre) // the outline's own edge there
	nearest, ahead := math.Inf(1), 0
	for i := range b.edges {
		e := &b.edges[i]
		s, t := (e.ax-x)*dy-(e.ay-y)*dx, (e.bx-x)*dy-(e.by-y)*dx
		if (s > 0) == (t > 0) {
			continue
		}
		k := s / (s - t)
		along := (e.ax+k*(e.bx-e.ax)-x)*dx + (e.ay+k*(e.by-e.ay)-y)*dy
		if along > close {
			ahead++
			nearest = min(nearest, along)
		}
	}
	if ahead%2 == 0 {
		return 0
	}
	return nearest
}

// betweenSides returns the share of the outline, its two ends left out, from
// which one looks across the patch, from worked ground to worked ground.
// looks is how many places it is tried from.
func (b *border) betweenSides(across float64) float64 {
	const looks = 64
	worked := make([]bool, len(b.edges))
	side := make([]bool, len(b.edges))
	for _, c := range b.contacts {
		worked[c.edge] = true
		side[c.edge] = side[c.edge] || c.kind == sideContact
	}
	step := b.length / looks
	next, gone, seen := step/2, 0.0, 0
	for i := range b.edges {
		e := &b.edges[i]
		l := math.Hypot(e.bx-e.ax, e.by-e.ay)
		for ; next < gone+l; next += step {
			if side[i] && b.faces(e, (next-gone)/l, worked) {
				seen++
			}
		}
		gone += l
	}
	return float64(seen) * step / max(step, b.length-2*across)
}

// faces reports whether straight across the patch from a place on an edge
// there is worked ground that runs about the same way.
func (b *border) faces(from *edge, at float64, worked []bool) bool {
	l := math.Hypot(from.bx-from.ax, from.by-from.ay)
	ux, uy := (from.bx-from.ax)/l, (from.by-from.ay)/l
	x, y := from.ax+at*(from.bx-from.ax), from.ay+at*(from.by-from.ay)
	nearest, opposite := math.Inf(1), -1
	for i := range b.edges {
		e := &b.edges[i]
		s, t := (e.ax-x)*ux+(e.ay-y)*uy, (e.bx-x)*ux+(e.by-y)*uy
		if (s > 0) == (t > 0) {
			continue
		}
		k := s / (s - t)
		away := (e.ay+k*(e.by-e.ay)-y)*ux - (e.ax+k*(e.bx-e.ax)-x)*uy
		if away > float64(plane.Centimetre) && away < nearest {
			nearest, opposite = away, i
		}
	}
	if opposite < 0 || !worked[opposite] {
		return false
	}
	o := &b.edges[opposite]
	ol := math.Hypot(o.bx-o.ax, o.by-o.ay)
	return -((o.bx-o.ax)*ux + (o.by-o.ay)*uy) > 0.8*ol
}

// reach returns how far a patch extends along and across a heading.
func (b *border) reach(sin, cos float64) (along, across float64) {
	aLo, aHi, cLo, cHi := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for i := range b.edges {
		e := &b.edges[i]
		a, c := e.ax*sin+e.ay*cos, e.ax*cos-e.ay*sin
		aLo, aHi, cLo, cHi = min(aLo, a), max(aHi, a), min(cLo, c), max(cHi, c)
	}
	return aHi - aLo, cHi - cLo
}
