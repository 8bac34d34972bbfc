package live

import (
	"math"

	"lapwing/coverage/edge"
	"lapwing/coverage/stance"
	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// openings are those of the field's edge as of the last answer, less what was worked beside
// since.
type openings struct {
	length  plane.Distance // of the whole edge
	silent  plane.Distance // the part of it where the logs are silent
	samples []sample
	grid    near.GridIndex // of samples
	within  plane.Length   // an edge so near to worked ground counts as reached
}

// A sample is a short stretch of an opening.
type sample struct {
	at      plane.Point
	length  plane.Distance
	opening int32 // which it is of
	closed  bool
}

// sampleStep is how long a sample is, at most: the drawing of a phone shows no less. No
// test fails where it is halved or doubled.
const sampleStep = 1 * plane.Metre

// newOpenings cuts the openings of an edge into samples. Cell is the farthest that the end
// of a bar is from its middle.
func newOpenings(e *edge.Edge, allowance plane.Length, cell plane.Length) openings {
	o := openings{length: e.Reached + e.Open + e.Unlogged, silent: e.Unlogged, within: e.Tolerance + allowance}
	for i := range e.Openings {
		line := e.Line(&e.Openings[i])
		for k := 1; k < len(line); k++ {
			a, b := line[k-1], line[k]
			long := a.Distance(b)
			n := int(math.Ceil(float64(long / plane.Distance(sampleStep))))
			for s := range n {
				t := (float64(s) + 0.5) / float64(n)
				o.samples = append(o.samples, sample{
					at:     plane.Point{X: a.X + plane.Round(t*float64(b.X-a.X)), Y: a.Y + plane.Round(t*float64(b.Y-a.Y))},
					length: long / plane.Distance(n), opening: int32(i)})
			}
		}
	}
	o.grid = near.NewGridIndex(float64(cell+o.within+sampleStep), len(o.samples), func(i int) (x, y float64) {
		return float64(o.samples[i].at.X), float64(o.samples[i].at.Y)
	})
	return o
}

// work closes the samples that a bar came near to on its last metres.
func (o *openings) work(b stance.Bar, left, right plane.Length, length float64) {
	if len(o.samples) == 0 {
		return
	}
	within, back := float64(o.within), float64(plane.DistanceOf(length))
	for i := range o.grid.Around(float64(b.At.X), float64(b.At.Y)) {
		s := &o.samples[i]
		x, y := float64(s.at.X-b.At.X), float64(s.at.Y-b.At.Y)
		ahead, across := x*b.Sin+y*b.Cos, x*b.Cos-y*b.Sin
		if ahead <= within && ahead >= -back-within && across >= float64(left)-within && across <= float64(right)+within {
			s.closed = true
		}
	}
}

// closed is the share of the edge that is reached by now. A part where the logs are silent
// counts as not reached.
func (o *openings) closed() float64 {
	if o.length <= 0 {
		return 1
	}
	open := o.silent
	for i := range o.samples {
		if !o.samples[i].closed {
			open += o.samples[i].length
		}
	}
	return float64(1 - open/o.length)
}

// An Opening is a stretch of the field's edge that work has not reached.
type Opening struct {
	At     plane.Point
	Away   plane.Distance // of At from the bar
	Toward plane.Angle    // the direction from the bar to At
	Length plane.Distance
	Ahead  bool // it lies ahead of the bar
}

// leastOpening is the shortest opening that is told. Judgement; no test fails where it is
// halved.
const leastOpening = 2 * plane.Metre

// next is the opening ahead of a bar that is nearest, or else the nearest of all.
func (o *openings) next(b stance.Bar) (Opening, bool) {
	var best Opening
	found := false
	for from := 0; from < len(o.samples); {
		to := from
		var length plane.Distance
		near, away := from, math.Inf(1)
		for to < len(o.samples) && !o.samples[to].closed && o.samples[to].opening == o.samples[from].opening {
			length += o.samples[to].length
			if d := math.Hypot(float64(o.samples[to].at.X-b.At.X), float64(o.samples[to].at.Y-b.At.Y)); d < away {
				near, away = to, d
			}
			to++
		}
		if length >= plane.Distance(leastOpening) {
			at := o.samples[near].at
			x, y := float64(at.X-b.At.X), float64(at.Y-b.At.Y)
			one := Opening{At: at, Away: plane.Distance(away), Toward: plane.Direction(x, y), Length: length, Ahead: x*b.Sin+y*b.Cos >= 0.5*away}
			if !found || one.Ahead && !best.Ahead || one.Ahead == best.Ahead && one.Away < best.Away {
				best, found = one, true
			}
		}
		from = max(to, from+1)
	}
	return best, found
}
