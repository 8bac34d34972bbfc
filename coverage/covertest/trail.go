package covertest

import (
	"math"
	"slices"
	"sort"
	"time"

	"lapwing/coverage/machine"
	"lapwing/geo/plane"
)

// A Trail is where the bar of one machine really was while it worked without
// a break: a pass as it was driven, free of noise.
type Trail struct {
	Machine string
	Begin   time.Time   // when the machine set out
	Width   float64     // working width
	Poses   []TrailPose // two at least
}

// A TrailPose is the bar's stance at one time. Between two of them the ends
// of the bar stray from straight lines by no more than trailBow.
type TrailPose struct {
	Stance
	Time  float64       // seconds since the machine set out
	Along float64       // metres travelled by the bar's centre since the pass began
	Open  machine.State // the stretches that work until the next pose; none at the last
}

// trailBow is how far the straight line between two poses may lie from the
// path of any point of the bar, metres: half a tick of the grid.
const trailBow = 5e-5

// trailStep is the longest way between two poses that are looked at on a
// curve, metres. On 1 m of radius its bow is 0.3 mm, on 5 m 0.06 mm.
const trailStep = 0.05

// Trails returns the passes of the rig as driven.
func (r Rig) Trails() []Trail {
	d := newDrive(r)
	w := trailWriter{
		open:  grounded(d.switches(), r.Implement),
		rig:   r,
		cache: map[Mask]machine.State{},
	}
	var behind *tow
	if r.Implement.Towed && len(d.legs) > 0 {
		behind = newTow(r.Implement, d.legs[0].From.Heading)
	}
	for i, leg := range d.legs {
		if leg.Stand > 0 {
			continue
		}
		// The leg's own steps, and the times at which something switches.
		n := 1.0
		if leg.Curve != 0 || behind != nil {
			n = math.Ceil(leg.Length / trailStep)
		}
		stops := make([]float64, 0, int(n)+1)
		for k := 0.0; k <= n; k++ {
			stops = append(stops, leg.Length*k/n)
		}
		begin, end := d.clock[i], d.clock[i+1]
		for _, c := range w.open {
			if c.at > begin && c.at < end {
				stops = append(stops, (c.at-begin)*r.Speed*leg.pace())
			}
		}
		slices.Sort(stops)
		for k, at := range stops {
			bar := leg.At(at)
			if behind != nil {
				if k > 0 {
					behind.advance(leg, stops[k-1], at)
				}
				bar = behind.stance(leg.At(at))
			}
			w.add(bar, begin+at/(r.Speed*leg.pace()))
		}
	}
	w.finish()
	return w.trails
}

// grounded turns the times of switches into the times at which the product
// reaches the ground and stops reaching it, section by section.
func grounded(cs []change, imp machine.Implement) []change {
	on, off := imp.OnDelay.Seconds(), imp.OffDelay.Seconds()
	if on == off {
		out := slices.Clone(cs)
		for i := range out {
			out[i].at += on
		}
		return out
	}
	type event struct {
		at float64
		by int // +1 opens, -1 shuts
		of Mask
	}
	var events []event
	for s := range imp.Sections {
		bit := Mask(1) << s
		from, open := 0.0, false
		for _, c := range append(slices.Clone(cs), change{math.Inf(1), Shut}) {
			switch is := c.open&bit != 0; {
			case is && !open:
				from, open = c.at, true
			case !is && open:
				open = false
				if from+on < c.at+off {
					events = append(events, event{from + on, 1, bit}, event{c.at + off, -1, bit})
				}
			}
		}
	}
	sort.SliceStable(events, func(i, j int) bool { return events[i].at < events[j].at })
	var out []change
	count := make(map[Mask]int) // a late shutting may outlast the next opening
	var open Mask
	for i, e := range events {
		count[e.of] += e.by
		if open &^= e.of; count[e.of] > 0 {
			open |= e.of
		}
		if i+1 == len(events) || events[i+1].at > e.at {
			out = append(out, change{e.at, open})
		}
	}
	return out
}

// A trailWriter gathers poses into trails, leaving out those that lie on the
// way between their neighbours.
type trailWriter struct {
	rig    Rig
	open   []change
	cache  map[Mask]machine.State
	trails []Trail

	now     *Trail     // the pass being driven
	mask    Mask       // what was open since the last pose
	last    Stance     // the pose before this one, kept or not
	pending *TrailPose // last, where it was left out so far
}

