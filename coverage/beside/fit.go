package beside

import (
	"cmp"
	"math"
	"slices"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/work"
	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// A Fit is how the field's edge as drawn lies against the passes that run along it.
type Fit struct {
	Misfits []Misfit // from the longest down
	Shift   *Shift   // how the tracks likely lie against the whole boundary; nil where they do not lie shifted
}

// A Fitting finds the fit of a field's edge, and knows which places of it are of which
// misfit.
type Fitting struct {
	Fit
	marks []sample
	of    []int // index of the misfit that each mark belongs to; -1 for none
	near  near.GridIndex
}

// A Misfit is a side of the field along which the passes that run beside the edge keep
// evenly short of it, or go evenly past it. Who drives so along a whole side drove by
// what was there to see: the edge as drawn is likely what is off, and not the work.
//
//	###########################  edge as drawn
//	...........................  Mean
//	===========================  the outermost pass
type Misfit struct {
	Side   string         // the point of the compass the side faces; "" all the way round
	Length plane.Distance // of the edge
	Mean   plane.Distance // ground left between, edge allowance taken off; negative where passes went past the edge
	Area   plane.Area     // of the skips that it explains
	At     plane.Point    // on the edge, in the middle of the side
}

// Round reports whether the edge is off all the way round, by an outline drawn too wide
// or a stand-off left on purpose.
func (f *Misfit) Round() bool { return f.Side == "" }

// Likely says what is likely off along a misfit, and not the work: "outline", "outline or
// allowance" or "shift".
func (f *Fit) Likely(m *Misfit) string {
	switch {
	case f.Shift != nil:
		return "shift"
	case m.Round() && m.Mean > 0:
		return "outline or allowance"
	}
	return "outline"
}

// Remedy is what to write in the job for that: the shift, or that the worked edge is the
// field's.
func (f *Fit) Remedy() string {
	if f.Shift != nil {
		return f.Shift.Key()
	}
	return "boundary: worked"
}

// When a side does not fit. Judgement. TestMisfits fails where one of the first four is
// doubled or halved; no test holds the others closely.
const (
	leastSide    = 60.0                            // m; a shorter side may be one pass driven badly
	sideMet      = 0.7                             // of a side, passes must run along; they round its corners
	uneven       = 0.5                             // of the mean, that the ground left may be scattered by at most,
	unevenLeast  = 0.15                            // m, or so much
	sideTurns    = plane.Angle(35 * math.Pi / 180) // a side turns from its mean by less
	leastMisfit  = 0.15                            // m, besides the edge's tolerance: steering by hand and receivers are no better
	edgeDriven   = 0.5                             // of the edge, that work must have come near, for a side to be told from work that has just begun
	outlinedPart = 0.5                             // of a skip's stretch of the edge, for it to be the outline's
)

// FitOf finds the sides that do not fit, of a field with a boundary. The edge counts as
// reached within the tolerance.
func FitOf(land *field.Field, machines []machine.Machine, passes []work.Pass, opt *field.Options, tolerance plane.Length) *Fitting {
	f := &Fitting{}
	var past []reach
	f.marks, past = reaches(land, machines, passes)
	if d, is := shiftOf(past); is {
		f.Shift = newShift(d, opt.Shift)
	}
	f.of = slices.Repeat([]int{-1}, len(f.marks))
	f.near = near.NewGridIndex(2*max(marksApart, land.Perimeter().Metres()/mostMarks), len(f.marks), func(i int) (x, y float64) { return f.marks[i].x, f.marks[i].y })
	limit := MissedWidth * machine.Narrowest(machines).Metres()
	least := max(tolerance.Metres(), leastMisfit)
	off := func(k *sample) (float64, bool) { // how far the ground begins from the edge
		short := -(k.past + opt.EdgeAllowance.Metres())
		return short, k.beside && short < limit
	}
	steady := func(of []int) (mean float64, is bool) {
		var shorts []Weighted
		length, met := 0.0, 0.0
		for _, i := range of {
			k := &f.marks[i]
			length += 2 * k.half
			if short, is := off(k); is {
				shorts = append(shorts, Weighted{short, 2 * k.half})
				met += 2 * k.half
				mean += short * 2 * k.half
			}
		}
		if met < sideMet*length || length < leastSide {
			return 0, false
		}
		mean /= met
		slices.SortFunc(shorts, func(a, b Weighted) int { return cmp.Compare(a.Value, b.Value) })
		scatter := (Quantile(shorts, met, 0.84) - Quantile(shorts, met, 0.16)) / 2 // of a normal distribution, its standard deviation
		middle := Quantile(shorts, met, 0.5)
		return mean, math.Abs(middle) > least && scatter <= max(unevenLeast, uneven*math.Abs(middle)) && mean*middle > 0
	}
	var all []int
	length, driven := 0.0, 0.0
	for i := range f.marks {
		k := &f.marks[i]
		if k.hole {
			continue
		}
		all = append(all, i)
		length += k.half
		if -k.past < limit {
			driven += k.half
		}
	}
	if driven < edgeDriven*length {
		return f
	}
	if mean, is := steady(all); is {
		f.add(all, "", mean)
		return f
	}
	for _, side := range f.sides() {
		if mean, is := steady(side); is {
			k := &f.marks[side[len(side)/2]]
			f.add(side, geo.Compass(plane.Direction(k.nx, k.ny)), mean)
		}
	}
	order := make([]int, len(f.Misfits))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(f.Misfits[b].Length, f.Misfits[a].Length) })
	sorted, to := make([]Misfit, len(order)), make([]int, len(order))
	for i, k := range order {
		sorted[i], to[k] = f.Misfits[k], i
	}
	for i, k := range f.of {
		if k >= 0 {
			f.of[i] = to[k]
		}
	}
	f.Misfits = sorted
	return f
}

