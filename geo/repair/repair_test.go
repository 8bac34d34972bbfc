package repair

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/plane"
)

// ring makes a ring of x, y, x, y, …
func ring(xy ...plane.Length) plane.Ring {
	var out plane.Ring
	for i := 0; i < len(xy); i += 2 {
		out = append(out, plane.Point{X: xy[i], Y: xy[i+1]})
	}
	return out
}

// far is where rings lie that are a billionth of a degree to the unit: they
// are farther from 0, 0 than the plane reaches.
var far = plane.Point{X: -98_400_000_000, Y: 46_900_000_000}

func moved(r plane.Ring, by plane.Point) plane.Ring {
	out := make(plane.Ring, len(r))
	for i, p := range r {
		out[i] = p.Add(by)
	}
	return out
}

// random is a ring of a few corners on a small grid, where coincidences are
// common.
func random(rng *rand.Rand, most int, wide, high int) plane.Ring {
	var r plane.Ring
	for range 3 + rng.IntN(most-2) {
		r = append(r, plane.Point{X: plane.Length(rng.IntN(wide)), Y: plane.Length(rng.IntN(high))})
	}
	return r
}

// winds is how often a ring winds around a place, x and y given in units; no
// edge may pass through it.
func winds(r plane.Ring, x, y float64) int {
	n := 0
	for i, a := range r {
		b := r[(i+1)%len(r)]
		ax, ay, bx, by := float64(a.X), float64(a.Y), float64(b.X), float64(b.Y)
		side := (bx-ax)*(y-ay) - (by-ay)*(x-ax)
		switch {
		case ay <= y && by > y && side > 0:
			n++
		case ay > y && by <= y && side < 0:
			n--
		}
	}
	return n
}

// places calls do for places all over a small grid through which no edge
// between its corners passes: their distances from one have other denominators
// than lines between few corners.
func places(wide, high int, do func(x, y float64)) {
	for i := range wide * 3 {
		for j := range high * 3 {
			do((float64(i)+0.5012345)/3, (float64(j)+0.4987123)/3)
		}
	}
}

// All pairs of edges whose boxes come near are found, and no others.
func TestPairs(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for range 300 {
		apart := plane.Length(rng.IntN(2))
		edges := edgesOf([]plane.Ring{random(rng, 40, 30, 30), random(rng, 12, 30, 30)})
		var want, got [][2]int32
		for i, e := range edges {
			for j := i + 1; j < len(edges); j++ {
				b, c := e.box(), edges[j].box()
				b.Min, b.Max = b.Min.Sub(plane.Point{X: apart, Y: apart}), b.Max.Add(plane.Point{X: apart, Y: apart})
				if b.Meets(c) {
					want = append(want, [2]int32{int32(i), int32(j)})
				}
			}
		}
		newEdgeRuns(edges, apart, math.MaxInt).pairs(func(i, j int32) bool {
			got = append(got, [2]int32{i, j})
			return true
		})
		require.ElementsMatch(t, want, got)
	}
}

func TestPairsStop(t *testing.T) {
	edges := edgesOf([]plane.Ring{random(rand.New(rand.NewPCG(1, 1)), 200, 9, 9)})
	count := func(steps, most int) (n int) {
		newEdgeRuns(edges, 0, steps).pairs(func(_, _ int32) bool {
			n++
			return n < most
		})
		return n
	}
	all := count(math.MaxInt, math.MaxInt)
	assert.Greater(t, all, 100)
	assert.Equal(t, 100, count(math.MaxInt, 100))
	assert.Less(t, count(50, math.MaxInt), all)
}

