package near_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// drawn are the edges of the tables, 10 ticks a column and a line:
//
//	y
//	40     e-----f          e to f, and back beside it
//	30
//	20  a-----b      d
//	10               |
//	 0               c
//	    0    30     80   x
var drawn = []near.Edge{
	{AX: 0, AY: 20, BX: 30, BY: 20}, // a, b
	{AX: 80, AY: 0, BX: 80, BY: 20}, // c, d
	{AX: 10, AY: 40, BX: 50, BY: 40},
	{AX: 50, AY: 42, BX: 10, BY: 42},
}

// sizes makes an index of the drawn edges alone, which are few, and one of
// them among so many others, far away, that it has two levels of boxes.
func sizes(t *testing.T, f func(t *testing.T, n *near.Index)) {
	for _, others := range []int{0, 500} {
		t.Run(fmt.Sprintf("others=%d", others), func(t *testing.T) {
			edges := slices.Clone(drawn)
			for k := range others {
				x := 1e6 + 1e3*float64(k)
				edges = append(edges, near.Edge{AX: x, AY: -1e6, BX: x + 500, BY: -1e6})
			}
			n := near.New(edges)
			f(t, &n)
		})
	}
}

func TestNearestDrawn(t *testing.T) {
	sizes(t, func(t *testing.T, n *near.Index) {
		for _, c := range []struct {
			name     string
			x, y     float64
			most     float64
			edge     near.Edge // the zero edge: none
			px, py   float64
			distance float64
		}{
			{"beside the middle of a, b", 12, 13, 1e3, drawn[0], 12, 20, 7},
			{"past b, the end is nearest", 33, 24, 1e3, drawn[0], 30, 20, 5},
			{"before a", -3, 16, 1e3, drawn[0], 0, 20, 5},
			{"on c, d", 80, 7, 1e3, drawn[1], 80, 7, 0},
			{"above both e, f, the way back is nearer", 30, 45, 1e3, drawn[3], 30, 42, 3},
			{"just out of reach", 12, 13, 7, near.Edge{}, 0, 0, 7},
			{"just in reach", 12, 13, 7.001, drawn[0], 12, 20, 7},
		} {
			got := n.Nearest(c.x, c.y, c.most*c.most)
			if c.edge == (near.Edge{}) {
				assert.Nil(t, got.Edge, c.name)
				assert.Equal(t, c.most*c.most, got.D2, c.name)
				continue
			}
			if assert.NotNil(t, got.Edge, c.name) {
				assert.Equal(t, c.edge, *got.Edge, c.name)
				assert.Equal(t, [3]float64{c.px, c.py, c.distance * c.distance}, [3]float64{got.X, got.Y, got.D2}, c.name)
			}
		}
	})
}

func TestIndexAroundDrawn(t *testing.T) {
	sizes(t, func(t *testing.T, n *near.Index) {
		for _, c := range []struct {
			name   string
			x, y   float64
			within float64
			want   []near.Edge
		}{
			{"beside a, b", 12, 13, 10, drawn[:1]},
			{"at that very distance is not nearer", 12, 13, 7, nil},
			{"e, f and the way back", 30, 45, 6, drawn[2:]},
			{"all but those far away", 30, 20, 60, drawn},
			{"nothing is nearer than nothing", 12, 20, 0, nil},
		} {
			got := slices.Collect(n.Around(c.x, c.y, c.within))
			var edges []near.Edge
			for _, e := range got {
				edges = append(edges, *e)
			}
			assert.ElementsMatch(t, c.want, edges, c.name)
		}
		count := 0
		for range n.Around(30, 20, 60) {
			if count++; count == 2 {
				break
			}
		}
		assert.Equal(t, 2, count, "who has seen enough is shown no more")
	})
}

