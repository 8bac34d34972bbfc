package covertest

import (
	"math"
	"slices"

	"lapwing/coverage/field"
	"lapwing/geo/plane"
)

// Depths are areas by depth in square metres: Inside[0] was never visited,
// Inside[2] twice. Outside[0] is always 0.
type Depths struct{ Inside, Outside []float64 }

// Covered returns the area inside that was visited.
func (d Depths) Covered() float64 { return sum(d.Inside[1:]) }

// Overlap returns the area inside that was visited twice or more.
func (d Depths) Overlap() float64 {
	if len(d.Inside) < 3 {
		return 0
	}
	return sum(d.Inside[2:])
}

// OverReach returns the area outside that was visited.
func (d Depths) OverReach() float64 { return sum(d.Outside) }

// Swept returns the area of all visits, inside and out.
func (d Depths) Swept() float64 {
	var a float64
	for _, by := range [][]float64{d.Inside, d.Outside} {
		for k, v := range by {
			a += float64(k) * v
		}
	}
	return a
}

func sum(v []float64) float64 {
	var a float64
	for _, x := range v {
		a += x
	}
	return a
}

// Raster counts visits cell by cell: a square cell of the given side counts
// as its middle does. A cell met again by the same pass counts anew if the
// bar's centre has gone more than 2 working widths since they last met.
//
// The standard error of an area is about 0.3 × side^1.5 × √outline: outline /
// side cells lie on the outline, and each is wrong by a share spread evenly
// over one cell, of variance 1/12. Along edges that run with the cells the
// errors add up, to half a side times the outline at worst.
func Raster(field field.Field, trails []Trail, side float64) Depths {
	g := newGrid(field, trails, side)
	for _, t := range trails {
		g.drive(t)
	}
	return g.depths(field)
}

// A grid counts visits to the middles of cells.
type grid struct {
	side       float64
	x, y       float64 // the south-west corner
	cols, rows int
	visits     []uint16
	met        []float64 // along this pass at the last meeting; negative for none
}

func newGrid(field field.Field, trails []Trail, side float64) *grid {
	lo, hi := XY{math.Inf(1), math.Inf(1)}, XY{math.Inf(-1), math.Inf(-1)}
	add := func(x, y, margin float64) {
		lo = XY{min(lo.X, x-margin), min(lo.Y, y-margin)}
		hi = XY{max(hi.X, x+margin), max(hi.Y, y+margin)}
	}
	for _, p := range field.Boundary {
		for _, v := range p.Shell {
			add(v.X.Metres(), v.Y.Metres(), side)
		}
	}
	for _, t := range trails {
		for _, p := range t.Poses {
			add(p.X, p.Y, t.Width)
		}
	}
	g := &grid{side: side}
	// An odd part of a cell, so that edges on round numbers don't run through middles.
	g.x, g.y = math.Floor(lo.X/side)*side-0.381*side, math.Floor(lo.Y/side)*side-0.237*side
	g.cols, g.rows = int((hi.X-g.x)/side)+1, int((hi.Y-g.y)/side)+1
	g.visits, g.met = make([]uint16, g.cols*g.rows), make([]float64, g.cols*g.rows)
	return g
}

// drive counts the visits of one pass, two triangles for each step. Where the
// bar swings backward they reach past the ground swept by as much as its end
// moves in a step, centimetres.
func (g *grid) drive(t Trail) {
	for i := range g.met {
		g.met[i] = -1
	}
	for i := 1; i < len(t.Poses); i++ {
		a, b := t.Poses[i-1], t.Poses[i]
		// Small steps, so that a cell knows to a fraction of a width how far
		// the bar had gone when they met.
		n := math.Ceil(Distance(a.XY, b.XY) / (t.Width / 8))
		n = max(n, 1)
		for _, s := range a.Open {
			from, to := s.Left.Metres(), s.Right.Metres()
			for k := 0.0; k < n; k++ {
				p, q := between(a, b, k/n), between(a, b, (k+1)/n)
				w, x := p.plus(from, right(p.Heading)), p.plus(to, right(p.Heading))
				y, z := q.plus(to, right(q.Heading)), q.plus(from, right(q.Heading))
				along := a.Along + (k+0.5)/n*(b.Along-a.Along)
				g.triangle(w, x, y, along, 2*t.Width)
				g.triangle(w, y, z, along, 2*t.Width)
			}
		}
	}
}

// between returns the stance a part of the way from a to b.
func between(a, b TrailPose, k float64) Stance {
	return Stance{a.plus(k, XY{b.X - a.X, b.Y - a.Y}), a.Heading + k*(b.Heading-a.Heading)}
}

// triangle meets the cells whose middles lie in a triangle.
func (g *grid) triangle(a, b, c XY, along, forget float64) {
	south, north := min(a.Y, b.Y, c.Y), max(a.Y, b.Y, c.Y)
	first := max(0, int(math.Ceil((south-g.y)/g.side-0.5)))
	last := min(g.rows-1, int(math.Floor((north-g.y)/g.side-0.5)))
	for row := first; row <= last; row++ {
		y := g.y + (float64(row)+0.5)*g.side
		west, east := math.Inf(1), math.Inf(-1)
		for _, e := range [3][2]XY{{a, b}, {b, c}, {c, a}} {
			p, q := e[0], e[1]
			if p.Y == q.Y || (p.Y < y && q.Y < y) || (p.Y > y && q.Y > y) {
				continue
			}
			x := p.X + (y-p.Y)/(q.Y-p.Y)*(q.X-p.X)
			west, east = min(west, x), max(east, x)
		}
		if west > east {
			continue
		}
		from := max(0, int(math.Ceil((west-g.x)/g.side-0.5)))
		to := min(g.cols-1, int(math.Floor((east-g.x)/g.side-0.5)))
		for i := row*g.cols + from; i <= row*g.cols+to; i++ {
			if g.met[i] < 0 || along-g.met[i] > forget {
				g.visits[i]++
			}
			g.met[i] = along
		}
	}
}

// depths sums the cells by depth and side of the boundary.
func (g *grid) depths(field field.Field) Depths {
	var d Depths
	d.Inside, d.Outside = []float64{0, 0}, []float64{0, 0}
	cell := g.side * g.side
	for row := range g.rows {
		crossings := boundaryCrossings(field, g.y+(float64(row)+0.5)*g.side)
		for col := range g.cols {
			n := int(g.visits[row*g.cols+col])
			i, _ := slices.BinarySearch(crossings, g.x+(float64(col)+0.5)*g.side)
			side := &d.Outside
			if i%2 == 1 {
				side = &d.Inside
			} else if n == 0 {
				continue
			}
			for len(*side) <= n {
				*side = append(*side, 0)
			}
			(*side)[n] += cell
		}
	}
	return d
}

// boundaryCrossings returns where a line from west to east crosses the
// boundary, holes too, in order: between the first and the second is inside.
func boundaryCrossings(field field.Field, y float64) []float64 {
	var out []float64
	for _, p := range field.Boundary {
		for _, r := range p.Rings() {
			for i := range r {
				a, b := metres(r[i]), metres(r[(i+1)%len(r)])
				if (a.Y <= y) != (b.Y <= y) {
					out = append(out, a.X+(y-a.Y)/(b.Y-a.Y)*(b.X-a.X))
				}
			}
		}
	}
	slices.Sort(out)
	return out
}

func metres(p plane.Point) XY { return XY{p.X.Metres(), p.Y.Metres()} }