func TestTrim(t *testing.T) {
	for _, c := range []struct {
		name            string
		ring            plane.Ring
		kept            []int
		repeats, spikes int
	}{
		{"nothing to do", ring(0, 0, 9, 0, 9, 9), []int{0, 1, 2}, 0, 0},
		{"repeats", ring(0, 0, 0, 0, 9, 0, 9, 9, 9, 9, 9, 9, 0, 0), []int{0, 2, 3}, 4, 0},
		// a---b---c (b again, and on to d)
		{"spike", ring(0, 0, 9, 0, 20, 0, 9, 0, 9, 9), []int{0, 1, 4}, 0, 1},
		{"spike past where it began", ring(0, 0, 9, 0, 4, 0, 4, 9), []int{0, 2, 3}, 0, 1},
		{"spike on a spike", ring(0, 0, 9, 0, 20, 0, 30, 0, 20, 0, 9, 0, 9, 9), []int{0, 1, 6}, 0, 2},
		{"spike at the start", ring(-9, 0, 0, 0, 9, 0, 9, 9, 0, 9, 0, 0), []int{1, 2, 3, 4}, 0, 1},
		{"spike at the end", ring(0, 0, 9, 0, 9, 9, 0, 9, 0, 0, -9, 0), []int{0, 1, 2, 3}, 0, 1},
		{"straight on is no spike", ring(0, 0, 4, 0, 9, 0, 9, 9), []int{0, 1, 2, 3}, 0, 0},
		{"a corner beside the line is no spike", ring(0, 0, 90_000_000, 1, 45_000_000, 0), []int{0, 1, 2}, 0, 0},
		{"a line", ring(0, 0, 9, 0, 4, 0), []int{0, 2}, 0, 1},
		{"a point", ring(4, 4, 4, 4), []int{0}, 1, 0},
		{"nothing", nil, nil, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			kept, repeats, spikes := Trim(moved(c.ring, far))
			assert.Equal(t, c.kept, kept)
			assert.Equal(t, [2]int{c.repeats, c.spikes}, [2]int{repeats, spikes})
		})
	}
}

// What is trimmed has no repeat and no spike left, and as much ground.
func TestTrimLeavesNone(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 7))
	for range 5000 {
		r := random(rng, 12, 5, 4)
		kept, repeats, spikes := Trim(r)
		out := pick(r, kept)
		require.Equal(t, r.Area(), out.Area(), "%v", r)
		if len(out) >= 3 {
			_, again, more := Trim(out)
			require.Zero(t, again+more, "%v", r)
		}
		if len(kept) == len(r) {
			require.Zero(t, repeats+spikes)
		}
	}
}

func TestMeet(t *testing.T) {
	for _, c := range []struct {
		name string
		ring plane.Ring
		want Meetings
	}{
		{"square", ring(0, 0, 9, 0, 9, 9, 0, 9), Meetings{}},
		{"corner a unit off an edge", ring(0, 0, 9, 0, 9, 9, 5, 1, 0, 9), Meetings{}},
		{"corner on an edge", ring(0, 0, 9, 0, 9, 9, 5, 0, 0, 9), Meetings{How: Touch, Corners: []int{3}}},
		{"corner on a corner", ring(0, 0, 5, 5, 9, 0, 9, 9, 5, 5, 0, 9), Meetings{How: Touch, Corners: []int{1, 4}}},
		{"along an edge", ring(0, 0, 9, 0, 9, 9, 6, 9, 6, 0, 3, 0, 3, 9, 0, 9), Meetings{How: Touch, Corners: []int{4, 5}}},
		{"bow tie", ring(0, 0, 9, 9, 9, 0, 0, 9), Meetings{How: Cross, Edges: [2]int{0, 2}}},
		// 2^30 units to the right, the edge rises by one: the corner is a hair below it.
		{"off by a hair", ring(-400_000_000, 0, 400_000_001, 1, 400_000_001, 9, 1, 1, -400_000_000, 9), Meetings{}},
		{"nothing", nil, Meetings{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			steps := 1 << 20
			assert.Equal(t, c.want, Meet(moved(c.ring, far), &steps))
			if len(c.ring) > 0 {
				assert.Less(t, steps, 1<<20)
			}
		})
	}
	steps := 3
	assert.Equal(t, Meetings{How: Unclear}, Meet(ring(0, 0, 9, 0, 9, 9, 5, 0, 0, 9), &steps))
	assert.Negative(t, steps)
}

