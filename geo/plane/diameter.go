package plane

import "math"

// directions are 64 vectors of length 1, evenly round half a circle.
var directions = func() (out [64]struct{ x, y float64 }) {
	for k := range out {
		out[k].y, out[k].x = math.Sincos(float64(k) * math.Pi / float64(len(out)))
	}
	return out
}()

// Diameter returns the largest distance between two points of r, short of it by
// 1 part in 800 at most: the largest width in any of 64 directions.
// Eight are asked first, and of the others only those in which it may be larger
// yet.
func (r Ring) Diameter() Distance {
	const apart = len(directions) / 8
	var widths [len(directions)]float64
	widest := 0.0
	ask := func(k int) {
		k = (k + len(directions)) % len(directions)
		if widths[k] == 0 {
			widths[k] = r.across(directions[k].x, directions[k].y)
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
	return Distance(widest)
}

// across returns how wide r is in the direction of a vector of length 1.
func (r Ring) across(x, y float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range r {
		d := float64(p.X)*x + float64(p.Y)*y
		lo, hi = min(lo, d), max(hi, d)
	}
	return hi - lo
}
