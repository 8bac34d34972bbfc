package coverage

import (
	"math"
	"slices"

	"lapwing/geo/plane"
)

// perimeter is the length of all rings of p in ticks.
func perimeter(p plane.Polygon) float64 {
	sum := 0.0
	for _, r := range p.Rings() {
		sum += r.Length()
	}
	return sum
}

// directions are 64 vectors of length 1, evenly round half a circle.
var directions = func() (out [64]struct{ x, y float64 }) {
	for k := range out {
		out[k].y, out[k].x = math.Sincos(float64(k) * math.Pi / float64(len(out)))
	}
	return out
}()

// extent is the largest distance between two points of a ring, to 1 part in
// 800: the largest extent in any of the directions. Eight are asked first, and
// of the others only those in which it may be larger yet.
func extent(r plane.Ring) float64 {
	const apart = len(directions) / 8
	var widths [len(directions)]float64
	widest := 0.0
	ask := func(k int) {
		k = (k + len(directions)) % len(directions)
		if widths[k] == 0 {
			widths[k] = across(r, directions[k].x, directions[k].y)
			widest = max(widest, widths[k])
		}
	}
	for k := 0; k < len(directions); k += apart {
		ask(k)
	}
	// The longest line is at most half of the way to the next asked.
	nearly := math.Cos(float64(apart) / 2 * math.Pi / float64(len(directions)))
	for k := 0; k < len(directions); k += apart {
		for by := 1; by <= apart/2 && widths[k] >= widest*nearly; by++ {
			ask(k + by)
			ask(k - by)
		}
	}
	return widest
}

// across is how far a ring extends in the direction of a vector of length 1.
func across(r plane.Ring, x, y float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range r {
		d := float64(p.X)*x + float64(p.Y)*y
		lo, hi = min(lo, d), max(hi, d)
	}
	return hi - lo
}

// placeInside returns a place in p: the middle of the widest stretch of a
// level line through the middle of its height.
func placeInside(p plane.Polygon) plane.Point {
	b := p.Shell.Bounds()
	y := float64(b.Min.Y+b.Max.Y)/2 + 0.25 // between the rows of the grid, so through no corner
	var xs []float64
	for _, r := range p.Rings() {
		b := r[len(r)-1]
		for _, a := range r {
			if ay, by := float64(a.Y), float64(b.Y); (ay > y) != (by > y) {
				xs = append(xs, float64(a.X)+(y-ay)/(by-ay)*float64(b.X-a.X))
			}
			b = a
		}
	}
	slices.Sort(xs)
	at, widest := float64(p.Shell[0].X), -1.0
	for i := 0; i+1 < len(xs); i += 2 {
		if w := xs[i+1] - xs[i]; w > widest {
			at, widest = (xs[i]+xs[i+1])/2, w
		}
	}
	return plane.Point{X: plane.Round(at), Y: plane.Round(y)}
}