// The oracle looks at all pairs of edges.
func TestMeetFindsAll(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 1))
	var seen [3]int
	for range 20_000 {
		r := random(rng, 9, 7, 6)
		kept, _, _ := Trim(r)
		c := pick(r, kept)
		if len(c) < 3 {
			continue
		}
		edges := edgesOf([]plane.Ring{c})
		crosses := false
		touching := map[int]bool{}
		for i, e := range edges {
			for j, f := range edges {
				crosses = crosses || e.crosses(f)
				if i != j && e.a == f.a {
					touching[i] = true
				}
				if plane.Side(f.a, f.b, e.a) == plane.Straight && f.holds(e.a) {
					touching[i] = true
				}
			}
		}
		steps := math.MaxInt
		m := Meet(c, &steps)
		if crosses {
			require.Equal(t, Cross, m.How, "%v", c)
			require.True(t, edges[m.Edges[0]].crosses(edges[m.Edges[1]]))
		} else {
			require.Len(t, m.Corners, len(touching), "%v", c)
			for _, i := range m.Corners {
				require.True(t, touching[i], "%v", c)
			}
			require.Equal(t, len(touching) > 0, m.How == Touch)
		}
		seen[m.How]++
	}
	for how, n := range seen {
		assert.Greater(t, n, 100, "%d", how)
	}
}

func TestSplit(t *testing.T) {
	for _, c := range []struct {
		name         string
		ring         plane.Ring
		outer, inner [][]int
		crossing     int
	}{
		// |>·<|
		{"pinched", ring(0, 0, 5, 5, 9, 0, 9, 9, 5, 5, 0, 9), [][]int{{1, 2, 3}, {0, 1, 5}}, nil, -1},
		{"corner on an edge", ring(0, 0, 9, 0, 9, 9, 5, 0, 0, 9), [][]int{{1, 2, 3}, {0, 3, 4}}, nil, -1},
		{"slit to a hole", ring(0, 0, 9, 0, 9, 9, 0, 9, 0, 0, 2, 2, 2, 4, 4, 4, 4, 2, 2, 2),
			[][]int{{0, 1, 2, 3}}, [][]int{{5, 6, 7, 8}}, -1},
		{"hole at a corner", ring(0, 0, 9, 0, 9, 9, 0, 9, 0, 0, 2, 6, 6, 6, 6, 2), [][]int{{0, 1, 2, 3}}, [][]int{{0, 5, 6, 7}}, -1},
		{"slit to a hole with an island", ring(0, 0, 20, 0, 20, 20, 0, 20, 0, 0, 2, 2, 2, 18, 18, 18, 18, 2, 2, 2, 4, 4, 9, 4, 9, 9, 4, 9, 4, 4, 2, 2),
			[][]int{{0, 1, 2, 3}, {10, 11, 12, 13}}, [][]int{{5, 6, 7, 8}}, -1},
		// three squares hang on one corner
		{"three at a corner", ring(0, 0, 0, -5, 5, -5, 5, 0, 0, 0, 5, 2, 2, 5, 0, 0, -5, 5, -5, 0),
			[][]int{{0, 1, 2, 3}, {0, 5, 6}, {0, 8, 9}}, nil, -1},
		{"two sides along a line", ring(0, 0, 9, 0, 9, 9, 6, 9, 6, 0, 3, 0, 3, 9, 0, 9), [][]int{{1, 2, 3, 4}, {0, 5, 6, 7}}, nil, -1},
		{"out and back round a corner", ring(0, 0, 9, 0, 9, 9, 12, 12, 15, 9, 12, 12, 9, 9, 0, 9), [][]int{{0, 1, 2, 7}}, nil, -1},
		{"crosses at a corner", ring(0, 0, 10, 10, 20, 20, 20, 0, 10, 10, 0, 20), nil, nil, 1},
		{"goes round twice", ring(0, 0, 9, 0, 9, 9, 0, 0, 9, 0, 9, 9), nil, nil, 0},
		{"loops within itself", ring(0, 0, 9, 0, 9, 9, 0, 9, 0, 0, 6, 2, 6, 6, 2, 6), nil, nil, 0},
	} {
		for _, turned := range []bool{false, true} {
			t.Run(c.name, func(t *testing.T) {
				r := moved(c.ring, far)
				if turned {
					slices.Reverse(r)
				}
				steps := math.MaxInt
				m := Meet(r, &steps)
				require.Equal(t, Touch, m.How)
				outer, inner, crossing := Split(r, m)
				assert.Equal(t, c.crossing < 0, crossing < 0)
				if !turned {
					assert.Equal(t, c.outer, outer)
					assert.Equal(t, c.inner, inner)
					assert.Equal(t, c.crossing, crossing)
					return
				}
				straight := moved(c.ring, far)
				assert.Equal(t, placesOf(straight, c.outer), placesOf(r, outer))
				assert.Equal(t, placesOf(straight, c.inner), placesOf(r, inner))
			})
		}
	}
}

