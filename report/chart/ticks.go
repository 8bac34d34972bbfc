package chart

import (
	"cmp"
	"math"

	"lapwing/coverage/quantity"
	"lapwing/geo/plane"
)

// scaled chooses round ticks.
func (c *Chart) scaled(x, y Scale) Ticks {
	var s Ticks
	x.One, y.One = cmp.Or(x.One, 1), cmp.Or(y.One, 1)
	if c.x.Ticks > 0 {
		ticks, places := roundTicks(c.x, x.One)
		for _, v := range ticks {
			at, label := c.atX(v*x.One), quantity.Number(v, places)
			// The middle of a figure at the right end would push it off the drawing.
			const digit = 9 // of the largest letters, 15 units high, in a wide face
			middle := min(at, c.Wide-2-digit*float64(len(label))/2)
			s.Ticks = append(s.Ticks, Tick{"M" + fixed(at) + " " + fixed(c.bottom) + "v4", fixed(middle), fixed(c.bottom + 16), "middle", label})
		}
	}
	if c.y.Ticks > 0 {
		ticks, places := roundTicks(c.y, y.One)
		for _, v := range ticks {
			at := c.atY(v * y.One)
			s.Ticks = append(s.Ticks, Tick{"M" + fixed(c.left-4) + " " + fixed(at) + "h4", fixed(c.left - 8), fixed(at + 4), "end", quantity.Number(v, places)})
		}
	}
	s.Titles = []Tick{
		{X: fixed(c.right), Y: fixed(c.bottom + 34), Anchor: "end", Label: withUnit(c.x.Name, x.Unit)},
		{X: fixed(c.left), Y: fixed(c.top - 5), Anchor: "start", Label: withUnit(c.y.Name, y.Unit)},
	}
	return s
}

func withUnit(name, unit string) string {
	if name == "" || unit == "" {
		return name
	}
	return name + ", " + unit
}

// roundTicks returns the ticks of an axis in a unit, and the decimals they
// need.
func roundTicks(a Axis, one float64) (ticks []float64, places int) {
	reach := max(a.Most, -a.Least) / one
	up := round(reach, a.Ticks)
	step := reach
	if len(up) > 1 {
		step = up[1]
	}
	for i := len(up) - 1; i > 0; i-- {
		if -up[i]*one >= a.Least*(1+1e-9) && a.Least < 0 {
			ticks = append(ticks, -up[i])
		}
	}
	for _, v := range up {
		if v*one <= a.Most*(1+1e-9) && v*one >= a.Least {
			ticks = append(ticks, v)
		}
	}
	return ticks, max(0, -int(math.Floor(math.Log10(step)+1e-9)))
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

// A Scale is the unit that an axis is written in.
type Scale struct {
	Unit string  // "ft"; "" for a bare number
	One  float64 // how much one of it is, in the unit of the axis; 0 is 1
}

// LengthScales are the scales of an axis in ticks of the grid.
func LengthScales() (us, metric Scale) {
	return Scale{"ft", quantity.Foot * float64(plane.Metre)}, Scale{"m", float64(plane.Metre)}
}

// AreaAxis is an axis of areas.
func AreaAxis(name string) Axis {
	return Axis{Name: name, US: Scale{"ac", quantity.Acre * float64(plane.SquareMetre)}, Metric: Scale{"ha", quantity.Hectare * float64(plane.SquareMetre)}, Ticks: 4}
}
