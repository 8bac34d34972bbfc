package beside

import (
	"fmt"
	"math"
	"slices"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/work"
	"lapwing/geo"
	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// A boundary and a log that were surveyed against different references lie
// shifted against each other, which looks like over-reach along one side of
// the field and an open edge along the other. Along an edge whose outward
// normal is n, ground worked s past the edge on purpose (or short of it, s
// negative) and shifted by d reaches
//
//	s + d · n
//
// past it. The stand-off s is the same all round and d is not, so opposite
// sides tell one from the other.

// When a shift is worth telling. Judgement. TestLikelyShift fails where
// leastShift, leastReaches or facing is doubled, or shiftBetter halved; no test holds
// leastPart closely.
const (
	leastShift   = 0.3 // m; hand steering and drawn boundaries are no better
	leastReaches = 20  // samples that each of two opposite sides must have,
	leastPart    = 20  // and one in so many of all samples
	facing       = 0.7 // cosine of the angle within which an edge faces a direction: some 45 degrees
	shiftBetter  = 0.5 // how much of the disagreement may be left
)

// How the shift is fitted and sampled. Judgement. TestLikelyShift fails where
// reachStep or marksApart is doubled; no test holds the others closely.
const (
	fitRounds     = 40   // of reweighting
	leastResidual = 0.01 // m; smaller residuals weigh alike
	singular      = 1e-3 // a pivot below this share of the first is taken for zero
	reachStep     = 2.0  // m along a pass between samples
	leastWithin   = 5.0  // m; reaches are looked for as far as the widest bar is wide, and this far at least
	marksApart    = 5.0  // m along the boundary
	mostMarks     = 4000
)

// A reach is how far worked ground reaches past the boundary at one place of
// it, in metres; negative where it falls short.
type reach struct {
	nx, ny float64 // outward normal
	past   float64
}

// A Shift is how far the tracks likely lie off the boundary, which was surveyed against
// another reference.
type Shift struct {
	By      plane.Distance
	Towards string // point of the compass
	// East and North are the shift of a job that moves the tracks onto the boundary, in
	// metres to a tenth.
	East, North float64
}

// Key is that shift as a job has it.
func (s *Shift) Key() string {
	return fmt.Sprintf("shift: {east: %g m, north: %g m}", s.East, s.North)
}

// newShift makes a shift of what tracks lie off by that have been moved already.
func newShift(d plane.Vector, moved plane.Point) *Shift {
	tenth := func(l plane.Length, less float64) float64 { return math.Round((l.Metres()-less)*10)/10 + 0 }
	return &Shift{plane.DistanceOf(math.Hypot(d.X, d.Y)), geo.Compass(plane.Direction(d.X, d.Y)), tenth(moved.X, d.X), tenth(moved.Y, d.Y)}
}

// Warnings tell of a shift, and offer what to write in the job.
func (f *Fit) Warnings() []field.Warning {
	if f.Shift == nil {
		return nil
	}
	return []field.Warning{{Text: fmt.Sprintf("the tracks seem to lie %.1f m %s of the boundary: ground worked outside it on one side, the edge open on the other; "+
		"if so, write %s in the job", f.Shift.By.Metres(), f.Shift.Towards, f.Shift.Key())}}
}

// shiftOf fits stand-off and shift to the reaches by least absolute deviations: the
// sum of the residuals' sizes is least, so that a side of bad driving moves the
// shift little. The fit is by iteratively reweighted least squares. It reports
// whether the shift is worth telling.
func shiftOf(reaches []reach) (plane.Vector, bool) {
	if len(reaches) < 2*leastReaches {
		return plane.Vector{}, false
	}
	var s float64
	var d plane.Vector
	left := func(r *reach) float64 { return r.past - s - d.X*r.nx - d.Y*r.ny }
	for round := range fitRounds {
		var a [3][4]float64 // normal equations, right-hand side last
		for i := range reaches {
			r := &reaches[i]
			w := 1.0
			if round > 0 {
				w = 1 / max(leastResidual, math.Abs(left(r)))
			}
			row := [4]float64{1, r.nx, r.ny, r.past}
			for j := range 3 {
				for k := range row {
					a[j][k] += w * row[j] * row[k]
				}
			}
		}
		x, ok := solve3(a)
		if !ok {
			return plane.Vector{}, false
		}
		s, d = x[0], plane.Vector{X: x[1], Y: x[2]}
	}
	size := math.Hypot(d.X, d.Y)
	if size < leastShift {
		return plane.Vector{}, false
	}
	// The sides that face along the shift and against it must each agree.
	var along, against, all []float64
	var rest float64
	for i := range reaches {
		r := &reaches[i]
		all = append(all, r.past)
		rest += math.Abs(left(r))
		switch c := (d.X*r.nx + d.Y*r.ny) / size; {
		case c > facing:
			along = append(along, r.past)
		case c < -facing:
			against = append(against, r.past)
		}
	}
	least := max(leastReaches, len(reaches)/leastPart)
	if len(along) < least || len(against) < least {
		return plane.Vector{}, false
	}
	before, n := spread(all), float64(len(all))
	beyond, short := median(along), median(against)
	return d, rest/n < shiftBetter*before &&
		spread(along) < size/2 && spread(against) < size/2 &&
		beyond > 0 && short < 0 && beyond-short > size
}

// median returns the middle of values, which it sorts.
func median(values []float64) float64 {
	slices.Sort(values)
	return values[len(values)/2]
}

// spread returns the mean distance of values from their median.
func spread(values []float64) float64 {
	m, sum := median(values), 0.0
	for _, v := range values {
		sum += math.Abs(v - m)
	}
	return sum / float64(len(values))
}

// solve3 solves three equations by Gauss-Jordan elimination with row pivots; ok is
// false where the matrix is singular, or nearly: as for a field all of whose edges
// run one way.
func solve3(a [3][4]float64) (x [3]float64, ok bool) {
	for i := range 3 {
		p := i
		for j := i + 1; j < 3; j++ {
			if math.Abs(a[j][i]) > math.Abs(a[p][i]) {
				p = j
			}
		}
		a[i], a[p] = a[p], a[i]
		if math.Abs(a[i][i]) < singular*a[0][0] || a[i][i] == 0 {
			return x, false
		}
		for j := range 3 {
			if j == i {
				continue
			}
			f := a[j][i] / a[i][i]
			for k := i; k < 4; k++ {
				a[j][k] -= f * a[i][k]
			}
		}
	}
	for i := range 3 {
		x[i] = a[i][3] / a[i][i]
	}
	return x, true
}

// A sample is a place of the boundary, in metres, with its outward normal and
// the farthest that worked ground was found to reach past it.
type sample struct {
	x, y, nx, ny float64
	half         float64 // how far its stretch of the edge goes either way
	past         float64
	beside       bool // a pass that runs along the edge was as near
	ring         int  // of the boundary, counted over all parts
	hole         bool
}

// reaches looks along the boundary for how far the ends of the bars reached
// past it, or short of it by up to the width of the widest bar.
func reaches(field *field.Field, machines []machine.Machine, passes []work.Pass) ([]sample, []reach) {
	within := max(machine.Widest(machines).Metres(), leastWithin)
	marks := marks(field)
	at := func(i int) (x, y float64) { return marks[i].x, marks[i].y }
	edge := near.NewGridIndex(within, len(marks), at)
	bar := 0.0 // how far from its middle a bar reaches
	for i := range machines {
		whole := machines[i].Implement.Whole()[0]
		bar = max(bar, -whole.Left.Metres(), whole.Right.Metres())
	}
	about := near.NewGridIndex(bar+3*within, len(marks), at) // edge finds nothing farther from a bar's end
	for i := range passes {
		p := &passes[i]
		im := &machines[p.Machine].Implement
		next := plane.Distance(math.Inf(-1))
		for k := range p.Poses {
			pose := &p.Poses[k]
			last := k == len(p.Poses)-1
			if pose.Along < next && !last {
				continue
			}
			next = pose.Along + reachStep*plane.Distance(plane.Metre)
			if !about.Any(pose.Bar.X.Metres(), pose.Bar.Y.Metres()) {
				continue
			}
			state := pose.State
			if last {
				state = p.Poses[max(0, k-1)].State
			}
			parts := im.Open(p.States, state)
			if len(parts) == 0 {
				continue
			}
			sin, cos := pose.Heading.Sincos()
			for _, u := range [2]plane.Length{parts[0].Left, parts[len(parts)-1].Right} {
				x := pose.Bar.X.Metres() + u.Metres()*cos
				y := pose.Bar.Y.Metres() - u.Metres()*sin
				for j := range edge.Around(x, y) {
					marks[j].meet(x, y, sin, cos, within)
				}
			}
		}
	}
	var out []reach
	for _, k := range marks {
		if !math.IsInf(k.past, -1) {
			out = append(out, reach{k.nx, k.ny, k.past})
		}
	}
	return marks, out
}

// meet takes into account that worked ground reaches x, y, by a bar of a heading.
func (k *sample) meet(x, y, sin, cos, within float64) {
	dx, dy := x-k.x, y-k.y
	past := dx*k.nx + dy*k.ny
	if math.Abs(past) > within || math.Abs(dx*k.ny-dy*k.nx) > k.half {
		return
	}
	k.past = max(k.past, past)
	k.beside = k.beside || math.Abs(sin*k.nx+cos*k.ny) < math.Sin(float64(SideBySide))
}

// marks returns places all along the boundary: about marksApart from one another, and
// about mostMarks of them at most.
func marks(field *field.Field) []sample {
	apart := max(marksApart, field.Perimeter().Metres()/mostMarks)
	var out []sample
	ring := 0
	for _, poly := range field.Boundary {
		for j, r := range poly.Rings() {
			ring++
			for i, a := range r {
				b := r[(i+1)%len(r)]
				length := a.Distance(b).Metres()
				n := math.Floor(length / apart)
				if n == 0 && length >= 1 {
					n = 1
				}
				ax, ay := a.X.Metres(), a.Y.Metres()
				ex, ey := b.X.Metres()-ax, b.Y.Metres()-ay
				for k := 0.5; k < n; k++ {
					// Ground is on the left of every ring.
					out = append(out, sample{x: ax + k/n*ex, y: ay + k/n*ey, nx: ey / length, ny: -ex / length,
						half: length / n / 2, past: math.Inf(-1), ring: ring, hole: j > 0})
				}
			}
		}
	}
	return out
}