// placesOf are the corners of loops, in no order.
func placesOf(r plane.Ring, loops [][]int) (out []plane.Point) {
	for _, l := range loops {
		for _, i := range l {
			out = append(out, r[i])
		}
	}
	slices.SortFunc(out, func(p, q plane.Point) int {
		return cmp.Or(cmp.Compare(p.X, q.X), cmp.Compare(p.Y, q.Y))
	})
	return out
}

// A ring crosses itself where it winds around some place twice, or around one
// to the left and another to the right. If it does not, its loops hold the
// very ground that it winds around, and no two of their edges cross.
func TestSplitHoldsTheGround(t *testing.T) {
	const wide, high = 7, 6
	rng := rand.New(rand.NewPCG(3, 5))
	split, crossed := 0, 0
	for range 30_000 {
		r := random(rng, 9, wide, high)
		kept, _, _ := Trim(r)
		small := pick(r, kept)
		c := make(plane.Ring, len(small)) // so large that only corners on an edge are within half a unit of it
		for i, p := range small {
			c[i] = plane.Point{X: 100 * p.X, Y: 100 * p.Y}
		}
		steps := math.MaxInt
		m := Meet(c, &steps)
		if len(c) < 3 || m.How != Touch {
			continue
		}
		least, most := 0, 0
		places(wide, high, func(x, y float64) {
			n := winds(c, 100*x, 100*y)
			least, most = min(least, n), max(most, n)
		})
		outer, inner, crossing := Split(c, m)
		require.Equal(t, most-least > 1, crossing >= 0, "%v", c)
		if crossing >= 0 {
			crossed++
			require.Contains(t, m.Corners, crossing, "%v", c)
			continue
		}
		split++
		var loops []plane.Ring
		for _, l := range slices.Concat(outer, inner) {
			loops = append(loops, pick(c, l))
		}
		places(wide, high, func(x, y float64) {
			n := 0
			for i, l := range loops {
				in := winds(l, 100*x, 100*y)
				require.LessOrEqual(t, in*in, 1)
				if i < len(outer) {
					n += in * in
				} else {
					n -= in * in
				}
			}
			require.Equal(t, winds(c, 100*x, 100*y) != 0, n == 1, "%v at %v, %v", c, x, y)
		})
		for _, e := range edgesOf(loops) {
			for _, f := range edgesOf(loops) {
				require.False(t, e.crosses(f), "%v", c)
			}
		}
	}
	require.Greater(t, split, 300)
	require.Greater(t, crossed, 300)
}

func pick(r plane.Ring, corners []int) (out plane.Ring) {
	for _, i := range corners {
		out = append(out, r[i])
	}
	return out
}