// add notes a misfit of marks.
func (f *Fitting) add(marks []int, side string, mean float64) {
	m := Misfit{Side: side, Mean: plane.DistanceOf(mean)}
	for _, i := range marks {
		f.of[i] = len(f.Misfits)
		m.Length += plane.DistanceOf(2 * f.marks[i].half)
	}
	k := &f.marks[marks[len(marks)/2]]
	m.At = plane.Point{X: plane.Metres(k.x), Y: plane.Metres(k.y)}
	f.Misfits = append(f.Misfits, m)
}

// sides returns the marks of each side of each ring: stretches that go one way.
func (f *Fitting) sides() (out [][]int) {
	for from := 0; from < len(f.marks); {
		to := from + 1
		for to < len(f.marks) && f.marks[to].ring == f.marks[from].ring {
			to++
		}
		out = append(out, f.sidesOf(from, to)...)
		from = to
	}
	return out
}

// sidesOf returns the sides of the ring whose marks are from ≤ i < to, the first from the
// sharpest corner on.
func (f *Fitting) sidesOf(from, to int) (out [][]int) {
	n := to - from
	at := func(i int) int { return from + i%n }
	turn := func(i int) plane.Angle {
		a, b := &f.marks[at(i+n-1)], &f.marks[at(i)]
		return plane.Direction(a.nx, a.ny).Between(plane.Direction(b.nx, b.ny))
	}
	first := 0
	for i := range n {
		if turn(i) > turn(first) {
			first = i
		}
	}
	var side []int
	var x, y float64
	for i := first; i < first+n; i++ {
		k := &f.marks[at(i)]
		if len(side) > 0 && plane.Direction(x, y).Between(plane.Direction(k.nx, k.ny)) > sideTurns {
			out, side, x, y = append(out, side), nil, 0, 0
		}
		side = append(side, at(i))
		x, y = x+k.nx*k.half, y+k.ny*k.half
	}
	return append(out, side)
}

// Explains returns which of the misfits a skip is of that lies along some stretches of
// the field's edge; -1 for none. Only ground short of an edge is.
func (f *Fitting) Explains(stretches [][2]plane.Point) int {
	sum := 0.0
	of := make([]float64, len(f.Misfits))
	for _, s := range stretches {
		x, y := (s[0].X+s[1].X).Metres()/2, (s[0].Y+s[1].Y).Metres()/2
		length := s[0].Distance(s[1]).Metres()
		sum += length
		best, nearest := -1, math.Inf(1)
		for i := range f.near.Around(x, y) {
			if d := math.Hypot(f.marks[i].x-x, f.marks[i].y-y); d < nearest {
				best, nearest = i, d
			}
		}
		if best >= 0 && f.of[best] >= 0 && f.Misfits[f.of[best]].Mean > 0 {
			of[f.of[best]] += length
		}
	}
	for i, length := range of {
		if length > outlinedPart*sum {
			return i
		}
	}
	return -1
}
