package coverage

import (
	"slices"

	"lapwing/geo/plane"
)

// A Swath is the ground a pass covered in one visit. Its rings all run
// anticlockwise and may cross and overlap: the swath is the ground that at
// least one of them encloses.
type Swath struct {
	Pass     int // index into Map.Passes
	Visit    int // 0 for the first
	Rings    []plane.Ring
	From, To float64 // ticks along the pass
	Dose     Dose    // the rate that the parts of the bar laid down
}

// A Silence is the straight swath between two poses where the log is silent
// while working.
type Silence struct {
	Pass  int // index into Map.Passes
	Rings []plane.Ring
}

// Ground is what Sweep leaves: the swaths of the passes, and the silences.
type Ground struct {
	Passes   []Pass
	Swaths   []Swath
	Silences []Silence
}

// Sweep finds the ground that the bars swept, one swath a visit.
func Sweep(passes []Pass, machines []Machine) Ground {
	type result struct {
		swaths  []Swath
		silence []plane.Ring
	}
	results := make([]result, len(passes))
	each(len(passes), func(i int) {
		r := &results[i]
		r.swaths, r.silence = sweepPass(&passes[i], i, machines)
	})
	g := Ground{Passes: passes}
	for i, r := range results {
		g.Swaths = append(g.Swaths, r.swaths...)
		if len(r.silence) > 0 {
			g.Silences = append(g.Silences, Silence{i, r.silence})
		}
	}
	return g
}

// sweepPass finds the swaths of one pass, and the ground of its silences.
func sweepPass(p *Pass, index int, machines []Machine) ([]Swath, []plane.Ring) {
	m := &machines[p.Machine]
	im, states := &m.Implement, p.States(machines)
	keep := thin(p.Poses, im.Width/2, float64(Thin))
	cuts := visits(p.Poses, keep, im.Width)
	keep = append(keep, cuts...)
	slices.Sort(keep)
	keep = slices.Compact(keep)
	poses := make([]Pose, len(keep))
	bars := make([]bar, len(keep))
	for i, k := range keep {
		poses[i] = p.Poses[k]
		bars[i] = barOf(&poses[i])
	}
	var (
		swaths  []Swath
		silence []plane.Ring
		ends    []int // of the visits, in poses
	)
	for i, k := range keep {
		if i > 0 && (i == len(keep)-1 || slices.Contains(cuts, k)) {
			ends = append(ends, i)
		}
	}
	from := 0
	for visit, to := range ends {
		sw := Swath{Pass: index, Visit: visit, From: poses[from].Along, To: poses[to].Along}
		for i := from; i < to; {
			j := i + 1
			for j < to && poses[j].State == poses[i].State && !poses[j].Silent && !poses[i].Silent {
				j++
			}
			for _, s := range stretches(im, states, poses[i].State) {
				if poses[i].Silent {
					silence = strip(silence, bars[i:j+1], s)
				} else {
					sw.Rings = strip(sw.Rings, bars[i:j+1], s)
					sw.Dose.add(bars[i:j+1], s)
				}
			}
			i = j
		}
		if len(sw.Rings) > 0 {
			swaths = append(swaths, sw)
		}
		from = to
	}
	return swaths, silence
}

// stretches returns the parts of the bar that work in a state.
func stretches(im *Implement, states []State, id StateID) State {
	if int(id) < len(states) && states[id] != nil {
		return states[id]
	}
	return State{{im.Sections[0].Left, im.Sections[len(im.Sections)-1].Right}}
}

// strip adds the ground that a stretch of the bar swept to rings.
//
// Between two stances a stretch sweeps a quad. Quads that follow one another
// and run anticlockwise are one ring, along the right edge and back along the
// left:
//
//	l0---l1---l2---l3
//	|    |    |    |   -->
//	r0---r1---r2---r3
//
// Its winding number at any place is the number of quads over it. Where an
// end of the stretch stands still or goes backward the quad would count
// against that ground: it is made into rings of its own that run the right way.
func strip(rings []plane.Ring, bars []bar, s Section) []plane.Ring {
	left, right := make([]plane.Point, len(bars)), make([]plane.Point, len(bars))
	for i, b := range bars {
		left[i], right[i] = b.end(s.Left), b.end(s.Right)
	}
	from := 0
	flush := func(to int) {
		if to > from {
			r := make(plane.Ring, 0, 2*(to-from+1))
			for _, p := range right[from : to+1] {
				r = appendNew(r, p)
			}
			for i := to; i >= from; i-- {
				r = appendNew(r, left[i])
			}
			if len(r) > 2 {
				rings = append(rings, r)
			}
		}
	}
	for i := 1; i < len(bars); i++ {
		q := [4]plane.Point{right[i-1], right[i], left[i], left[i-1]}
		if turnsLeft(q) {
			continue
		}
		flush(i - 1)
		rings = append(rings, positive(q)...)
		from = i
	}
	flush(len(bars) - 1)
	return rings
}

// appendNew adds p to r unless it is where r ends.
func appendNew(r plane.Ring, p plane.Point) plane.Ring {
	if n := len(r); n > 0 && r[n-1] == p {
		return r
	}
	return append(r, p)
}

// turnsLeft reports whether the quad turns left at every corner: it is convex
// and runs anticlockwise.
func turnsLeft(q [4]plane.Point) bool {
	for i := range q {
		if plane.Side(q[i], q[(i+1)%4], q[(i+2)%4]) != plane.Left {
			return false
		}
	}
	return true
}

// positive returns anticlockwise rings over the ground of the quad from r0 to
// r1 to l1 to l0 that a stretch of the bar sweeps from r0 l0 to r1 l1.
//
//	l1        l0      the bar turns about a point of its own:
//	  `.    .'        two triangles that meet where its two
//	    `.x'          stances cross
//	    .' `.
//	  r0     r1
func positive(q [4]plane.Point) []plane.Ring {
	r0, r1, l1, l0 := q[0], q[1], q[2], q[3]
	var out []plane.Ring
	add := func(a, b, c plane.Point) {
		switch plane.Side(a, b, c) {
		case plane.Left:
			out = append(out, plane.Ring{a, b, c})
		case plane.Right:
			out = append(out, plane.Ring{a, c, b})
		}
	}
	opposite := func(a, b, c, d plane.Point) bool { return plane.Side(a, b, c)*plane.Side(a, b, d) < 0 }
	if opposite(r0, l0, r1, l1) && opposite(r1, l1, r0, l0) {
		x := meeting(r0, l0, r1, l1)
		add(r0, r1, x)
		add(l0, l1, x)
		return out
	}
	if opposite(r0, r1, l0, l1) && opposite(l0, l1, r0, r1) { // its ends' ways cross
		x := meeting(r0, r1, l0, l1)
		add(r0, l0, x)
		add(r1, l1, x)
		return out
	}
	// A quad that does not cross itself is two triangles either side of a
	// diagonal that lies in it: one that has the other corners on either side,
	// or any if it has no area there.
	if opposite(r1, l0, r0, l1) {
		add(r0, r1, l0)
		add(r1, l1, l0)
	} else {
		add(r0, r1, l1)
		add(r0, l1, l0)
	}
	return out
}

// meeting returns the tick nearest to where ab and cd cross.
func meeting(a, b, c, d plane.Point) plane.Point {
	t := float64(plane.Cross(c, d, a))
	t /= t - float64(plane.Cross(c, d, b))
	return plane.Point{
		X: a.X + plane.Round(t*float64(b.X-a.X)),
		Y: a.Y + plane.Round(t*float64(b.Y-a.Y)),
	}
}
