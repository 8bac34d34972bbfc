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

// extent is the largest distance between two points of a ring, to 1 part in
// 800: the largest extent in any of 64 directions.
func extent(r plane.Ring) float64 {
	widest := 0.0
	for k := range 64 {
		sin, cos := math.Sincos(float64(k) * math.Pi / 64)
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, p := range r {
			d := float64(p.X)*cos + float64(p.Y)*sin
			lo, hi = min(lo, d), max(hi, d)
		}
		widest = max(widest, hi-lo)
	}
	return widest
}

// An edge of a polygon, in ticks; the ground is on its left.
type edge struct{ ax, ay, bx, by float64 }

// edgesOf lists the edges of all rings of p.
func edgesOf(p plane.Polygon) []edge {
	var out []edge
	for _, r := range p.Rings() {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			out = append(out, edge{float64(a.X), float64(a.Y), float64(b.X), float64(b.Y)})
		}
	}
	return out
}

// nearest returns the place on the edge nearest to x, y, and the square of the
// distance to it.
func (e *edge) nearest(x, y float64) (px, py, d2 float64) {
	dx, dy := e.bx-e.ax, e.by-e.ay
	px, py = e.ax, e.ay
	if l := dx*dx + dy*dy; l > 0 {
		t := max(0, min(1, ((x-e.ax)*dx+(y-e.ay)*dy)/l))
		px, py = e.ax+t*dx, e.ay+t*dy
	}
	return px, py, (x-px)*(x-px) + (y-py)*(y-py)
}

// placeInside returns a place in p: the middle of the widest stretch of a
// level line through the middle of its height.
func placeInside(p plane.Polygon) plane.Point {
	b := p.Shell.Bounds()
	y := float64(b.Min.Y+b.Max.Y)/2 + 0.25 // between the rows of the grid, so through no corner
	var xs []float64
	for _, e := range edgesOf(p) {
		if (e.ay > y) != (e.by > y) {
			xs = append(xs, e.ax+(y-e.ay)/(e.by-e.ay)*(e.bx-e.ax))
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

// widestCircle finds the widest circle that fits into p, to about 1 %, and its
// middle.
//
// A circle that touches the boundary at a place and lies inside is as wide as
// the boundary's other parts allow: it is shrunk until none of them is in it
// (J. Ma, S. Bae, S. Choi, "3D medial axis point approximation using nearest
// neighbors and the normal field", The Visual Computer 28, 2012). That is done
// at the middle of every edge, and along long ones, and the best is moved
// about while it widens. Where a patch has a wide part it has edges there, so
// that no wide part goes unseen.
func widestCircle(p plane.Polygon) (plane.Point, float64) {
	edges := edgesOf(p)
	near := newNeighbours(edges)
	most := math.Sqrt(math.Abs(float64(p.Area())) / 2 / math.Pi) // no circle is larger than the patch
	spacing := max(float64(plane.Metre), perimeter(p)/256)
	at, best := p.Shell[0], 0.0
	bx, by := float64(at.X), float64(at.Y)
	for i := range edges {
		e := &edges[i]
		l := math.Hypot(e.bx-e.ax, e.by-e.ay)
		nx, ny := -(e.by-e.ay)/l, (e.bx-e.ax)/l
		n := math.Ceil(l / spacing)
		for k := 0.5; k < n; k++ {
			t := k / n
			x, y := e.ax+t*(e.bx-e.ax), e.ay+t*(e.by-e.ay)
			if r := near.shrink(x, y, nx, ny, most, best); r > best {
				best, bx, by = r, x+r*nx, y+r*ny
			}
		}
	}
	// Moving by less than the radius never leaves the patch. The widest places
	// lie along ridges: steps shorten until they stay on one, then lengthen.
	tries := 0
	for step := best / 2; step > max(best/400, 10) && tries < 600; tries++ {
		moved := false
		for k := range 12 {
			sin, cos := math.Sincos(float64(k) * math.Pi / 6)
			x, y := bx+step*cos, by+step*sin
			if r := near.distance(x, y, best+step); r > best*1.0001 && r <= most {
				bx, by, best, moved = x, y, r, true
				break
			}
		}
		if moved {
			step = min(2*step, best/2)
		} else {
			step /= 2
		}
	}
	return plane.Point{X: plane.Round(bx), Y: plane.Round(by)}, best
}

// neighbours finds the edges near a place.
type neighbours struct {
	edges []edge
	tree  *edgeTree // nil for few edges, which are quicker to go through
}

func newNeighbours(edges []edge) *neighbours {
	n := &neighbours{edges: edges}
	if len(edges) > 48 {
		n.tree = &edgeTree{}
		for _, e := range edges {
			n.tree.add(e)
		}
	}
	return n
}

// around calls f for every edge within r of x, y, and perhaps for others.
func (n *neighbours) around(x, y, r float64, f func(e *edge)) {
	if n.tree == nil {
		for i := range n.edges {
			f(&n.edges[i])
		}
		return
	}
	n.tree.Search([2]float64{x - r, y - r}, [2]float64{x + r, y + r}, func(_, _ [2]float64, e edge) bool {
		f(&e)
		return true
	})
}

// distance returns the distance from x, y to the nearest edge, or most if that
// is nearer.
func (n *neighbours) distance(x, y, most float64) float64 {
	d2 := most * most
	n.around(x, y, most, func(e *edge) {
		_, _, d := e.nearest(x, y)
		d2 = min(d2, d)
	})
	return math.Sqrt(d2)
}

// shrink returns the radius of the widest circle that touches x, y from the
// side the normal points to and holds no edge, or anything no more than enough
// once it is known not to be wider than that.
func (n *neighbours) shrink(x, y, nx, ny, most, enough float64) float64 {
	r := most
	for range 100 {
		if r <= enough {
			return r
		}
		cx, cy := x+r*nx, y+r*ny
		var qx, qy float64
		d2 := r * r * (1 - 1e-9)
		found := false
		n.around(cx, cy, r, func(e *edge) {
			if px, py, d := e.nearest(cx, cy); d < d2 {
				qx, qy, d2, found = px, py, d, true
			}
		})
		if !found {
			return r
		}
		// The circle through x, y and q with its middle on the normal.
		qx, qy = qx-x, qy-y
		along := qx*nx + qy*ny
		if along <= 0 {
			return 0
		}
		r = min(r*(1-1e-7), (qx*qx+qy*qy)/(2*along))
	}
	return 0 // still not known to be inside
}
