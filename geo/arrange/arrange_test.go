package arrange_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// depth labels ground by how many layers lie over it.
func depth(under []int) arrange.Label { return arrange.Label(len(under)) }

// rect is the anticlockwise rectangle from x0, y0 to x1, y1.
func rect(x0, y0, x1, y1 plane.Length) plane.Ring {
	return plane.Ring{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}
}

// ticks is an area of n square ticks.
func ticks(n int) plane.Area { return plane.Area(2 * n) }

func byDepth(a *arrange.Arrangement) map[int]plane.Area {
	out := map[int]plane.Area{}
	for _, c := range a.Covers {
		out[len(c.Under)] += c.Area
	}
	return out
}

func TestCut(t *testing.T) {
	for _, tc := range []struct {
		name   string
		layers []arrange.Layer
		want   map[int]plane.Area
		faces  int
	}{
		{"nothing", nil, map[int]plane.Area{}, 0},
		{"one square", []arrange.Layer{{rect(0, 0, 10, 10)}}, map[int]plane.Area{1: ticks(100)}, 1},
		{"clockwise counts for nothing", []arrange.Layer{{rect(0, 0, 10, 10).Reversed()}}, map[int]plane.Area{}, 0},
		{"a ring without ground", []arrange.Layer{{{{X: 0, Y: 0}, {X: 5, Y: 5}}}}, map[int]plane.Area{}, 0},
		{"twice in one layer", []arrange.Layer{{rect(0, 0, 10, 10), rect(0, 0, 10, 10)}}, map[int]plane.Area{1: ticks(100)}, 1},
		{"twice in two layers", []arrange.Layer{{rect(0, 0, 10, 10)}, {rect(0, 0, 10, 10)}}, map[int]plane.Area{2: ticks(100)}, 1},
		//	+-----+
		//	|  +--|--+
		//	+--|--+  |
		//	   +-----+
		{"corner on corner", []arrange.Layer{{rect(0, 5, 10, 15)}, {rect(5, 0, 15, 10)}}, map[int]plane.Area{1: ticks(150), 2: ticks(25)}, 3},
		{"side by side", []arrange.Layer{{rect(0, 0, 10, 10)}, {rect(10, 0, 20, 10)}}, map[int]plane.Area{1: ticks(200)}, 1},
		{"corner to corner", []arrange.Layer{{rect(0, 0, 10, 10)}, {rect(10, 10, 20, 20)}}, map[int]plane.Area{1: ticks(200)}, 2},
		{"a hole", []arrange.Layer{{rect(0, 0, 10, 10), rect(3, 3, 7, 7).Reversed()}}, map[int]plane.Area{1: ticks(84)}, 1},
		{"an island in another layer", []arrange.Layer{{rect(0, 0, 10, 10)}, {rect(3, 3, 7, 7)}}, map[int]plane.Area{1: ticks(84), 2: ticks(16)}, 2},
		{"a hole that touches the shell", []arrange.Layer{{rect(0, 0, 10, 10), {{X: 0, Y: 5}, {X: 5, Y: 8}, {X: 5, Y: 2}}}}, map[int]plane.Area{1: ticks(85)}, 1},
		{"a bow-tie: only its anticlockwise half is under", []arrange.Layer{{{{X: 0, Y: 0}, {X: 10, Y: 10}, {X: 10, Y: 0}, {X: 0, Y: 10}}}}, map[int]plane.Area{1: ticks(25)}, 1},
	} {
		t.Run(tc.name, func(t *testing.T) {
			a := arrange.Cut(tc.layers, depth)
			assert.Equal(t, tc.want, byDepth(a))
			assert.Len(t, a.Faces, tc.faces)
			walk(t, tc.layers, a)
		})
	}
}

// Small integers make every coincidence there is common: shared corners,
// edges along edges, corners on edges, rings that repeat.
func TestRandomRectanglesAgainstCounting(t *testing.T) {
	for seed := range uint64(3000) {
		rng := rand.New(rand.NewPCG(seed, 1))
		const side = 12
		var layers []arrange.Layer
		var count [side][side]int
		for range 1 + rng.IntN(5) {
			var l arrange.Layer
			var wound [side][side]int
			for range 1 + rng.IntN(4) {
				x0, y0 := rng.IntN(side), rng.IntN(side)
				x1, y1 := x0+1+rng.IntN(side-x0), y0+1+rng.IntN(side-y0)
				r, turn := rect(plane.Length(x0), plane.Length(y0), plane.Length(x1), plane.Length(y1)), 1
				if rng.IntN(4) == 0 {
					r, turn = r.Reversed(), -1
				}
				l = append(l, r)
				for x := x0; x < x1; x++ {
					for y := y0; y < y1; y++ {
						wound[x][y] += turn
					}
				}
			}
			layers = append(layers, l)
			for x := range side {
				for y := range side {
					if wound[x][y] > 0 {
						count[x][y]++
					}
				}
			}
		}
		want := map[int]plane.Area{}
		for x := range side {
			for y := range side {
				if count[x][y] > 0 {
					want[count[x][y]] += ticks(1)
				}
			}
		}
		a := arrange.Cut(layers, depth)
		require.Equal(t, want, byDepth(a), "seed %d", seed)
		walk(t, layers, a)
	}
}