func TestPolygons(t *testing.T) {
	for _, c := range []struct {
		name  string
		rings []plane.Ring
		parts []int // rings in each part
		area  plane.Area
		lost  int
	}{
		{"a square", []plane.Ring{ring(0, 0, 9, 0, 9, 9, 0, 9)}, []int{1}, 81, 0},
		{"places repeat", []plane.Ring{ring(0, 0, 0, 0, 9, 0, 9, 9, 9, 9, 0, 9, 0, 0)}, []int{1}, 81, 0},
		{"collapsed to a line", []plane.Ring{ring(0, 0, 9, 0, 5, 0)}, nil, 0, 1},
		{"collapsed to a point", []plane.Ring{ring(4, 4, 4, 4)}, nil, 0, 1},
		{"a spike", []plane.Ring{ring(0, 0, 9, 0, 9, 9, 9, 20, 9, 9, 0, 9)}, []int{1}, 81, 0},
		{"pinched in the middle", []plane.Ring{ring(0, 0, 5, 5, 9, 0, 9, 9, 5, 5, 0, 9)}, []int{1, 1}, 40, 0},
		{"closing on itself round a hole", []plane.Ring{ring(0, 0, 9, 0, 9, 9, 0, 9, 0, 0, 2, 6, 6, 6, 6, 2)}, []int{2}, 81 - 24, 0},
		{"a hole touching the shell in a corner", []plane.Ring{ring(0, 0, 9, 0, 9, 9, 0, 9), ring(0, 0, 2, 6, 6, 6, 6, 2)}, []int{2}, 81 - 24, 0},
		{"a hole touching twice", []plane.Ring{ring(0, 0, 9, 0, 9, 9, 0, 9), ring(0, 0, 2, 6, 9, 9, 6, 2)}, []int{1, 1}, 81 - 36, 0},
		{"a hole collapsed", []plane.Ring{ring(0, 0, 9, 0, 9, 9, 0, 9), ring(3, 3, 3, 5)}, []int{1}, 81, 1},
		{"a corner carried over an edge", []plane.Ring{ring(0, 0, 20, 0, 20, 9, 10, -1, 0, 9)}, []int{1, 1}, 81, 1},
		{"nothing", nil, nil, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			var rings []plane.Ring
			for _, r := range c.rings {
				rings = append(rings, moved(r, far))
			}
			parts, lost := Polygons(rings)
			var count []int
			var area plane.Area
			for _, p := range parts {
				count = append(count, 1+len(p.Holes))
				area += p.Area()
			}
			assert.Equal(t, c.parts, count)
			assert.Equal(t, c.area, area/2)
			assert.Equal(t, c.lost, lost)
			for i, r := range c.rings {
				assert.Equal(t, moved(r, far), rings[i], "what is given stays as it is")
			}
		})
	}
}

// polygon is a polygon with a hole or none, valid on a small grid.
func polygon(rng *rand.Rand, wide, high int) []plane.Ring {
	for {
		rings := []plane.Ring{random(rng, 11, wide, high)}
		if rng.IntN(3) == 0 {
			hole := random(rng, 4, 2+wide/3, 2+high/3)
			rings = append(rings, moved(hole, plane.Point{X: plane.Length(rng.IntN(wide)), Y: plane.Length(rng.IntN(high))}))
		}
		lines := make([]geom.LineString, len(rings))
		for i, r := range rings {
			if (r.Area() < 0) == (i == 0) {
				rings[i] = r.Reversed()
			}
			lines[i] = lineOf(r, plane.Point{})
		}
		if geom.NewPolygon(lines).Validate() == nil {
			return rings
		}
	}
}

// lineOf is a ring as simplefeatures has it.
func lineOf(r plane.Ring, origin plane.Point) geom.LineString {
	coords := make([]float64, 0, 2*len(r)+2)
	for _, p := range append(r[:len(r):len(r)], r[0]) {
		coords = append(coords, float64(p.X-origin.X), float64(p.Y-origin.Y))
	}
	return geom.NewLineString(geom.NewSequence(coords, geom.DimXY))
}

