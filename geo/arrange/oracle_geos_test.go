//go:build geos

package arrange_test

import (
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/arrange"
	"lapwing/geo/arrange/geosoracle"
	"lapwing/geo/plane"
)

// share is how far areas may differ from those of GEOS, in parts of the
// field's area. GEOS rounds crossings to a float64, a millionth of a tick; we
// to a tick, and an edge bends by at most h = √½ tick there. An edge of length
// l that bends once sweeps a triangle of at most l h / 2, to either side as
// chance has it, so that n such edges change an area by about √n l h / 2. A
// field 400 m across with twenty swaths has some n = 100 edges across it:
// 10 × 400 m × 0.035 mm = 0.014 m², a tenth of a millionth of its 16 ha. A
// millionth leaves room for chance, and for edges that bend to one side.
const share = 1e-6

// fields is how many random fields to try; ten thousand take six minutes.
func fields() uint64 {
	if os.Getenv("LAPWING_LONG") == "1" {
		return 10_000
	}
	return 500
}

func TestRandomFieldsAgainstGEOS(t *testing.T) {
	var worst float64
	polygons := 0
	for seed := range fields() {
		field, swaths := randomField(rand.New(rand.NewPCG(seed, 41)))
		layers := []arrange.Layer{field}
		rings := make([][]plane.Ring, len(swaths))
		for i, l := range swaths {
			layers, rings[i] = append(layers, l), l
		}
		a := arrange.Cut(layers, depth)
		want, err := geosoracle.Lay(field, rings)
		require.NoError(t, err, "seed %d", seed)
		off := got(a.Covers).off(want)
		worst = max(worst, off/want.Field)
		require.LessOrEqual(t, off, share*want.Field, "seed %d: ours %+v, GEOS %+v", seed, got(a.Covers), want)

		// Of faces by depth, and of the finer ones of every combination.
		shapes := make([]plane.Polygon, 0, len(a.Faces))
		names := arrange.Label(0)
		finer := arrange.Cut(layers, func([]int) arrange.Label { names++; return names })
		for _, f := range append(a.Faces, finer.Faces...) {
			shapes = append(shapes, f.Shape)
		}
		require.NoError(t, geosoracle.Validate(shapes...), "seed %d", seed)
		polygons += len(shapes)
		if seed%200 == 0 {
			runtime.GC() // Go does not see what GEOS holds
		}
	}
	t.Logf("%d fields, %d polygons; areas differ by %.2g of the field at most", fields(), polygons, worst)
}

// Rings of any kind on tiny and large grids: faces are valid to GEOS too.
func TestRandomRingsAreValidToGEOS(t *testing.T) {
	for _, side := range []int{4, 9, 30, 1000, 999_999_999} {
		for seed := range fields() {
			a := arrange.Cut(randomLayers(rand.New(rand.NewPCG(seed, uint64(side)+1)), side), depth)
			var shapes []plane.Polygon
			for _, f := range a.Faces {
				shapes = append(shapes, f.Shape)
			}
			require.NoError(t, geosoracle.Validate(shapes...), "side %d, seed %d", side, seed)
		}
	}
}

// totals are areas in square metres where layer 0 is the field.
type totals struct{ field, covered, skip, overlap, outside float64 }

func got(covers []arrange.Cover) totals {
	var s totals
	for _, c := range covers {
		area, n := c.Area.SquareMetres(), len(c.Under)
		if c.Under[0] != 0 {
			s.outside += area
			continue
		}
		s.field += area
		switch {
		case n == 1:
			s.skip += area
		case n > 2:
			s.overlap += area
			fallthrough
		default:
			s.covered += area
		}
	}
	return s
}

// off returns the largest difference.
func (s totals) off(want geosoracle.Result) float64 {
	return max(math.Abs(s.field-want.Field), math.Abs(s.covered-want.Covered), math.Abs(s.skip-want.Skip),
		math.Abs(s.overlap-want.Overlap), math.Abs(s.outside-want.Outside))
}

