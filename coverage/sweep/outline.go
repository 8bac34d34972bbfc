package sweep

import (
	"slices"

	"lapwing/coverage/machine"
	"lapwing/coverage/stance"
	"lapwing/geo/plane"
)

// An outliner draws the outline of what a bar swept while its sections opened
// and shut, over poses through which all of the bar goes ahead.
//
// Over the poses, and from left to right along the bar, the open parts make
// rectangles. Only the border of them all together is drawn: where a section
// goes on while its neighbour shuts, or where two that are open meet, there is
// no line. Mapped to the ground, legs across are straight, and legs along are
// the way that one place on the bar took.
//
//	left                 right
//	 .-----.-----.-----------.
//	 |     | shut|           |     ^
//	 |     `--.  |   open    |     | poses
//	 |  .--.  |  |           |     |
//	 |  |  |  |  `-----.     |
//	 |  `--´  |        |     |
//	 `--------´        `-----´
//
// All of the bar goes ahead, so the map does not turn the ground over: rings
// wind round a place as often as open parts of the bar came over it.
//
// Between two poses that matter to the ways of the bar's ends these go
// straight, and so do the ways of all places between; sections open and shut
// there where the bar would be on the straight.
type outliner struct {
	bars        []stance.Bar // at the poses that matter
	legs        []leg
	sides, next []int32    // legs along the edges of what is open before an instant, and after it
	ring        plane.Ring // being drawn
}

// A leg of an outline runs along from one instant to another at one offset, or
// across at one instant, from its offset to where the next leg begins.
type leg struct {
	offset   plane.Length
	from, to instant
	next     int32 // the leg that goes on from its end
	drawn    bool
}

// An instant is a moment on the way of the bar: the index of one of the bars, and a
// fraction of the way from that to the next.
type instant struct {
	bar   int32
	share float64 // from 0, below 1
}

// outline adds the rings of the outline from the first of the poses to the
// last.
func (s *sweeper) outline(rings []plane.Ring, keep []int32) []plane.Ring {
	o := &s.outliner
	o.bars, o.legs, o.sides = s.barsAt(keep), o.legs[:0], o.sides[:0]
	last := len(keep) - 1
	var before machine.State
	step := func(at instant, after machine.State) {
		o.next = o.step(o.next[:0], o.sides, at, before, after)
		o.sides, o.next = o.next, o.sides
		before = after
	}
	step(instant{}, s.open(keep[0]))
	at := instant{}
	for _, pose := range s.changesIn(keep[0], keep[last]) {
		for keep[at.bar+1] <= pose {
			at.bar++
		}
		at.share = s.share(keep[at.bar], pose, keep[at.bar], keep[at.bar+1])
		step(at, s.open(pose))
	}
	step(instant{bar: int32(last)}, nil)
	for i := range o.legs {
		if !o.legs[i].drawn {
			if r := o.draw(int32(i)); len(r) > 2 {
				rings = append(rings, r)
			}
		}
	}
	return rings
}

// step goes from the parts that are open before an instant to those that are open
// after it. Sides are the legs along the edges of the former, from left to right;
// those along the edges of the latter are added to next.
//
// The edges of both are looked at from left to right. Where only one of the two
// has an edge, or one begins where the other ends, legs end and begin. Another leg
// runs across what is open only before the instant, or only after it. Ground is on
// the left of every leg, so a leg that ends at ground before the instant is joined
// to the one that begins there, and likewise for ground after it.
func (o *outliner) step(next, sides []int32, now instant, before, after machine.State) []int32 {
	const none = -1
	across := int32(none)
	for b, a := 0, 0; b < 2*len(before) || a < 2*len(after); {
		at, hasBefore, hasAfter := nextEdge(before, b, after, a)
		if hasBefore && hasAfter && b%2 == a%2 { // the edge goes on
			next = append(next, sides[b])
			b++
			a++
			continue
		}
		type joint struct{ ends, begins int32 }
		past, coming := joint{none, none}, joint{none, none} // of legs beside ground before the instant, and after it
		if across != none {
			if b%2 == 1 {
				past.begins = across
				o.legs[across].offset = at
			} else {
				coming.ends = across
			}
		}
		if hasBefore {
			if side := sides[b]; b%2 == 1 {
				o.legs[side].to = now
				past.ends = side
			} else {
				o.legs[side].from = now
				past.begins = side
			}
			b++
		}
		if hasAfter {
			side := o.add(leg{offset: at, from: now, to: now})
			if a%2 == 1 {
				coming.begins = side
			} else {
				coming.ends = side
			}
			next = append(next, side)
			a++
		}
		across = none
		if b%2 != a%2 {
			across = o.add(leg{offset: at, from: now, to: now})
			if b%2 == 1 {
				past.ends = across
			} else {
				coming.begins = across
			}
		}
		o.join(past.ends, past.begins)
		o.join(coming.ends, coming.begins)
		if past.begins == none {
			o.join(past.ends, coming.begins)
		}
		if past.ends == none {
			o.join(coming.ends, past.begins)
		}
	}
	return next
}

// nextEdge returns where the next edge is, from left to right: edge b of the parts
// before an instant or edge a of those after it; and which of the two have one there.
func nextEdge(before machine.State, b int, after machine.State, a int) (at plane.Length, hasBefore, hasAfter bool) {
	hasBefore, hasAfter = b < 2*len(before), a < 2*len(after)
	switch {
	case !hasBefore:
		return after.Bound(a), false, true
	case !hasAfter:
		return before.Bound(b), true, false
	}
	p, q := before.Bound(b), after.Bound(a)
	return min(p, q), p <= q, q <= p
}

func (o *outliner) add(l leg) int32 {
	o.legs = append(o.legs, l)
	return int32(len(o.legs) - 1)
}

// join lets one leg go on as another; either may be none.
func (o *outliner) join(ends, begins int32) {
	if ends >= 0 && begins >= 0 {
		o.legs[ends].next = begins
	}
}

// draw returns the ring that a leg is part of.
func (o *outliner) draw(i int32) plane.Ring {
	o.ring = o.ring[:0]
	for l := &o.legs[i]; !l.drawn; l = &o.legs[l.next] {
		l.drawn = true
		o.walk(l)
	}
	return slices.Clone(o.ring)
}

// walk adds the points of a leg to the ring, but for its last.
func (o *outliner) walk(l *leg) {
	o.ring = stance.AppendNew(o.ring, o.point(l.from, l.offset))
	for i := l.from.bar + 1; i <= l.to.bar; i++ { // forward
		if i < l.to.bar || l.to.share > 0 {
			o.ring = stance.AppendNew(o.ring, o.bars[i].End(l.offset))
		}
	}
	for i := l.from.bar; i > l.to.bar; i-- { // or back
		if i < l.from.bar || l.from.share > 0 {
			o.ring = stance.AppendNew(o.ring, o.bars[i].End(l.offset))
		}
	}
}

// point returns where the place at an offset is at an instant.
func (o *outliner) point(m instant, offset plane.Length) plane.Point {
	a := o.bars[m.bar]
	if m.share == 0 {
		return a.End(offset)
	}
	b := o.bars[m.bar+1]
	u := float64(offset)
	x := float64(b.At.X-a.At.X) + u*(b.Cos-a.Cos)
	y := float64(b.At.Y-a.At.Y) - u*(b.Sin-a.Sin)
	return plane.Point{X: a.At.X + plane.Round(u*a.Cos+m.share*x), Y: a.At.Y + plane.Round(m.share*y-u*a.Sin)}
}
