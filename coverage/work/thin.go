package work

import (
	"math"
	"slices"

	"lapwing/coverage/stance"
	"lapwing/geo/plane"
)

// BarsOf returns the bar's stances at some poses. It reuses the memory of out.
//
// A bar mostly turns little from one pose to the next. The sine and cosine of a
// small turn are the first terms of their series: what they leave out, up to
// littleTurn, is 6e-15, which moves no end of a bar by a millionth of a tick.
func BarsOf(poses []Pose, out []stance.Bar) []stance.Bar {
	out = slices.Grow(out[:0], len(poses))
	var last plane.Angle // heading whose sine and cosine were asked for
	var from stance.Bar
	for i := range poses {
		p := &poses[i]
		turn := float64(p.Heading - last)
		if i == 0 || math.Abs(turn) > littleTurn {
			last, turn, from = p.Heading, 0, BarOf(p)
		}
		q := turn * turn
		sin := turn * (1 - q*(1.0/6)*(1-q*(1.0/20)))
		cos := 1 - q*(1.0/2)*(1-q*(1.0/12)*(1-q*(1.0/30)))
		out = append(out, stance.Bar{At: p.Bar, Sin: from.Sin*cos + from.Cos*sin, Cos: from.Cos*cos - from.Sin*sin})
	}
	return out
}

// littleTurn is the largest turn for which the series in BarsOf are used. Its error
// bound there is derived from it.
const littleTurn = 1.0 / 32 // rad

// Keep returns the indices of the poses to keep: the first and last, those
// where a silence begins or ends, and as many between as it takes to hold both
// ends of a bar of the given half width within tol. Bars are the stances at
// the poses; the memory of keep is reused.
//
// It is polyline simplification by cone intersection, or sleeve fitting, on both
// ends of the bar at once. From a kept pose it looks ahead, and holds for each end
// the cone of directions that pass every pose so far within tol. The pose before
// the first that leaves a cone is kept next.
func Keep(poses []Pose, bars []stance.Bar, half plane.Length, tol plane.Distance, keep []int32) []int32 {
	keep = append(keep[:0], 0)
	h, within := float64(half), float64(tol)
	last := len(poses) - 1
	for from := 0; from < last; {
		var left, right cone
		a := &bars[from]
		to := from + 1
		for i := from + 1; ; i++ {
			// From the place of another pose, so that only whole ticks are
			// subtracted and a shift of all poses changes no digit.
			b := &bars[i]
			x, y := float64(b.At.X-a.At.X), float64(b.At.Y-a.At.Y)
			dx, dy := h*(b.Cos-a.Cos), h*(b.Sin-a.Sin)
			if !left.admits(x-dx, y+dy, within) || !right.admits(x+dx, y-dy, within) {
				break
			}
			to = i
			if i == last || poses[i].Silent || poses[from].Silent {
				break
			}
		}
		keep = append(keep, int32(to))
		from = to
	}
	return keep
}

// A cone is the directions from a place that pass all points seen so far
// within a tolerance, as slopes against the way to the first of them. Lengths
// along and across that way are scaled by its length, which saves a root.
type cone struct {
	ux, uy float64 // the vector to the first
	lo, hi float64
	far    float64 // how far along it the points have come; 0 before the first
	tol    float64
}

// admits reports whether a line to x, y passes all points seen. If so, it
// takes x, y into account.
func (c *cone) admits(x, y, tol float64) bool {
	if c.far == 0 {
		c.begin(x, y, tol)
		return true
	}
	along, across := x*c.ux+y*c.uy, y*c.ux-x*c.uy
	if along <= c.far || across < c.lo*along || across > c.hi*along {
		return false
	}
	c.far = along
	c.lo = max(c.lo, (across-c.tol)/along)
	c.hi = min(c.hi, (across+c.tol)/along)
	return true
}

// widest is the largest slope of a cone's sides, for a first pose so near that tol
// hardly bounds the direction. Judgement; no test holds it closely.
const widest = 0.5

// begin opens the cone about the way to x, y.
func (c *cone) begin(x, y, tol float64) {
	q := x*x + y*y
	if q == 0 {
		return
	}
	d := math.Sqrt(q)
	c.ux, c.uy, c.far, c.tol = x, y, q, tol*d
	c.hi = min(tol/d, widest)
	c.lo = -c.hi
}
