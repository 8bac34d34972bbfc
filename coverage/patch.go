package coverage

import (
	"container/heap"
	"math"
	"slices"

	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// A SkipPatch is one patch of skipped ground with what is known of it.
type SkipPatch struct {
	Region   int // index into Map.Regions
	Area     plane.Area
	Length   float64     // ticks, along its longer extent
	Width    float64     // ticks, of the widest circle that fits in it
	At       plane.Point // the middle of that circle: a place inside the patch
	Cause    Cause
	Machines []int // indices of the machines beside it, rising
	Passes   []int // IDs of the passes beside it, rising
	Place    Place
}

// An OverlapPatch is one patch under the same set of passes.
type OverlapPatch struct {
	Region   int
	Area     plane.Area
	Depth    int
	At       plane.Point // a place inside the patch
	Cause    Cause
	Machines []int
	Passes   []int
	Place    Place
}

// A Place says where a patch is in terms a person can walk to: so far along
// a pass from one of its ends.
type Place struct {
	Pass  int     // ID of the pass it lies along; 0 for none
	Along float64 // ticks from the end named by From, along the pass
	From  string  // "north", "south-west", …: the end of the pass to start from
	Side  string  // "left" or "right" of the pass as driven, or "" for on it
}

// remainderWidth is how wide a circle must fit into uncovered ground, in
// working widths of the widest machine, for it to be ground not worked yet and
// no mistake.
const remainderWidth = 1.5

// patches looks at each skip and overlap: how large, how wide, beside which
// passes.
func (m *Map) patches() {
	var widest plane.Length
	for i := range m.Machines {
		widest = max(widest, m.Machines[i].Implement.Width)
	}
	var skips, overlaps []int
	for i := range m.Regions {
		switch m.Regions[i].Kind {
		case Skip:
			skips = append(skips, i)
		case Overlap:
			overlaps = append(overlaps, i)
		}
	}
	m.Skips = make([]SkipPatch, len(skips))
	each(len(skips), func(k int) {
		r := &m.Regions[skips[k]]
		at, radius := widestCircle(r.Shape)
		p := SkipPatch{Region: skips[k], Area: r.Area, At: at, Width: 2 * radius}
		p.Length = max(extent(r.Shape.Shell), perimeter(r.Shape)/2-p.Width)
		p.Passes, p.Machines = m.passesOf(m.beside(r))
		if p.Width > remainderWidth*float64(widest) {
			p.Cause = Unworked
		}
		m.Skips[k] = p
	})
	for _, p := range m.Skips {
		if p.Cause == Unworked {
			m.Ground.Remainder += p.Area
		}
	}
	m.Overlaps = make([]OverlapPatch, len(overlaps))
	each(len(overlaps), func(k int) {
		r := &m.Regions[overlaps[k]]
		p := OverlapPatch{Region: overlaps[k], Area: r.Area, Depth: r.Depth}
		p.At, _ = widestCircle(r.Shape)
		p.Passes, p.Machines = m.passesOf(r.Swaths)
		m.Overlaps[k] = p
	})
}

// beside returns the swaths that border a region, rising.
func (m *Map) beside(r *Region) []int {
	var out []int
	last := arrange.None
	for _, ring := range r.across {
		for _, l := range ring {
			if l == last || l == arrange.None {
				continue
			}
			last = l
			for _, s := range m.class(l).Swaths {
				if !slices.Contains(out, s) {
					out = append(out, s)
				}
			}
		}
	}
	slices.Sort(out)
	return out
}

// class returns what lies across an edge, as a region without a shape.
func (m *Map) class(l arrange.Label) *Region { return &m.classes[l-1] }

// passesOf returns the IDs of the passes of some swaths, and the indices of
// their machines, rising.
func (m *Map) passesOf(swaths []int) (passes, machines []int) {
	for _, s := range swaths {
		p := &m.Passes[m.Swaths[s].Pass]
		passes = append(passes, p.ID)
		machines = append(machines, p.Machine)
	}
	slices.Sort(passes)
	slices.Sort(machines)
	return slices.Compact(passes), slices.Compact(machines)
}

func perimeter(p plane.Polygon) float64 {
	sum := 0.0
	for _, r := range p.Rings() {
		sum += r.Length()
	}
	return sum
}

// extent is the largest distance between two points of a ring, to 1 part in
// 600: the largest extent in any of 64 directions.
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

// widestCircle finds the widest circle that fits into a polygon, to 1 % or
// 5 mm, and its middle. It halves cells in the order of how wide a circle they
// could still hold (the quadtree search of A. Garcia-Castellanos and U.
// Lombardo, "Poles of inaccessibility", Scottish Geographical Journal 123,
// 2007, made exact by bounds).
//
// A cell keeps the edges that can be nearest to any place in it, so that the
// search costs little more than looking at each edge a few times.
func widestCircle(p plane.Polygon) (plane.Point, float64) {
	var edges []edge
	for _, r := range p.Rings() {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			edges = append(edges, edge{float64(a.X), float64(a.Y), float64(b.X), float64(b.Y)})
		}
	}
	box := p.Shell.Bounds()
	x0, y0 := float64(box.Min.X), float64(box.Min.Y)
	w, h := float64(box.Max.X)-x0, float64(box.Max.Y)-y0
	half := min(w, h) / 2
	if half <= 0 {
		return p.Shell[0], 0
	}
	best := newCell(float64(p.Shell[0].X), float64(p.Shell[0].Y), 0, edges, edges)
	best.d = 0
	var q cells
	nx, ny := int(math.Ceil(w/(2*half))), int(math.Ceil(h/(2*half)))
	for nx*ny > 400 { // a long thin patch: begin with fewer, longer cells
		half *= 2
		nx, ny = int(math.Ceil(w/(2*half))), int(math.Ceil(h/(2*half)))
	}
	for i := range nx {
		for j := range ny {
			q = append(q, newCell(x0+(2*float64(i)+1)*half, y0+(2*float64(j)+1)*half, half, edges, edges))
		}
	}
	heap.Init(&q)
	for len(q) > 0 {
		c := heap.Pop(&q).(cell)
		if c.d > best.d {
			best = c
		}
		slack := max(best.d/100, 50)
		if c.most <= best.d+slack {
			break
		}
		for k := range 4 {
			sx, sy := float64(k&1)-0.5, float64(k>>1)-0.5
			n := newCell(c.x+sx*c.half, c.y+sy*c.half, c.half/2, c.edges, edges)
			if n.d > best.d {
				best = n
			}
			if n.most > best.d+slack {
				heap.Push(&q, n)
			}
		}
	}
	return plane.Point{X: plane.Round(best.x), Y: plane.Round(best.y)}, max(0, best.d)
}

