package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"lapwing/coverage"
	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
)

// A strip is the chart of the stand-off along one ring of the boundary:
// distance along the ring to the right, stand-off upward.
type strip struct {
	Title, Says dual
	Area        string    // path of the stand-off, filled down to the boundary
	Silent      []segment // stretches the log is silent about
	Tolerance   string    // height of the tolerance line; "" where there is none
	Limit       dual
	US, Metric  axes
}

type segment struct{ X, Width string }

// axes are the ticks of a chart in one system of units.
type axes struct {
	X, Y         []tick
	XName, YName string
}

type tick struct{ At, Label string }

// The frame of the chart, in the units of its drawing.
const (
	stripLeft, stripRight = 56.0, 988.0
	stripTop, stripBottom = 14.0, 150.0
)

// strips draws the rings of the boundary, the field's edge first.
func (r *Report) strips() []strip {
	e := r.Map.Headland.Edge
	if r.Map.Field.Worked {
		return nil
	}
	most := max(e.Max, 2*float64(r.EdgeTolerance), float64(plane.Metre))
	var out []strip
	holes := 0
	for i := range e.Profile {
		ring := &e.Profile[i]
		if len(ring.Marks) == 0 || ring.Length <= 0 {
			continue
		}
		name := "Along the outer boundary"
		if ring.Hole {
			holes++
			name = fmt.Sprintf("Round hole %d", holes)
		}
		out = append(out, r.strip(i, ring, name, most))
	}
	return out
}

func (r *Report) strip(index int, ring *coverage.EdgeRing, name string, most float64) strip {
	x := func(along float64) float64 { return stripLeft + (stripRight-stripLeft)*along/ring.Length }
	y := func(off float64) float64 { return stripBottom - (stripBottom-stripTop)*min(off, most)/most }
	s := strip{
		Title: r.both(func(u Units) string { return name + ", " + u.length(ring.Length) }),
		Says:  r.stripSays(index, ring),
		US:    axesOf(US, ring.Length, most, x, y), Metric: axesOf(Metric, ring.Length, most, x, y),
	}
	// The drawing in hundredths, so that the thinning of lines serves here too.
	var line []plane.Point
	draw := func(along, off float64) {
		line = append(line, plane.Point{X: plane.Round(100 * x(along)), Y: plane.Round(100 * y(off))})
	}
	draw(0, 0)
	for i, m := range ring.Marks {
		end := ring.Length
		next := ring.Marks[0]
		if i+1 < len(ring.Marks) {
			next = ring.Marks[i+1]
			end = next.Along
		}
		draw(m.Along, m.StandOff)
		if m.Unlogged {
			s.Silent = append(s.Silent, segment{fixed(x(m.Along)), fixed(x(end) - x(m.Along))})
		}
		switch {
		case next.Unlogged != m.Unlogged:
			draw(end, m.StandOff)
		case i+1 == len(ring.Marks):
			draw(end, next.StandOff)
		}
	}
	draw(ring.Length, 0)
	s.Area = stripPath(thinned(line, 25))
	s.Silent = joined(s.Silent)
	if r.EdgeTolerance > 0 {
		s.Tolerance = fixed(y(float64(r.EdgeTolerance)))
		s.Limit = r.both(func(u Units) string { return "- - - counts as reached, up to " + u.length(float64(r.EdgeTolerance)) })
	}
	return s
}

// stripSays is the sentence that says what the chart shows.
func (r *Report) stripSays(index int, ring *coverage.EdgeRing) dual {
	n := 0
	var open, most float64
	for _, o := range r.Map.Headland.Edge.Openings {
		if o.Ring == index {
			n++
			open += o.Length
			most = max(most, o.Max)
		}
	}
	silent := false
	for _, m := range ring.Marks {
		silent = silent || m.Unlogged
	}
	return r.both(func(u Units) string {
		s := "Worked up to the boundary all the way round."
		if n > 0 {
			s = fmt.Sprintf("Open in %s, %s of %s; the work stays %s off at most.", count(n, "place"), u.length(open), u.length(ring.Length), u.length(most))
		} else if silent {
			s = "Worked up to the boundary as far as the log tells."
		}
		if silent {
			s += " Where the strip is grey the log is silent."
		}
		return s
	})
}

// joined puts neighbouring silent stretches together.
func joined(in []segment) []segment {
	var out []segment
	var end float64
	for _, s := range in {
		x, _ := strconv.ParseFloat(s.X, 64)
		w, _ := strconv.ParseFloat(s.Width, 64)
		if n := len(out); n > 0 && math.Abs(x-end) < 0.25 {
			from, _ := strconv.ParseFloat(out[n-1].X, 64)
			out[n-1].Width = fixed(x + w - from)
		} else {
			out = append(out, s)
		}
		end = x + w
	}
	return out
}

// axesOf chooses round ticks.
func axesOf(u Units, length, most float64, x, y func(float64) float64) axes {
	unit, name := float64(plane.Metre), "m"
	if u == US {
		unit, name = quantity.Foot*float64(plane.Metre), "ft"
	}
	a := axes{
		XName: "distance along the boundary, " + name,
		YName: "stand-off, " + name,
	}
	for _, v := range round(length/unit, 8) {
		a.X = append(a.X, tick{fixed(x(v * unit)), number(v, 0)})
	}
	for _, v := range round(most/unit, 4) {
		a.Y = append(a.Y, tick{fixed(y(v * unit)), strings.TrimSuffix(number(v, 1), ".0")})
	}
	return a
}

// round returns the multiples of 1, 2 or 5 times a power of ten from 0 to
// most, n of them or fewer beside the 0.
func round(most float64, n int) []float64 {
	step := math.Pow(10, math.Floor(math.Log10(most/float64(n))))
	for _, k := range []float64{1, 2, 5, 10} {
		if most/(k*step) <= float64(n) {
			step *= k
			break
		}
	}
	var out []float64
	for i := 0; float64(i)*step <= most*(1+1e-9); i++ {
		out = append(out, float64(i)*step)
	}
	return out
}

func fixed(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64) }

// stripPath writes path data for a line in hundredths.
func stripPath(line []plane.Point) string {
	var b strings.Builder
	for i, p := range line {
		if i == 0 {
			b.WriteByte('M')
		} else {
			b.WriteByte('L')
		}
		b.WriteString(fixed(float64(p.X) / 100))
		b.WriteByte(' ')
		b.WriteString(fixed(float64(p.Y) / 100))
	}
	return b.String() + "z"
}