// randomField makes a field of some 10 to 50 ha with holes, and swaths over
// it: most in one direction and a few across, some crooked, some repeated, and
// some that share an edge to the tick.
func randomField(rng *rand.Rand) (field arrange.Layer, swaths []arrange.Layer) {
	radius := (200 + 200*rng.Float64()) * float64(plane.Metre)
	field = arrange.Layer{blob(rng, plane.Point{}, radius, 6+rng.IntN(20))}
	for range rng.IntN(4) {
		at := plane.Point{X: plane.Round((rng.Float64() - 0.5) * radius), Y: plane.Round((rng.Float64() - 0.5) * radius)}
		field = append(field, blob(rng, at, radius/10, 3+rng.IntN(9)).Reversed())
	}
	width := (3 + 20*rng.Float64()) * float64(plane.Metre)
	heading := 2 * math.Pi * rng.Float64()
	n := 3 + rng.IntN(20)
	for i := range n {
		h, across := heading, (float64(i)-float64(n)/2)*width*(0.95+0.1*rng.Float64())
		switch rng.IntN(8) {
		case 0:
			h = 2 * math.Pi * rng.Float64()
		case 1, 2: // side by side to the tick
			across = math.Round((float64(i) - float64(n)/2) * width)
		}
		swaths = append(swaths, arrange.Layer{swath(rng, h, across, radius*(0.8+0.4*rng.Float64()), width)})
		if rng.IntN(10) == 0 {
			swaths = append(swaths, swaths[rng.IntN(len(swaths))])
		}
	}
	return field, swaths
}

// blob is a ring around a place whose corners lie in rising directions.
func blob(rng *rand.Rand, at plane.Point, radius float64, corners int) plane.Ring {
	r := make(plane.Ring, corners)
	for i := range r {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.8*rng.Float64()) / float64(corners))
		d := radius * (0.6 + 0.4*rng.Float64())
		r[i] = at.Add(plane.Point{X: plane.Round(d * cos), Y: plane.Round(d * sin)})
	}
	return r
}

// swath is a band along a line that wanders by some centimetres, or bends.
func swath(rng *rand.Rand, heading, across, half, width float64) plane.Ring {
	sin, cos := math.Sincos(heading)
	n := 2 + rng.IntN(12)
	wander := []float64{0, 200, 5000, 100_000}[rng.IntN(4)] // ticks
	if wander > 0 && rng.IntN(2) == 0 {
		n *= 4
	}
	var right, left plane.Ring
	for i := range n {
		u := half * (2*float64(i)/float64(n-1) - 1)
		v := across + wander*(rng.Float64()-0.5)
		at := func(v float64) plane.Point {
			return plane.Point{X: plane.Round(u*sin + v*cos), Y: plane.Round(u*cos - v*sin)}
		}
		right, left = append(right, at(v+width/2)), append(left, at(v-width/2))
	}
	for i := range left {
		right = append(right, left[n-1-i])
	}
	return right
}

func TestOracleOnKnownAreas(t *testing.T) {
	const m = plane.Metre
	field := []plane.Ring{rect(0, 0, 100*m, 100*m), rect(40*m, 40*m, 50*m, 50*m).Reversed()}
	got, err := geosoracle.Lay(field, [][]plane.Ring{
		{rect(-10*m, 0, 50*m, 10*m)},
		{rect(20*m, 0, 30*m, 50*m)},
		{rect(40*m, 40*m, 45*m, 100*m), rect(40*m, 60*m, 45*m, 80*m)},
		{{{X: 60 * m, Y: 60 * m}, {X: 70 * m, Y: 70 * m}, {X: 70 * m, Y: 60 * m}, {X: 60 * m, Y: 70 * m}}}, // a bow-tie: its eastern half runs clockwise
	})
	require.NoError(t, err)
	assert.InDelta(t, 9900, got.Field, 1e-6)
	assert.InDelta(t, 500+400+250+25, got.Covered, 1e-6)
	assert.InDelta(t, 9900-1175, got.Skip, 1e-6)
	assert.InDelta(t, 100, got.Overlap, 1e-6)
	assert.InDelta(t, 100+50, got.Outside, 1e-6)
}
