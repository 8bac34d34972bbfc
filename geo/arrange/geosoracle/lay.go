//go:build geos

package geosoracle

import (
	"math"
	"slices"
	"time"

	"github.com/tidwall/rtree"
	"github.com/twpayne/go-geos"

	"lapwing/geo/plane"
)

// A Result is what GEOS finds, in square metres, and how long it took to.
type Result struct {
	Field, Covered, Skip, Overlap, Outside float64
	Took                                   Stages
}

// Stages are the times of the usual way from passes to answers. Feeding, the
// price of leaving Go, is no part of it.
type Stages struct {
	Shape   time.Duration // a polygon for each swath or pass
	Union   time.Duration // covered ground
	Skip    time.Duration // field less covered ground
	Overlap time.Duration // each pair of polygons whose boxes meet
	Feed    time.Duration
}

// Total is the time of the usual way.
func (s Stages) Total() time.Duration { return s.Shape + s.Union + s.Skip + s.Overlap }

// A Line is the way of a bar's centre and the bar's width.
type Line struct {
	Points []plane.Point
	Width  plane.Length
}

// Lay finds the areas of swaths over a field. Field and swaths are layers of
// rings: each is the ground its rings wind round anticlockwise.
//
// It does not go the usual way: the unions of GEOS 3.11, of two polygons as of
// many, now and then drop ground without a word (of 63 overlaps with 12,162 m²
// together 224 m², by one order of the pieces and not by others). Instead GEOS
// cuts the plane into cells, and each is counted by what is over a place in it.
func Lay(field []plane.Ring, swaths [][]plane.Ring) (r Result, err error) {
	defer catch(&err)
	s := session{geos.NewContext()}
	all := slices.Concat(append([][]plane.Ring{field}, swaths...)...)
	over := newBoxes(swaths)
	s.cells(all, func(cell *geos.Geom, x, y float64) {
		inside, depth := winding(field, x, y) > 0, over.depth(x, y)
		area := squareMetres(cell)
		switch {
		case inside && depth == 0:
			r.Skip += area
		case inside:
			r.Covered += area
			if depth > 1 {
				r.Overlap += area
			}
		case depth > 0:
			r.Outside += area
		}
	})
	r.Field = r.Skip + r.Covered
	return r, nil
}

// boxes are swaths by the boxes around their rings.
type boxes struct {
	swaths [][]plane.Ring
	tree   rtree.RTreeG[int]
}

func newBoxes(swaths [][]plane.Ring) *boxes {
	b := &boxes{swaths: swaths}
	for i, rings := range swaths {
		all := plane.Empty()
		for _, r := range rings {
			for _, p := range r {
				all = all.Add(p)
			}
		}
		b.tree.Insert([2]float64{float64(all.Min.X), float64(all.Min.Y)}, [2]float64{float64(all.Max.X), float64(all.Max.Y)}, i)
	}
	return b
}

// depth returns how many swaths are over a place.
func (b *boxes) depth(x, y float64) int {
	n := 0
	b.tree.Search([2]float64{x, y}, [2]float64{x, y}, func(_, _ [2]float64, i int) bool {
		if winding(b.swaths[i], x, y) > 0 {
			n++
		}
		return true
	})
	return n
}

// RunRings goes the usual way with swaths as rings.
func RunRings(field []plane.Ring, swaths [][]plane.Ring) (took Stages, err error) {
	defer catch(&err)
	s := session{geos.NewContext()}
	var ground *geos.Geom
	shapes := make([]*geos.Geom, len(swaths))
	took.Feed = timed(func() { ground = s.ground(field) })
	took.Shape = timed(func() {
		for i, rings := range swaths {
			shapes[i] = s.ground(rings)
		}
	})
	s.run(&took, ground, shapes)
	return took, nil
}

// RunLines goes the usual way with passes as lines: the line of each, all
// fixes of it, is widened by half the bar on either side with flat ends.
// Corners are round, with the eight segments a quarter that GEOS has by
// default.
func RunLines(field []plane.Ring, passes []Line) (took Stages, err error) {
	defer catch(&err)
	s := session{geos.NewContext()}
	var ground *geos.Geom
	lines, shapes := make([]*geos.Geom, len(passes)), make([]*geos.Geom, len(passes))
	took.Feed = timed(func() {
		ground = s.ground(field)
		for i, p := range passes {
			lines[i] = s.lineString(p.Points)
		}
	})
	took.Shape = timed(func() {
		for i, l := range lines {
			shapes[i] = l.BufferWithStyle(float64(passes[i].Width)/2, 8, geos.BufCapStyleFlat, geos.BufJoinStyleRound, 5)
		}
	})
	s.run(&took, ground, shapes)
	return took, nil
}

// run goes the usual way from the shapes of swaths on.
func (s session) run(took *Stages, field *geos.Geom, shapes []*geos.Geom) {
	var covered *geos.Geom
	took.Union = timed(func() { covered = s.union(shapes) })
	took.Skip = timed(func() { field.Difference(covered) })
	took.Overlap = timed(func() {
		for _, p := range pairs(shapes) {
			p[0].Intersection(p[1])
		}
	})
}

// pairs returns the pairs of shapes whose boxes meet. The index is not GEOS's
// own, whose binding its authors call broken; on the few hundred shapes of a
// field it takes no time to speak of.
func pairs(shapes []*geos.Geom) [][2]*geos.Geom {
	var out [][2]*geos.Geom
	var tree rtree.RTreeG[*geos.Geom]
	for _, g := range shapes {
		if g.IsEmpty() {
			continue
		}
		b := g.Bounds()
		lo, hi := [2]float64{b.MinX, b.MinY}, [2]float64{b.MaxX, b.MaxY}
		tree.Search(lo, hi, func(_, _ [2]float64, other *geos.Geom) bool {
			out = append(out, [2]*geos.Geom{other, g})
			return true
		})
		tree.Insert(lo, hi, g)
	}
	return out
}

func squareMetres(g *geos.Geom) float64 { return g.Area() / math.Pow(float64(plane.Metre), 2) }

func timed(f func()) time.Duration {
	began := time.Now()
	f()
	return time.Since(began)
}