// requireValid checks what Polygons promises: valid polygons, shells
// anticlockwise and holes clockwise, no corner within half a unit of another
// edge, and nothing left to repair.
func requireValid(t *testing.T, parts []plane.Polygon, what any) {
	t.Helper()
	var polygons []geom.Polygon
	var all []plane.Ring
	for _, p := range parts {
		var lines []geom.LineString
		for i, r := range p.Rings() {
			lines = append(lines, lineOf(r, parts[0].Shell[0]))
			require.Equal(t, i == 0, r.Area() > 0, "%v", what)
			all = append(all, r)
		}
		polygons = append(polygons, geom.NewPolygon(lines))
	}
	require.NoError(t, geom.NewMultiPolygon(polygons).Validate(), "%v became %v", what, parts)
	for _, e := range edgesOf(all) {
		for _, f := range edgesOf(all) {
			require.False(t, e.near(f.a), "%v became %v", what, parts)
			require.False(t, e.crosses(f), "%v became %v", what, parts)
		}
	}
	for _, p := range parts {
		again, lost := Polygons(p.Rings())
		require.Zero(t, lost)
		require.Equal(t, ringsOf(p), ringsOf(again...), "%v became %v", what, parts)
	}
}

// ringsOf are the rings of polygons, each from its least corner on, in order.
func ringsOf(parts ...plane.Polygon) (out []plane.Ring) {
	less := func(p, q plane.Point) int { return cmp.Or(cmp.Compare(p.X, q.X), cmp.Compare(p.Y, q.Y)) }
	for _, p := range parts {
		for _, r := range p.Rings() {
			k := slices.Index(r, slices.MinFunc(r, less))
			out = append(out, slices.Concat(r[k:], r[:k]))
		}
	}
	slices.SortFunc(out, func(a, b plane.Ring) int { return slices.CompareFunc(a, b, less) })
	return out
}

// A polygon that is valid before it is rounded to a grid as coarse as itself,
// where coincidences are common, is valid after, and has changed its area by
// less than its edges can have moved.
func TestPolygonsOnASmallGrid(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 2))
	parted, holes, lost := 0, 0, 0
	for range 4000 {
		const finer = 8
		fine := polygon(rng, 9*finer, 6*finer)
		var coarse []plane.Ring
		var before, long float64
		for _, r := range fine {
			c := make(plane.Ring, len(r))
			for i, p := range r {
				c[i] = far.Add(plane.Point{X: (p.X + finer/2) / finer, Y: (p.Y + finer/2) / finer})
			}
			coarse = append(coarse, c)
			before += float64(r.Area()) / 2 / finer / finer
			long += float64(r.Length()) / finer
		}
		parts, n := Polygons(coarse)
		if len(parts) == 0 {
			lost++
			require.Positive(t, n)
			continue
		}
		requireValid(t, parts, coarse)
		if len(parts) > 1 {
			parted++
		}
		var after float64
		for _, p := range parts {
			after += float64(p.Area()) / 2
			holes += len(p.Holes)
		}
		// Once for the rounding, and for each of three cuts.
		require.InDelta(t, before, after, 4*math.Sqrt(0.5)*long, "%v", coarse)
	}
	require.Positive(t, parted)
	require.Positive(t, holes)
	require.Positive(t, lost)
}

// Rings wider than a plane are repaired on a coarser grid, and nowhere else do
// corners move.
func TestWideRings(t *testing.T) {
	const wide = 7 * plane.Reach
	square := moved(ring(0, 0, wide, 1, wide, 300, 1, 300), far)
	parts, lost := Polygons([]plane.Ring{square})
	require.Zero(t, lost)
	require.Len(t, parts, 1)
	for i, p := range parts[0].Shell {
		d := p.Sub(square[i])
		require.Less(t, max(d.X, -d.X), plane.Length(8))
		require.Zero(t, d.Y)
	}
	pinched := moved(ring(0, 0, wide/2, 50, wide, 0, wide, 100, wide/2, 50, 0, 100), far)
	parts, _ = Polygons([]plane.Ring{pinched})
	require.Len(t, parts, 2)
	requireValid(t, parts, pinched)
	steps := math.MaxInt
	m := Meet(pinched, &steps)
	require.Equal(t, Touch, m.How)
	outer, inner, crossing := Split(pinched, m)
	require.Equal(t, [][]int{{1, 2, 3}, {0, 1, 5}}, outer)
	require.Empty(t, inner)
	require.Negative(t, crossing)
	kept, repeats, spikes := Trim(append(pinched, pinched[0]))
	require.Len(t, kept, len(pinched))
	require.Equal(t, [2]int{1, 0}, [2]int{repeats, spikes})
}