func TestCastDrawn(t *testing.T) {
	inf := math.Inf(1)
	sizes(t, func(t *testing.T, n *near.Index) {
		for _, c := range []struct {
			name     string
			ray      near.Ray
			distance float64
			leaves   bool
		}{
			// c to d runs north: what comes from the west comes from its left.
			{"east through c, d", near.Ray{X: 20, Y: 10, DX: 1}, 60, true},
			{"west through c, d", near.Ray{X: 95, Y: 10, DX: -1}, 15, false},
			{"east, above d", near.Ray{X: 20, Y: 21, DX: 1}, inf, false},
			// a to b runs east: what comes from the south comes from its right.
			{"north through a, b first", near.Ray{X: 20, Y: 0, DY: 1}, 20, false},
			{"north from beyond it", near.Ray{X: 20, Y: 0, DY: 1, Beyond: 20}, 40, false},
			{"north from beyond the first of e, f", near.Ray{X: 20, Y: 0, DY: 1, Beyond: 41}, 42, true},
			{"it does not look back", near.Ray{X: 20, Y: 50, DY: 1}, inf, false},
			{"aslant, to the middle of c, d", near.Ray{X: 72, Y: 4, DX: 0.8, DY: 0.6}, 10, true},
			{"along a, b, on to d, which counts as above it", near.Ray{X: -10, Y: 20, DX: 1}, 90, true},
			{"west from there", near.Ray{X: 100, Y: 20, DX: -1}, inf, false},
		} {
			got := n.Cast(&c.ray)
			assert.InDelta(t, 0, diff(c.distance, float64(got.Distance)), 1e-9, c.name)
			assert.Equal(t, c.leaves, got.Leaves, c.name)
		}
	})
}

// diff is a - b, and 0 for two infinities.
func diff(a, b float64) float64 {
	if a == b {
		return 0
	}
	return a - b
}

// The line runs from west to east through y = 10.
//
//	20  a-----b
//	10 ---------------+---------   3-4-5: 5 from c, d is 3 beside it at 4 below d's end
//	 0               c to d
func TestIntervalsDrawn(t *testing.T) {
	sizes(t, func(t *testing.T, n *near.Index) {
		for _, c := range []struct {
			name string
			from plane.Point
			to   plane.Point
			most float64
			want []near.Interval
		}{
			{"nothing is so near", plane.Point{X: -50, Y: 10}, plane.Point{X: 60, Y: 10}, 9, nil},
			{"beside a, b", plane.Point{X: -50, Y: 20}, plane.Point{X: 60, Y: 20}, 5, []near.Interval{{From: 45, To: 85}}},
			{"from a's round end to b's", plane.Point{X: -50, Y: 16}, plane.Point{X: 60, Y: 16}, 5, []near.Interval{{From: 47, To: 83}}},
			{"through c, d", plane.Point{X: 0, Y: 10}, plane.Point{X: 100, Y: 10}, 5, []near.Interval{{From: 75, To: 85}}},
			{"below c, d", plane.Point{X: 0, Y: -3}, plane.Point{X: 100, Y: -3}, 5, []near.Interval{{From: 76, To: 84}}},
			{"a, b and then c, d", plane.Point{X: 0, Y: 12}, plane.Point{X: 100, Y: 12}, 10, []near.Interval{{From: 0, To: 36}, {From: 70, To: 90}}},
			{"beside one end only", plane.Point{X: 10, Y: 20}, plane.Point{X: 20, Y: 20}, 5, []near.Interval{{From: 0, To: 10}}},
			{"two that lap are one", plane.Point{X: 0, Y: 41}, plane.Point{X: 60, Y: 41}, 1, []near.Interval{{From: 10, To: 50}}},
			// Less than a tick before c, d and after it: the whole line.
			{"ends are closed up", plane.Point{X: 75, Y: 10}, plane.Point{X: 85, Y: 10}, 4.5, []near.Interval{{From: 0, To: 10}}},
		} {
			l := near.LineOf(c.from, c.to)
			got := n.Intervals(&l, c.most)
			if assert.Len(t, got, len(c.want), c.name) {
				for i := range got {
					assert.InDelta(t, c.want[i].From, got[i].From, 1e-9, c.name)
					assert.InDelta(t, c.want[i].To, got[i].To, 1e-9, c.name)
				}
			}
		}
	})
}

func TestHolds(t *testing.T) {
	//	0   |---|   |       ---
	//	    1   2   4     6 and on
	list := []near.Interval{{From: 1, To: 2}, {From: 4, To: 4}, {From: 6, To: math.Inf(1)}}
	for _, c := range []struct {
		t    float64
		want bool
	}{{0, false}, {1, true}, {1.5, true}, {2, true}, {3, false}, {4, true}, {5, false}, {6, true}, {1e9, true}} {
		assert.Equal(t, c.want, near.Holds(list, c.t), "%v", c.t)
	}
	assert.False(t, near.Holds(nil, 0))
}

