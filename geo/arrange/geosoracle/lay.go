//go:build geos

package geosoracle

import (
	"math"
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

// Stages are the times of the usual way from passes to answers. The last two
// are not part of it: feeding is the price of leaving Go, and summing up makes
// areas to compare of what the usual way leaves as polygons.
type Stages struct {
	Shape   time.Duration // a polygon for each swath or pass
	Union   time.Duration // covered ground
	Skip    time.Duration // field less covered ground
	Overlap time.Duration // each pair of polygons whose boxes meet
	Feed    time.Duration
	SumUp   time.Duration
}

// Total is the time of the usual way.
func (s Stages) Total() time.Duration { return s.Shape + s.Union + s.Skip + s.Overlap }

// A Line is the way of a bar's centre and the bar's width.
type Line struct {
	Points []plane.Point
	Width  plane.Length
}

// LayRings lays swaths over a field. Field and swaths are layers of rings:
// each is the ground its rings wind round anticlockwise.
func LayRings(field []plane.Ring, swaths [][]plane.Ring) (r Result, err error) {
	defer catch(&err)
	s := session{geos.NewContext()}
	var ground *geos.Geom
	shapes := make([]*geos.Geom, len(swaths))
	r.Took.Feed = timed(func() { ground = s.ground(field) })
	r.Took.Shape = timed(func() {
		for i, rings := range swaths {
			shapes[i] = s.ground(rings)
		}
	})
	s.lay(&r, ground, shapes)
	return r, nil
}

// LayLines lays passes over a field the way it is usually done: the line of
// each pass, all fixes of it, widened by half the bar on either side with flat
// ends. Corners are round, with the eight segments a quarter that GEOS has by
// default.
func LayLines(field []plane.Ring, passes []Line) (r Result, err error) {
	defer catch(&err)
	s := session{geos.NewContext()}
	var ground *geos.Geom
	lines, shapes := make([]*geos.Geom, len(passes)), make([]*geos.Geom, len(passes))
	r.Took.Feed = timed(func() {
		ground = s.ground(field)
		for i, p := range passes {
			lines[i] = s.lineString(p.Points)
		}
	})
	r.Took.Shape = timed(func() {
		for i, l := range lines {
			shapes[i] = l.BufferWithStyle(float64(passes[i].Width)/2, 8, geos.BufCapStyleFlat, geos.BufJoinStyleRound, 5)
		}
	})
	s.lay(&r, ground, shapes)
	return r, nil
}

// lay finds what the shapes cover of the field. Times are of the usual calls;
// the areas are from unions that lose nothing, see [session.union].
func (s session) lay(r *Result, field *geos.Geom, shapes []*geos.Geom) {
	var usual *geos.Geom
	var overlaps []*geos.Geom
	r.Took.Union = timed(func() { usual = s.unaryUnion(shapes) })
	r.Took.Skip = timed(func() { field.Difference(usual) })
	r.Took.Overlap = timed(func() {
		for _, p := range pairs(shapes) {
			overlaps = append(overlaps, p[0].Intersection(p[1]))
		}
	})
	r.Took.SumUp = timed(func() {
		covered := s.union(shapes)
		inside, skip := field.Intersection(covered), field.Difference(covered)
		twice := field.Intersection(s.union(overlaps))
		r.Field, r.Covered, r.Skip = squareMetres(field), squareMetres(inside), squareMetres(skip)
		r.Overlap, r.Outside = squareMetres(twice), squareMetres(covered)-squareMetres(inside)
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