func TestHalves(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	cuts := 0
	for range 2000 {
		var rings []plane.Ring
		for _, r := range polygon(rng, 2000, 900) {
			rings = append(rings, moved(r, far))
		}
		parts, _ := Polygons(rings)
		for _, p := range parts {
			x := far.X + plane.Length(rng.IntN(2000))
			west, east := Halves(p, x)
			var area plane.Area
			var length float64
			for _, half := range [][]plane.Polygon{west, east} {
				if len(half) > 0 {
					requireValid(t, half, p)
				}
				for _, q := range half {
					area += q.Area()
					for _, at := range q.Shell {
						require.True(t, at.X == x || (at.X < x) == (len(west) > 0 && &half[0] == &west[0]), "%v at %d", p, x)
					}
				}
			}
			for _, r := range p.Rings() {
				length += float64(r.Length())
			}
			require.InDelta(t, float64(p.Area()), float64(area), 2*math.Sqrt(0.5)*length)
			if len(west) > 0 && len(east) > 0 {
				cuts++
			}
		}
	}
	require.Greater(t, cuts, 500)
}

// The line that rings wider than a plane are cut along is where it was asked
// for.
func TestHalvesOfWideRings(t *testing.T) {
	const wide = 7 * plane.Reach
	p := plane.Polygon{Shell: moved(ring(0, 0, wide, 0, wide, 300, 0, 300), far)}
	x := far.X + 1_234_567_891
	west, east := Halves(p, x)
	require.Len(t, west, 1)
	require.Len(t, east, 1)
	assert.Equal(t, x, west[0].Shell.Bounds().Max.X)
	assert.Equal(t, x, east[0].Shell.Bounds().Min.X)
}

// Whatever the ring, what its trimming, its splitting and its repair promise
// holds.
func FuzzRings(f *testing.F) {
	f.Add([]byte{0, 0, 5, 5, 9, 0, 9, 9, 5, 5, 0, 9}, uint8(1))
	f.Add([]byte{0, 0, 9, 0, 9, 9, 0, 9, 0, 0, 2, 2, 2, 4, 4, 4, 4, 2, 2, 2}, uint8(3))
	f.Add([]byte{0, 0, 20, 0, 20, 9, 10, 255, 0, 9}, uint8(0))
	f.Add([]byte{0, 0, 255, 1, 255, 255, 128, 128, 1, 255}, uint8(60))
	f.Fuzz(func(t *testing.T, xy []byte, scale uint8) {
		step := plane.Length(1) << (scale % 36) // up to 137 degrees
		var r plane.Ring
		for i := 0; i+1 < min(len(xy), 80); i += 2 {
			r = append(r, far.Add(plane.Point{X: plane.Length(xy[i]) * step, Y: plane.Length(int8(xy[i+1])) * step}))
		}
		parts, lost := Polygons([]plane.Ring{r})
		require.True(t, len(parts) > 0 || lost > 0)
		if len(parts) > 0 && step <= 1<<20 { // wider ones are judged on a coarser grid
			requireValid(t, parts, r)
		}
		kept, _, _ := Trim(r)
		c := pick(r, kept)
		steps := 1 << 20
		m := Meet(c, &steps)
		if len(c) < 3 || m.How != Touch {
			return
		}
		outer, inner, crossing := Split(c, m)
		require.Less(t, crossing, len(c))
		for _, loop := range slices.Concat(outer, inner) {
			require.GreaterOrEqual(t, len(loop), 3)
			steps := 1 << 20
			if step <= 1<<20 {
				require.Equal(t, Apart, Meet(pick(c, loop), &steps).How, "%v", c)
			}
		}
	})
}
