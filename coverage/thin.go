package coverage

import (
	"math"

	"lapwing/geo/plane"
)

// Thin is how far the straight edge of a swath may lie from the path that an
// end of the bar took. A pose is left out if both ends stay that near without
// it. On a straight pass nearly all are, so that a day's log makes thousands
// of edges and not hundreds of thousands.
//
// What it may do to an area: on noise the edge leaves the path to either side
// and nothing is gained or lost on average; on a steady turn of radius r the
// chord lies inside the arc of the bar's outer end, by 2/3 of Thin on average,
// and inside that of its inner end by (r - w/2)/(r + w/2) of it. What is lost
// along the one less what is gained along the other is 2/3 Thin × turn angle ×
// w × 2r/(r + w/2): 0.24 m² for a half turn of 18 m radius with a 16 m bar. In
// the worst case, all to one side, it is 5 mm along an edge: 0.03 % of a 16 m
// swath. Smaller, the noise that smoothing leaves (4 mm of the 2 cm of a good
// receiver) keeps every pose; larger, it shows beside the 2 cm.
const Thin = 5 * plane.Millimetre

// A frame of the bar: where it was at one pose, its ends as vectors.
type bar struct {
	at       plane.Point
	sin, cos float64 // of the heading
}

func barOf(p *Pose) bar {
	sin, cos := math.Sincos(p.Heading)
	return bar{p.Bar, sin, cos}
}

// end returns the place on the bar at offset to the right of its centre.
func (b bar) end(offset plane.Length) plane.Point {
	o := float64(offset)
	return plane.Point{
		X: b.at.X + plane.Round(o*b.cos),
		Y: b.at.Y - plane.Round(o*b.sin),
	}
}

// thin returns the indices of the poses to keep: the first and last, those
// where the sections change or a silence begins or ends, and as many between
// as it takes to hold both ends of a bar of the given half width within tol.
//
// From a kept pose it looks ahead, and holds for each end the cone of
// directions that pass every pose so far within tol. The pose before the first
// that leaves a cone is kept next.
func thin(poses []Pose, half plane.Length, tol float64) []int32 {
	keep := []int32{0}
	last := len(poses) - 1
	if last == 0 {
		return keep
	}
	h := float64(half)
	type end struct{ x, y float64 }
	// From the place of another pose, so that only whole ticks are subtracted
	// and a shift of all poses changes no digit.
	ends := func(i int, origin plane.Point) (l, r end) {
		p := &poses[i]
		sin, cos := math.Sincos(p.Heading)
		x, y := float64(p.Bar.X-origin.X), float64(p.Bar.Y-origin.Y)
		return end{x - h*cos, y + h*sin}, end{x + h*cos, y - h*sin}
	}
	for from := 0; from < last; {
		var cones [2]cone
		origin := poses[from].Bar
		l0, r0 := ends(from, origin)
		to := from + 1
		for i := from + 1; ; i++ {
			l, r := ends(i, origin)
			if !cones[0].admits(l.x-l0.x, l.y-l0.y, tol) || !cones[1].admits(r.x-r0.x, r.y-r0.y, tol) {
				break
			}
			to = i
			if i == last || poses[i].State != poses[from].State || poses[i].Silent || poses[from].Silent {
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
// are products with the length of that.
type cone struct {
	ux, uy float64 // the way to the first
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

// begin opens the cone about the way to x, y.
func (c *cone) begin(x, y, tol float64) {
	q := x*x + y*y
	if q == 0 {
		return
	}
	d := math.Sqrt(q)
	c.ux, c.uy, c.far, c.tol = x, y, q, tol*d
	c.hi = min(tol/d, 0.5) // where the end hardly moves any later direction would do
	c.lo = -c.hi
}