func (w *trailWriter) add(s Stance, t float64) {
	mask := openAt(w.open, t)
	if w.now == nil && mask == Shut {
		return
	}
	if w.now == nil {
		w.trails = append(w.trails, Trail{Machine: w.rig.Name, Begin: w.rig.begin(), Width: w.rig.Implement.Width.Metres()})
		w.now = &w.trails[len(w.trails)-1]
		w.now.Poses = []TrailPose{{Stance: s, Time: t, Open: w.stretches(mask)}}
		w.last, w.mask = s, mask
		return
	}
	kept := &w.now.Poses[len(w.now.Poses)-1]
	if w.pending != nil && (w.bows(kept.Stance, s) || turnsBack(kept.XY, w.last.XY, s.XY)) {
		w.now.Poses = append(w.now.Poses, *w.pending)
		kept = w.pending
	}
	before := kept.Along
	if w.pending != nil {
		before = w.pending.Along
	}
	next := TrailPose{Stance: s, Time: t, Along: before + Distance(w.last.XY, s.XY), Open: w.stretches(mask)}
	w.pending, w.last = &next, s
	if mask != w.mask {
		w.now.Poses, w.pending = append(w.now.Poses, next), nil
		w.mask = mask
	}
	if mask == Shut {
		w.now.Poses[len(w.now.Poses)-1].Open = nil
		w.now = nil
	}
}

// bows reports whether the way from a to b may be too bent for a straight
// line: over a length l a turn by q bends the centre's path by l q / 8, and an
// end's, half a width out, by half a width times q² / 8 more.
func (w *trailWriter) bows(a, b Stance) bool {
	l, q := Distance(a.XY, b.XY), math.Abs(b.Heading-a.Heading)
	return (l*q+w.rig.Implement.Width.Metres()/2*q*q)/8 > trailBow
}

// turnsBack reports whether c lies back from b towards a: it backs up.
func turnsBack(a, b, c XY) bool { return b.plus(-1, a).dot(c.plus(-1, b)) < 0 }

// finish ends a pass at the end of which nothing was switched off.
func (w *trailWriter) finish() {
	if w.now != nil && w.pending != nil {
		w.pending.Open = nil
		w.now.Poses = append(w.now.Poses, *w.pending)
	}
}

func (w *trailWriter) stretches(m Mask) machine.State {
	s, ok := w.cache[m]
	if !ok {
		s = stretches(w.rig.Implement.Sections, m)
		w.cache[m] = s
	}
	return s
}

// Length returns the way of the bar's centre.
func (t Trail) Length() float64 { return t.Poses[len(t.Poses)-1].Along }

// Rings returns the ground the bar swept as rings on the grid, one for each
// stretch of the bar between two poses, all anticlockwise. Where the bar
// swings backward the two ends of a ring would cross: it is cut there.
func (t Trail) Rings() []plane.Ring {
	var out []plane.Ring
	for i := 1; i < len(t.Poses); i++ {
		a, b := t.Poses[i-1], t.Poses[i]
		for _, s := range a.Open {
			out = appendQuad(out, plane.Ring{a.end(s.Left), a.end(s.Right), b.end(s.Right), b.end(s.Left)})
		}
	}
	return out
}

// end returns the place on the bar that is so far right of its centre.
func (p TrailPose) end(across plane.Length) plane.Point {
	return onGrid(p.plus(across.Metres(), right(p.Heading)))
}

// appendQuad adds the ground of a four-cornered ring: the ring, turned
// anticlockwise if need be, or two triangles where its sides cross.
func appendQuad(out []plane.Ring, q plane.Ring) []plane.Ring {
	for i := range 2 {
		a, b, c, d := q[i], q[i+1], q[i+2], q[(i+3)%4]
		if plane.Side(a, b, c)*plane.Side(a, b, d) < 0 && plane.Side(c, d, a)*plane.Side(c, d, b) < 0 {
			// a b meets c d at x: the triangles b c x and d a x remain.
			k := float64(plane.Cross(c, d, a)) / float64(plane.Cross(c, d, a)-plane.Cross(c, d, b))
			x := plane.Point{
				X: a.X + plane.Round(k*float64(b.X-a.X)),
				Y: a.Y + plane.Round(k*float64(b.Y-a.Y)),
			}
			return appendTurned(appendTurned(out, plane.Ring{b, c, x}), plane.Ring{d, a, x})
		}
	}
	return appendTurned(out, q)
}

func appendTurned(out []plane.Ring, r plane.Ring) []plane.Ring {
	switch a := r.Area(); {
	case a > 0:
		return append(out, r)
	case a < 0:
		return append(out, r.Reversed())
	}
	return out
}