func TestClip(t *testing.T) {
	for _, c := range []struct {
		name       string
		a, b       float64
		want       near.Interval
		emptyAfter bool
	}{
		{"t ≥ 3", -3, 1, near.Interval{From: 3, To: 10}, false},
		{"t ≤ 4", 8, -2, near.Interval{From: 0, To: 4}, false},
		{"always", 1, 0, near.Interval{From: 0, To: 10}, false},
		{"never", -1, 0, near.Interval{}, true},
		{"t ≥ 11", -11, 1, near.Interval{}, true},
	} {
		i := near.Interval{From: 0, To: 10}
		i.Clip(c.a, c.b)
		if c.emptyAfter {
			assert.Greater(t, i.From, i.To, c.name)
		} else {
			assert.Equal(t, c.want, i, c.name)
		}
	}
}

// A line's own coordinates, and back.
//
//	   to
//	  /   . p: 5 along, 2 to the right
//	from
func TestLine(t *testing.T) {
	l := near.LineOf(plane.Point{X: 10, Y: 20}, plane.Point{X: 40, Y: 60})
	assert.Equal(t, near.Line{X: 10, Y: 20, DX: 0.6, DY: 0.8, Length: 50}, l)
	x, y := l.At(5)
	assert.InDelta(t, 13, x, 1e-12)
	assert.InDelta(t, 24, y, 1e-12)
	along, left := l.Local(13+2*0.8, 24-2*0.6)
	assert.InDelta(t, 5, along, 1e-12)
	assert.InDelta(t, -2, left, 1e-12)
}

// random makes edges of all lengths anywhere within 100 m.
func random(rng *rand.Rand) (edges []near.Edge) {
	edges = make([]near.Edge, rng.IntN(900))
	reach := math.Pow(10, 1+5*rng.Float64())
	for i := range edges {
		x, y := anywhere(rng), anywhere(rng)
		edges[i] = near.Edge{AX: x, AY: y, BX: x + math.Ceil(reach*rng.Float64()), BY: y + math.Floor(reach*(rng.Float64()-0.5))}
	}
	return edges
}

func anywhere(rng *rand.Rand) float64 { return math.Floor(2e6*rng.Float64() - 1e6) }

// What the index finds is what going through all edges one by one finds, by
// formulas of their own.
func TestIndexAgainstBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	found, beside, seen, parts := 0, 0, 0, 0
	for range 60 {
		edges := random(rng)
		n := near.New(slices.Clone(edges))
		for range 100 {
			x, y, most := anywhere(rng), anywhere(rng), 2e6*math.Pow(rng.Float64(), 3)
			want := most
			for _, e := range edges {
				want = min(want, toSegment(e, x, y))
			}
			got := n.Nearest(x, y, most*most)
			if want < most {
				found++
			}
			assert.InDelta(t, want, math.Sqrt(got.D2), 1e-6)
			if got.Edge != nil {
				assert.InDelta(t, want, math.Hypot(got.X-x, got.Y-y), 1e-6)
				assert.Contains(t, edges, *got.Edge)
			}

			around := map[near.Edge]int{}
			for e := range n.Around(x, y, most) {
				around[*e]++
			}
			for _, e := range edges {
				if d := toSegment(e, x, y); math.Abs(d-most) > 1e-6 {
					times := 0
					if d < most {
						times = 1
						beside++
					}
					if around[e] != times {
						t.Errorf("an edge %v from %v, %v was shown %d times, within %v", d, x, y, around[e], most)
					}
				}
			}

			sin, cos := math.Sincos(7 * rng.Float64())
			ray := near.Ray{X: x, Y: y, DX: cos, DY: sin, Beyond: 100}
			first := math.Inf(1)
			var across near.Edge
			for _, e := range edges {
				if d := crossedAt(e, &ray); d > float64(ray.Beyond) && d < first {
					first, across = d, e
				}
			}
			hit := n.Cast(&ray)
			assert.InDelta(t, 0, diff(first, float64(hit.Distance)), 1e-6*max(1, min(first, 1e6)))
			if first < math.Inf(1) {
				seen++
				leaves := (across.BX-across.AX)*sin-(across.BY-across.AY)*cos < 0 // the ray goes to its right
				assert.Equal(t, leaves, hit.Leaves)
			}

			l := near.Line{X: x, Y: y, DX: cos, DY: sin, Length: 1e5}
			within := 1e5 * rng.Float64()
			intervals := n.Intervals(&l, within)
			for range 20 { // whether places of the line are in them
				along := l.Length * plane.Distance(rng.Float64())
				px, py := l.At(along)
				d := math.Inf(1)
				for _, e := range edges {
					d = min(d, toSegment(e, px, py))
				}
				if math.Abs(d-within) > 2 { // what is left between two, less than a tick, is closed up
					assert.Equal(t, d < within, near.Holds(intervals, float64(along)))
					parts++
				}
			}
			for k := 1; k < len(intervals); k++ {
				assert.Less(t, intervals[k-1].To, intervals[k].From, "in order, and apart")
			}
		}
	}
	assert.Greater(t, found, 1000)
	assert.Greater(t, beside, 1000)
	assert.Greater(t, seen, 1000)
	assert.Greater(t, parts, 1000)
}