func randomLayers(rng *rand.Rand, side int) []arrange.Layer {
	var layers []arrange.Layer
	for range 1 + rng.IntN(6) {
		var l arrange.Layer
		for range 1 + rng.IntN(3) {
			r := make(plane.Ring, 2+rng.IntN(7))
			for i := range r {
				r[i] = plane.Point{X: plane.Length(rng.IntN(side) - side/2), Y: plane.Length(rng.IntN(side) - side/2)}
			}
			l = append(l, r)
		}
		layers = append(layers, l)
	}
	return layers
}

func TestRandomRings(t *testing.T) {
	for _, side := range []int{4, 9, 30, 1000, 1_000_000, 999_999_999} {
		t.Run(fmt.Sprint(side), func(t *testing.T) {
			for seed := range uint64(3000) {
				layers := randomLayers(rand.New(rand.NewPCG(seed, uint64(side))), side)
				a := arrange.Cut(layers, depth)
				walk(t, layers, a)
				if t.Failed() {
					t.Fatalf("seed %d: %v", seed, layers)
				}
			}
		})
	}
}

// walk checks everything that must hold of an arrangement: faces are valid,
// disjoint, and share their edges; their areas are those of the covers.
func walk(t *testing.T, layers []arrange.Layer, a *arrange.Arrangement) {
	t.Helper()
	type edge struct{ p, q plane.Point }
	left := map[edge]arrange.Label{} // of the ground left of each directed edge
	across := map[edge]arrange.Label{}
	area := map[arrange.Label]plane.Area{}
	for _, c := range a.Covers {
		area[c.Label] += c.Area
		if c.Area <= 0 {
			t.Errorf("cover %v has area %d", c.Under, c.Area)
		}
		if !slices.IsSorted(c.Under) {
			t.Errorf("cover %v is not rising", c.Under)
		}
	}
	got := map[arrange.Label]plane.Area{}
	for _, f := range a.Faces {
		if f.Shape.Shell.Area() <= 0 {
			t.Errorf("shell %v is not anticlockwise", f.Shape.Shell)
		}
		if is := f.Shape.Area(); f.Area != is {
			t.Errorf("the area of %v is said to be %d and is %d", f.Shape, f.Area, is)
		}
		got[f.Label] += f.Area
		for i, r := range f.Shape.Rings() {
			if i > 0 && r.Area() >= 0 {
				t.Errorf("hole %v is not clockwise", r)
			}
			seen := map[plane.Point]bool{}
			for j, p := range r {
				if seen[p] {
					t.Errorf("ring %v meets %v twice", r, p)
				}
				seen[p] = true
				e := edge{p, r[(j+1)%len(r)]}
				if _, ok := left[e]; ok {
					t.Errorf("two faces claim the left of %v", e)
				}
				left[e] = f.Label
				across[e] = f.Across[i][j]
			}
		}
	}
	delete(area, arrange.None)
	if !assert.Equal(t, area, got, "areas of covers and of faces") {
		return
	}
	for e, l := range left {
		other := left[edge{e.q, e.p}] // None where no face is
		if other == l {
			t.Errorf("%v has the same label on both sides", e)
		}
		if across[e] != other {
			t.Errorf("across %v is said to be %v and is %v", e, across[e], other)
		}
	}
	if len(left) < 400 { // no two edges cross or lie on each other, no corner lies on an edge
		edges := make([]edge, 0, len(left))
		for e := range left {
			if _, ok := left[edge{e.q, e.p}]; !ok || e.p.Less(e.q) {
				edges = append(edges, e)
			}
		}
		for i, e := range edges {
			for _, f := range edges[i+1:] {
				if meet(e.p, e.q, f.p, f.q) {
					t.Errorf("edges %v and %v meet off their ends", e, f)
				}
			}
		}
	}
}

// meet reports whether ab and cd share a point that is not an end of both.
func meet(a, b, c, d plane.Point) bool {
	on := func(p, q, r plane.Point) bool { // r inside pq
		return r != p && r != q && plane.Side(p, q, r) == plane.Straight &&
			min(p.X, q.X) <= r.X && r.X <= max(p.X, q.X) && min(p.Y, q.Y) <= r.Y && r.Y <= max(p.Y, q.Y)
	}
	if on(a, b, c) || on(a, b, d) || on(c, d, a) || on(c, d, b) {
		return true
	}
	return plane.Side(a, b, c)*plane.Side(a, b, d) < 0 && plane.Side(c, d, a)*plane.Side(c, d, b) < 0
}