// An edge of a polygon, in ticks.
type edge struct{ ax, ay, bx, by float64 }

// distance2 returns the square of the distance from x, y to the edge.
func (e *edge) distance2(x, y float64) float64 {
	dx, dy := e.bx-e.ax, e.by-e.ay
	px, py := x-e.ax, y-e.ay
	if l := dx*dx + dy*dy; l > 0 {
		t := max(0, min(1, (px*dx+py*dy)/l))
		px, py = px-t*dx, py-t*dy
	}
	return px*px + py*py
}

// A cell is a square in which the middle of the widest circle may lie.
type cell struct {
	x, y, half float64
	d          float64 // from its middle to the nearest edge, negative outside
	most       float64 // no place in it is farther inside than this
	edges      []edge  // those that may be nearest to a place in it
}

// newCell measures a cell against the edges near it, and by all edges tells
// whether its middle is inside.
func newCell(x, y, half float64, near, all []edge) cell {
	c := cell{x: x, y: y, half: half, edges: near}
	nearest := math.Inf(1)
	ds := make([]float64, len(near))
	for i := range near {
		ds[i] = near[i].distance2(x, y)
		nearest = min(nearest, ds[i])
	}
	c.d = math.Sqrt(nearest)
	// From any place in the cell the nearest edge is within c.d plus half a
	// diagonal of it, hence within a whole diagonal more of the middle.
	reach := c.d + 2*half*math.Sqrt2
	if kept := countWithin(ds, reach*reach); kept <= len(near)/2 {
		c.edges = make([]edge, 0, kept)
		for i := range near {
			if ds[i] <= reach*reach {
				c.edges = append(c.edges, near[i])
			}
		}
	}
	if !within(x, y, all) {
		c.d = -c.d
	}
	c.most = c.d + half*math.Sqrt2
	return c
}

func countWithin(ds []float64, most float64) int {
	n := 0
	for _, d := range ds {
		if d <= most {
			n++
		}
	}
	return n
}

// within reports whether x, y is inside the rings the edges form: a ray to the
// east crosses an odd number of them.
func within(x, y float64, edges []edge) bool {
	in := false
	for i := range edges {
		e := &edges[i]
		if (e.ay > y) != (e.by > y) && x < e.ax+(y-e.ay)/(e.by-e.ay)*(e.bx-e.ax) {
			in = !in
		}
	}
	return in
}

// cells is a heap, the most promising first.
type cells []cell

func (q cells) Len() int           { return len(q) }
func (q cells) Less(i, j int) bool { return q[i].most > q[j].most }
func (q cells) Swap(i, j int)      { q[i], q[j] = q[j], q[i] }
func (q *cells) Push(c any)        { *q = append(*q, c.(cell)) }
func (q *cells) Pop() any {
	old := *q
	c := old[len(old)-1]
	*q = old[:len(old)-1]
	return c
}