// toSegment is the distance from x, y to an edge: to its line where the foot is
// on the edge, else to the nearer end.
func toSegment(e near.Edge, x, y float64) float64 {
	l := math.Hypot(e.BX-e.AX, e.BY-e.AY)
	toA, toB := math.Hypot(x-e.AX, y-e.AY), math.Hypot(x-e.BX, y-e.BY)
	foot := ((x-e.AX)*(e.BX-e.AX) + (y-e.AY)*(e.BY-e.AY)) / l
	if !(foot > 0 && foot < l) {
		return min(toA, toB)
	}
	return math.Abs((x-e.AX)*(e.BY-e.AY)-(y-e.AY)*(e.BX-e.AX)) / l
}

// crossedAt is how far along a ray it crosses an edge, by Cramer's rule; +Inf
// where it does not.
func crossedAt(e near.Edge, r *near.Ray) float64 {
	ex, ey := e.BX-e.AX, e.BY-e.AY
	det := ex*r.DY - ey*r.DX
	along := ((e.AY-r.Y)*ex - (e.AX-r.X)*ey) / det
	share := ((e.AY-r.Y)*r.DX - (e.AX-r.X)*r.DY) / det
	if !(share >= 0 && share <= 1 && along > 0) {
		return math.Inf(1)
	}
	return along
}

// A shift of all by whole ticks changes no answer.
func TestIndexShifts(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 6))
	for range 40 {
		edges := random(rng)
		dx, dy := 7*anywhere(rng), 7*anywhere(rng)
		shifted := make([]near.Edge, len(edges))
		for i, e := range edges {
			shifted[i] = near.Edge{AX: e.AX + dx, AY: e.AY + dy, BX: e.BX + dx, BY: e.BY + dy}
		}
		n, m := near.New(edges), near.New(shifted)
		for range 50 {
			x, y := anywhere(rng), anywhere(rng)
			a, b := n.Nearest(x, y, math.Inf(1)), m.Nearest(x+dx, y+dy, math.Inf(1))
			assert.InDelta(t, 0, diff(a.D2, b.D2), 1e-9*min(a.D2, 1e300))
			sin, cos := math.Sincos(7 * rng.Float64())
			h := n.Cast(&near.Ray{X: x, Y: y, DX: cos, DY: sin})
			assert.InDelta(t, 0, diff(float64(h.Distance), float64(m.Cast(&near.Ray{X: x + dx, Y: y + dy, DX: cos, DY: sin}).Distance)), 1e-6)
			l, k := near.Line{X: x, Y: y, DX: cos, DY: sin, Length: 1e5}, near.Line{X: x + dx, Y: y + dy, DX: cos, DY: sin, Length: 1e5}
			assert.Equal(t, len(n.Intervals(&l, 5e4)), len(m.Intervals(&k, 5e4)))
		}
	}
}

// The zero index holds nothing, and says so.
func TestEmptyIndex(t *testing.T) {
	for _, n := range []near.Index{{}, near.New(nil)} {
		assert.Nil(t, n.Nearest(0, 0, math.Inf(1)).Edge)
		assert.Empty(t, slices.Collect(n.Around(0, 0, math.Inf(1))))
		assert.Equal(t, near.Hit{Distance: plane.Distance(math.Inf(1))}, n.Cast(&near.Ray{DX: 1}))
		assert.Empty(t, n.Intervals(&near.Line{DX: 1, Length: 1e3}, 1e6))
	}
}
