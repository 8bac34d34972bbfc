package arrange_test

import (
	"fmt"
	"maps"
	"math"
	"math/big"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lapwing/coverage/covertest"
	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// Snapping bends an edge by less than √½ tick, so that what is bounded by
// edges of total length L changes by less than L × √½ square ticks (see the
// package's doc). Rational arithmetic without any rounding says what the areas
// are before snapping.
func TestAreasAgainstExact(t *testing.T) {
	for _, g := range generators {
		t.Run(g.name, func(t *testing.T) {
			worst, moved, cases := 0.0, 0, g.cases
			if os.Getenv("LAPWING_LONG") == "" {
				cases /= 4
			}
			for seed := range cases {
				layers := g.layers(rand.New(rand.NewPCG(seed, 21)))
				bound := edgeLength(layers) * math.Sqrt2 / 2
				off := largestError(arrange.Areas(layers), covertest.ExactSets(layers))
				if off > 0 {
					moved++
					worst = max(worst, off/bound)
				}
				require.True(t, off == 0 || off < bound, "seed %d: an area is off by %g square ticks, the bound is %g: %v", seed, off, bound, layers)
				if !bends(layers) {
					require.Zero(t, off, "seed %d: nothing bends, yet an area is off: %v", seed, layers)
				}
			}
			t.Logf("%d of %d cases moved, at most by %.3g of the bound", moved, cases, worst)
		})
	}
}

// Where corners and crossings are on the grid and no edge passes near one it
// does not meet, nothing bends and every area is exact.
func TestAreasAreExactWhereNothingBends(t *testing.T) {
	still := 0
	cases := 1500
	if os.Getenv("LAPWING_LONG") == "" {
		cases = 500
	}
	for seed := range uint64(cases) {
		rng := rand.New(rand.NewPCG(seed, 22))
		layers := octilinear(rng)
		if seed%2 == 0 {
			layers = randomLayers(rng, 4)
		}
		if bends(layers) {
			require.Equal(t, uint64(0), seed%2, "seed %d: edges in eight directions between even points never bend", seed)
			continue
		}
		still++
		require.Zero(t, largestError(arrange.Areas(layers), covertest.ExactSets(layers)), "seed %d: %v", seed, layers)
	}
	require.Greater(t, still, cases/2)
}

// A generator makes random layers whose exact areas can still be found in
// milliseconds.
type generator struct {
	name   string
	cases  uint64
	layers func(rng *rand.Rand) []arrange.Layer
}

var generators = []generator{
	{"tiny grid", 3000, func(rng *rand.Rand) []arrange.Layer { return fewRings(rng, 5) }},
	{"small grid", 1000, func(rng *rand.Rand) []arrange.Layer { return fewRings(rng, 20) }},
	{"a decimetre", 500, func(rng *rand.Rand) []arrange.Layer { return fewRings(rng, 1000) }},
	{"a field", 500, func(rng *rand.Rand) []arrange.Layer { return fewRings(rng, 8_000_000) }},
	{"to the end of the grid", 500, func(rng *rand.Rand) []arrange.Layer { return fewRings(rng, 999_999_999) }},
	{"nearly parallel, short", 2000, func(rng *rand.Rand) []arrange.Layer { return slivers(rng, 60) }},
	{"nearly parallel, 800 m", 2000, func(rng *rand.Rand) []arrange.Layer { return slivers(rng, 4_000_000) }},
	{"swaths with edges a tick apart", 1000, nearSwaths},
}

// fewRings are layers of a dozen edges or so on a grid of side points: rational
// arithmetic takes time with the cube of their number.
func fewRings(rng *rand.Rand, side int) []arrange.Layer {
	var layers []arrange.Layer
	for range 1 + rng.IntN(4) {
		var l arrange.Layer
		for range 1 + rng.IntN(2) {
			r := make(plane.Ring, 3+rng.IntN(3))
			for i := range r {
				r[i] = plane.Point{X: plane.Length(rng.IntN(side) - side/2), Y: plane.Length(rng.IntN(side) - side/2)}
			}
			l = append(l, r)
		}
		layers = append(layers, l)
	}
	return layers
}

// slivers are layers whose long edges all run from the west to the east and
// lie within a few ticks of one another.
func slivers(rng *rand.Rand, half int) []arrange.Layer {
	end := func(x int) plane.Point {
		return plane.Point{X: plane.Length(x + rng.IntN(3)), Y: plane.Length(rng.IntN(5))}
	}
	var layers []arrange.Layer
	for range 2 + rng.IntN(4) {
		layers = append(layers, arrange.Layer{{end(-half), end(half), end(half), end(-half)}})
	}
	return layers
}

// nearSwaths are swaths of 100 m × 6 m in one direction whose sides are at the
// same place but for a tick or two, as two drives in the same tracks leave.
func nearSwaths(rng *rand.Rand) []arrange.Layer {
	angle := 2 * math.Pi * rng.Float64()
	sin, cos := math.Sincos(angle)
	at := func(u, v float64) plane.Point {
		return plane.Point{
			X: plane.Round(u*cos-v*sin) + plane.Length(rng.IntN(3)-1),
			Y: plane.Round(u*sin+v*cos) + plane.Length(rng.IntN(3)-1),
		}
	}
	var layers []arrange.Layer
	for range 2 + rng.IntN(4) {
		v := float64(rng.IntN(2)) * 60_000
		layers = append(layers, arrange.Layer{{at(0, v), at(1e6, v), at(1e6, v+60_000), at(0, v+60_000)}})
	}
	return layers
}

// octilinear are rings of squares and diamonds between even points: all that
// cross do so on the grid, and a point that is not on an edge is more than a
// tick from it.
func octilinear(rng *rand.Rand) []arrange.Layer {
	even := func(n int) plane.Length { return plane.Length(2 * rng.IntN(n)) }
	var layers []arrange.Layer
	for range 1 + rng.IntN(5) {
		var l arrange.Layer
		for range 1 + rng.IntN(3) {
			x, y, r := even(12), even(12), 2+even(6)
			if rng.IntN(2) == 0 {
				l = append(l, rect(x, y, x+r, y+2+even(6)))
			} else {
				l = append(l, plane.Ring{{X: x, Y: y - r}, {X: x + r, Y: y}, {X: x, Y: y + r}, {X: x - r, Y: y}})
			}
			if rng.IntN(4) == 0 {
				l[len(l)-1] = l[len(l)-1].Reversed()
			}
		}
		layers = append(layers, l)
	}
	return layers
}

func edgeLength(layers []arrange.Layer) float64 {
	var sum float64
	for _, l := range layers {
		for _, r := range l {
			sum += float64(r.Length())
		}
	}
	return sum
}

// largestError returns by how many square ticks the area of some combination
// of layers is off, at most.
func largestError(got []arrange.Cover, want map[string]*big.Rat) float64 {
	off := maps.Clone(want)
	for _, c := range got {
		k := key(c.Under)
		diff := big.NewRat(int64(c.Area), 2)
		if w := want[k]; w != nil {
			diff.Sub(w, diff)
		}
		off[k] = diff
	}
	worst := 0.0
	for _, diff := range off {
		f, _ := diff.Float64()
		worst = max(worst, math.Abs(f))
	}
	return worst
}

// key writes a combination of layers as [covertest.ExactSets] does.
func key(under []int) string { return strings.Trim(fmt.Sprint(under), "[]") }

// bends reports whether an edge passes within half a tick, east and north, of
// a corner or crossing that is not on it, or crosses another off the grid. It
// asks this of rationals, and not as the arrangement does.
func bends(layers []arrange.Layer) bool {
	type edge struct{ a, b plane.Point }
	var edges []edge
	hot := map[plane.Point]bool{}
	for _, l := range layers {
		for _, r := range l {
			for i, a := range r {
				hot[a] = true
				if b := r[(i+1)%len(r)]; a != b {
					edges = append(edges, edge{a, b})
				}
			}
		}
	}
	for i, e := range edges {
		for _, f := range edges[:i] {
			if !meet(e.a, e.b, f.a, f.b) || plane.Side(e.a, e.b, f.a)*plane.Side(e.a, e.b, f.b) >= 0 {
				continue
			}
			num, den := plane.Cross(f.a, f.b, e.a), plane.Cross(f.a, f.b, e.a)-plane.Cross(f.a, f.b, e.b)
			at := func(a, b plane.Length) *big.Rat {
				x := big.NewRat(int64(num), int64(den))
				x.Mul(x, big.NewRat(int64(b-a), 1))
				return x.Add(x, big.NewRat(int64(a), 1))
			}
			x, y := at(e.a.X, e.b.X), at(e.a.Y, e.b.Y)
			if !x.IsInt() || !y.IsInt() {
				return true
			}
			hot[plane.Point{X: plane.Length(x.Num().Int64()), Y: plane.Length(y.Num().Int64())}] = true
		}
	}
	for _, e := range edges {
		for p := range hot {
			s := plane.Cross(e.a, e.b, p)
			d := e.b.Sub(e.a)
			inside := min(e.a.X, e.b.X) <= p.X && p.X <= max(e.a.X, e.b.X) && min(e.a.Y, e.b.Y) <= p.Y && p.Y <= max(e.a.Y, e.b.Y)
			if inside && s != 0 && 2*max(s, -s) <= plane.Area(max(d.X, -d.X)+max(d.Y, -d.Y)) {
				return true
			}
		}
	}
	return false
}
