package coverage

import (
	"slices"

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
type outliner struct {
	*sweeper
	keep        []int32
	ends        Section // where the bar ends
	legs        []leg
	sides, next []int32    // legs along the edges of what is open before a pose, and after it
	ring        plane.Ring // being drawn
}

// A leg of an outline runs along from one pose to another at one offset, or
// across at one pose, from its offset to where the next leg begins.
type leg struct {
	offset   plane.Length
	from, to int32 // poses
	next     int32 // the leg that goes on from its end
	drawn    bool
}

// outline adds the rings of the outline from the first of the poses to the
// last.
func (s *sweeper) outline(rings []plane.Ring, keep []int32) []plane.Ring {
	w := s.im.Width
	o := &s.outliner
	o.sweeper, o.keep, o.ends = s, keep, Section{-(w / 2), w - w/2}
	o.legs, o.sides = o.legs[:0], o.sides[:0]
	first, last := keep[0], keep[len(keep)-1]
	var before State
	step := func(pose int32, after State) {
		o.next = o.step(o.next[:0], o.sides, pose, before, after)
		o.sides, o.next = o.next, o.sides
		before = after
	}
	step(first, s.open(first))
	for _, pose := range s.changesIn(first, last) {
		step(pose, s.open(pose))
	}
	step(last, nil)
	for i := range o.legs {
		if !o.legs[i].drawn {
			if r := o.draw(int32(i)); len(r) > 2 {
				rings = append(rings, r)
			}
		}
	}
	return rings
}

// step goes from the parts that are open before a pose to those that are after
// it. Sides are the legs along the edges of the former, from left to right;
// those of the latter it adds to next.
//
// It looks at the edges of both from left to right. Where only one of the two
// has an edge, or one begins where the other ends, legs end and begin. Across
// what is open on one side of the pose only there is a leg too. Ground is on
// the left hand of every leg, so a leg that ends by ground before the pose is
// joined to the one that begins there, and so for ground after it.
func (o *outliner) step(next, sides []int32, pose int32, before, after State) []int32 {
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
		past, coming := joint{none, none}, joint{none, none} // of legs by ground before the pose, and after it
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
				o.legs[side].to = pose
				past.ends = side
			} else {
				o.legs[side].from = pose
				past.begins = side
			}
			b++
		}
		if hasAfter {
			side := o.add(leg{offset: at, from: pose, to: pose})
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
			across = o.add(leg{offset: at, from: pose, to: pose})
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

// nextEdge returns where the next edge is of the parts before a pose, whose
// edge b it would be, and of those after it; and which have one there.
func nextEdge(before State, b int, after State, a int) (at plane.Length, hasBefore, hasAfter bool) {
	hasBefore, hasAfter = b < 2*len(before), a < 2*len(after)
	switch {
	case !hasBefore:
		return after.edge(a), false, true
	case !hasAfter:
		return before.edge(b), true, false
	}
	p, q := before.edge(b), after.edge(a)
	return min(p, q), p <= q, q <= p
}

// edge returns the edges of the parts of the bar from left to right.
func (s State) edge(i int) plane.Length {
	if i%2 == 1 {
		return s[i/2].Right
	}
	return s[i/2].Left
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
//
// The poses that matter to the way of the bar's ends matter there. Between
// those, and farther in, where the bar swings less, fewer do.
func (o *outliner) walk(l *leg) {
	if l.from != l.to && (l.offset == o.ends.Left || l.offset == o.ends.Right) {
		i, in := slices.BinarySearch(o.keep, l.from)
		j, too := slices.BinarySearch(o.keep, l.to)
		if in && too {
			step := 1
			if j < i {
				step = -1
			}
			for ; i != j; i += step {
				o.point(o.keep[i], l.offset)
			}
			return
		}
	}
	o.point(l.from, l.offset)
	offset := []float64{float64(l.offset)}
	for at, to := int(l.from), int(l.to); at != to; {
		if at = ahead(o.bars, at, to, offset, float64(Thin)); at != to {
			o.point(int32(at), l.offset)
		}
	}
}

func (o *outliner) point(pose int32, offset plane.Length) {
	o.ring = appendNew(o.ring, o.bars[pose].end(offset))
}
