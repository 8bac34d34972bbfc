package cause

import (
	"cmp"
	"math"
	"slices"

	"lapwing/coverage/locate"
	"lapwing/coverage/region"
	"lapwing/geo/arrange"
	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// A border is the outline of a patch with what each stretch of it is:
//
//	   pass 3's side
//	+-----------------+
//	| start of pass 2 |   the field's edge
//	+-----------------+
//	   pass 1's side
type border struct {
	edges  []near.Edge
	length plane.Distance // of all rings
	field  plane.Distance // the part of it on the field's edge

	// What meet finds.
	worked []bool // for each edge, that it is on the outline of a swath
	side   []bool // and on its side, not its end
	ends   []contact

	near near.Index // the edges, made ready by endings
}

// A contact is an edge of a patch on the start or end of a swath.
type contact struct {
	swath  int
	edge   int // index into border.edges
	length plane.Distance
	kind   contactKind
	spot   locate.Spot // of the edge's middle, along the swath
}

// A contactKind is which end of a swath's outline an edge is on.
type contactKind int

const (
	startContact contactKind = iota // the bar's line where it, or a section of it, begins to work
	endContact                      // and where it stops
)

// borderOf lists the edges of a region's outline; what they are on is left to
// meet.
func (x *explainer) borderOf(r *region.Region) border {
	n := 0
	for _, a := range r.Across {
		n += len(a)
	}
	b := border{edges: make([]near.Edge, 0, n)}
	for j, ring := range r.Shape.Rings() {
		for k, p := range ring {
			q := ring[(k+1)%len(ring)]
			e := near.EdgeOf(p, q)
			b.edges = append(b.edges, e)
			length := e.Length()
			b.length += length
			if x.bounds(r.Across[j][k]) {
				b.field += length
			}
		}
	}
	return b
}

// bounds reports whether the field's edge is between ground in it and what is
// across an edge.
func (x *explainer) bounds(across arrange.Label) bool {
	return across == arrange.None || x.Class(across).Kind == region.OverReach
}

// meet looks at what each edge of a region is on. A swath's outline is there
// where the swath is on one side of the edge and not on the other.
func (b *border) meet(x *explainer, r *region.Region) {
	b.worked, b.side = make([]bool, len(b.edges)), make([]bool, len(b.edges))
	f := follower{x: x}
	n := 0
	for _, across := range r.Across {
		for _, l := range across {
			if len(r.Swaths) > 0 || !x.bounds(l) { // else the field ends there, whoever drove on
				var beyond []int
				if l != arrange.None {
					beyond = x.Class(l).Swaths
				}
				b.add(&f, n, r.Swaths, beyond, true)
				b.add(&f, n, beyond, r.Swaths, false)
			}
			n++
		}
	}
}

// add notes that edge n is on the outline of the swaths that are in one list
// and not in the other. Within says that they lie over the patch.
func (b *border) add(f *follower, n int, in, notIn []int, within bool) {
	e := &b.edges[n]
	for _, s := range in {
		for len(notIn) > 0 && notIn[0] < s { // both rise
			notIn = notIn[1:]
		}
		if len(notIn) > 0 && notIn[0] == s {
			continue
		}
		b.worked[n] = true
		length := e.Length()
		if f.along(s, e, length) {
			b.side[n] = true
			continue
		}
		c := contact{swath: s, edge: n, length: length, spot: f.spot}
		// The patch is on the edge's left. Where the bar went to that side, the edge
		// is the start of a swath over the patch, or the end of one beside it.
		if ahead := (e.BX-e.AX)*f.spot.Cos - (e.BY-e.AY)*f.spot.Sin; (ahead > 0) != within {
			c.kind = endContact
		}
		b.ends = append(b.ends, c)
	}
}

// A follower goes along the edges of a patch and along the swaths they are
// on, from knot to knot: nearly all edges run along the side of a swath, and
// for those the nearest knot is near enough.
type follower struct {
	x *explainer

	last []struct{ swath, knot int }
	spot locate.Spot // of the middle of an edge that does not run along
}

// along reports whether an edge runs along the way driven, and not across it.
// Where it does not, f.spot is set.
func (f *follower) along(swath int, e *near.Edge, length plane.Distance) bool {
	sw := &f.x.Swaths[swath]
	w := &f.x.Ways[sw.Pass]
	x, y := (e.AX+e.BX)/2, (e.AY+e.BY)/2
	i := slices.IndexFunc(f.last, func(l struct{ swath, knot int }) bool { return l.swath == swath })
	if i < 0 {
		i = len(f.last)
		f.last = append(f.last, struct{ swath, knot int }{swath, w.Nearest(x, y, sw.From, sw.To)})
	}
	k := w.Follow(f.last[i].knot, x, y, sw.From, sw.To)
	f.last[i].knot = k
	dx, dy := e.BX-e.AX, e.BY-e.AY
	if n := &w.Knots[k]; n.Straight && math.Abs(dx*n.Sin+dy*n.Cos) > float64(length)*cosNearly {
		return true
	}
	f.spot = w.Locate(plane.Point{X: plane.Round(x), Y: plane.Round(y)}, sw.From, sw.To)
	return math.Abs(dx*f.spot.Sin+dy*f.spot.Cos) > float64(length)*math.Sqrt2/2
}

// cosNearly is the cosine of 30 degrees: where the bar turns by no more than
// 15 from one knot to the next, an edge that is within 30 of a knot's heading
// is within 45 of the heading beside it.
var cosNearly = math.Cos(math.Pi / 6)

// An ending is where one end of a swath, or of some sections of it, lies
// along a patch.
type ending struct {
	swath  int
	kind   contactKind
	length plane.Distance // of the bar's line along the patch
	spot   locate.Spot    // on that line
	near   plane.Distance // the patch's depth from that line, at one side
	far    plane.Distance // and at the other; the larger
}

// wedged is how much of its depth at one side a patch must have at the other
// for the bar to have been late or early as a whole, and not only at an angle.
// A wedge of depth D has 0.1 D and 0.9 D at a tenth of the line from either side:
// a ninth. A delay d adds to both, and (d + 0.1 D) / (d + 0.9 D) is a third where
// d = 0.3 D. TestSkipCauses fails where it is doubled.
const wedged = 1.0 / 3

func (e *ending) wedge() bool { return e.near < wedged*e.far }

// fromSide is how far from either side of an ending's line the depth is taken, as a
// share of the line: the corners themselves are where noise rounds them off.
// Judgement. TestSkipCauses fails where it is doubled.
const fromSide = 0.1

// endings gathers the contacts with the ends of each swath, from the longest
// down; sections that start or stop by themselves have endings of their own.
// The patch's depth is measured from the bar's line along the way driven, a
// tenth of the line from either side:
//
//	 ____________________
//	|  ^ near      far ^ |
//	|==|===============|=|  bar
func (b *border) endings() []ending {
	if len(b.ends) == 0 {
		return nil
	}
	b.near = near.New(b.edges)
	along := make([]int, len(b.ends)) // contacts with one end of a swath lie together, in the order driven
	for i := range along {
		along[i] = i
	}
	slices.SortFunc(along, func(i, j int) int {
		c, d := &b.ends[i], &b.ends[j]
		return cmp.Or(cmp.Compare(c.swath, d.swath), cmp.Compare(c.kind, d.kind), cmp.Compare(c.spot.Along, d.spot.Along), cmp.Compare(i, j))
	})
	at := make([]int, len(along)) // where each contact is among them
	for k, i := range along {
		at[i] = k
	}
	var out []ending
	done := make([]bool, len(b.ends))
	for i := range b.ends {
		if done[i] {
			continue
		}
		c := &b.ends[i]
		onLine := func(k int) bool {
			d := &b.ends[along[k]]
			return d.swath == c.swath && d.kind == c.kind && (d.spot.Along-c.spot.Along).Abs() < oneLine
		}
		from, to := at[i], at[i]+1
		for from > 0 && onLine(from-1) {
			from--
		}
		for to < len(along) && onLine(to) {
			to++
		}
		var line []contact
		for _, j := range slices.Sorted(slices.Values(along[from:to])) {
			if !done[j] {
				done[j] = true
				line = append(line, b.ends[j])
			}
		}
		out = append(out, b.ending(line))
	}
	slices.SortStableFunc(out, func(a, b ending) int { return cmp.Compare(b.length, a.length) })
	return out
}

// oneLine is how far along the way contacts may lie from one another and be on
// one line of the bar. Corners are rounded to the tick; sections switch no
// nearer than a fix at 10 Hz is from the next. No test holds it closely.
const oneLine = plane.Distance(plane.Centimetre)

// ending makes an ending of the contacts on one line of the bar.
func (b *border) ending(line []contact) ending {
	e := ending{swath: line[0].swath, kind: line[0].kind}
	longest := line[0]
	lo, hi := plane.Distance(math.Inf(1)), plane.Distance(math.Inf(-1))
	for _, c := range line {
		e.length += c.length
		lo, hi = min(lo, c.spot.Across-c.length/2), max(hi, c.spot.Across+c.length/2)
		if c.length > longest.length {
			longest = c
		}
	}
	e.spot = longest.spot
	s := &e.spot
	// Into the patch from the line, along the way driven.
	l := b.edges[longest.edge]
	sign := math.Copysign(1, (l.BX-l.AX)*s.Cos-(l.BY-l.AY)*s.Sin)
	depth := func(d plane.Distance) plane.Distance {
		ahead, across := float64(s.Ahead), float64(d)
		x, y := s.X+ahead*s.Sin+across*s.Cos, s.Y+ahead*s.Cos-across*s.Sin
		return b.depth(x, y, sign*s.Sin, sign*s.Cos)
	}
	e.near, e.far = depth(lo+fromSide*(hi-lo)), depth(hi-fromSide*(hi-lo))
	if e.near > e.far {
		e.near, e.far = e.far, e.near
	}
	return e
}

// depth returns how far the patch reaches from a place on its outline in a
// direction of length 1; 0 where it lies the other way.
func (b *border) depth(x, y, dx, dy float64) plane.Distance {
	const close = plane.Distance(plane.Centimetre) // the outline's own edge there
	hit := b.near.Cast(&near.Ray{X: x, Y: y, DX: dx, DY: dy, Beyond: close})
	if !hit.Leaves {
		return 0 // the ray comes into the patch there, or never
	}
	return hit.Distance
}

// betweenSides returns the share of the outline, its two ends left out, from
// which one looks across the patch, from worked ground to worked ground.
func (b *border) betweenSides(across plane.Distance) float64 {
	const looks = 64 // places that it is tried from, evenly spaced; judgement
	step := b.length / looks
	next, gone, seen := step/2, plane.Distance(0), 0
	for i := range b.edges {
		e := &b.edges[i]
		l := e.Length()
		for ; next < gone+l; next += step {
			if b.side[i] && b.faces(e, float64((next-gone)/l)) {
				seen++
			}
		}
		gone += l
	}
	return float64(plane.Distance(seen) * step / max(step, b.length-2*across))
}

// opposed is the least cosine of the angle at which an edge across a patch runs against
// the edge it is seen from: some 37 degrees. Judgement. TestSkipCauses fails where it
// is doubled.
const opposed = 0.8

// faces reports whether straight across the patch from a place on an edge
// there is worked ground that runs about the same way.
func (b *border) faces(from *near.Edge, at float64) bool {
	l := float64(from.Length())
	ux, uy := (from.BX-from.AX)/l, (from.BY-from.AY)/l
	x, y := from.AX+at*(from.BX-from.AX), from.AY+at*(from.BY-from.AY)
	nearest, opposite := math.Inf(1), -1
	for i := range b.edges {
		e := &b.edges[i]
		s, t := (e.AX-x)*ux+(e.AY-y)*uy, (e.BX-x)*ux+(e.BY-y)*uy
		if (s > 0) == (t > 0) {
			continue
		}
		k := s / (s - t)
		away := (e.AY+k*(e.BY-e.AY)-y)*ux - (e.AX+k*(e.BX-e.AX)-x)*uy
		if away > float64(plane.Centimetre) && away < nearest {
			nearest, opposite = away, i
		}
	}
	if opposite < 0 || !b.worked[opposite] {
		return false
	}
	o := &b.edges[opposite]
	return -((o.BX-o.AX)*ux + (o.BY-o.AY)*uy) > opposed*float64(o.Length())
}

// reach returns how far a patch extends along and across a heading.
func (b *border) reach(sin, cos float64) (along, across plane.Distance) {
	aLo, aHi, cLo, cHi := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for i := range b.edges {
		e := &b.edges[i]
		a, c := e.AX*sin+e.AY*cos, e.AX*cos-e.AY*sin
		aLo, aHi, cLo, cHi = min(aLo, a), max(aHi, a), min(cLo, c), max(cHi, c)
	}
	return plane.Distance(aHi - aLo), plane.Distance(cHi - cLo)
}
