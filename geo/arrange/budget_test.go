package arrange_test

import (
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// rods are n rings, half a millimetre wide and 24 m long, about one place: off it by
// some ticks, and turned by up to some radians.
func rods(n int, off, turned float64) []arrange.Layer {
	r := rand.New(rand.NewPCG(uint64(n), 71))
	layers := make([]arrange.Layer, n)
	for i := range layers {
		sin, cos := math.Sincos(0.3 + turned*r.Float64())
		x, y := off*r.NormFloat64(), off*r.NormFloat64()
		at := func(along, across float64) plane.Point {
			return plane.Point{X: plane.Round(x + along*cos - across*sin), Y: plane.Round(y + along*sin + across*cos)}
		}
		layers[i] = arrange.Layer{{at(-120_000, -2), at(120_000, -2), at(120_000, 3), at(-120_000, 3)}}
	}
	return layers
}

// Edges that cannot be told apart, box after box, are compared once: these took
// minutes when they were compared in every box that they run through.
func TestEdgesHalvingDoesNotPart(t *testing.T) {
	for _, tc := range []struct {
		name        string
		off, turned float64
	}{
		{"side by side, a few ticks apart", 2, 2.0 / 120_000},
		{"side by side, some ticks apart", 30, 30.0 / 120_000},
		{"through one point", 0, 2 * math.Pi},
		{"through a few cells", 3, 2 * math.Pi},
		{"every way", 30_000, 2 * math.Pi},
	} {
		t.Run(tc.name, func(t *testing.T) {
			const n = 150
			layers := rods(n, tc.off, tc.turned)
			// Two long edges each: each two cross once, bend both, and end four
			// borders; the rest is for the layers over them, and for comparing.
			b := arrange.NewBudget(10 * (2 * n) * (2 * n) / 2)
			a, err := b.Cut(layers, depth)
			require.NoError(t, err)
			assert.Positive(t, b.Spent())
			sumsUp(t, layers, a)
			walk(t, layers, a)
		})
	}
}

// A budget is spent or not whatever the number of processors and of arrangements at
// the same time, and what is found within it is what is found without one.
func TestBudget(t *testing.T) {
	layers := mixed(rand.New(rand.NewPCG(1, 72)), 100_000)
	b := arrange.NewBudget(math.MaxInt / 1000)
	got, err := b.Cut(layers, depth)
	require.NoError(t, err)
	want := arrange.Cut(layers, depth)
	assert.Equal(t, want.Covers, got.Covers)
	assert.ElementsMatch(t, shapes(want), shapes(got))

	spent := b.Spent()
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, n := range []int{1, 2, 5} {
		runtime.GOMAXPROCS(n)
		for most, lasts := range map[int]bool{spent + 1: true, spent - 1: false, spent / 2: false, 0: false} {
			b := arrange.NewBudget(most)
			a, err := b.Cut(layers, depth)
			if lasts {
				assert.NoError(t, err)
				assert.Equal(t, spent, b.Spent())
			} else {
				assert.ErrorIs(t, err, arrange.ErrSpent)
				assert.Nil(t, a)
			}
		}
		twice := arrange.NewBudget(2*spent + 1)
		for range 2 {
			_, err := twice.Areas(layers) // no borders, which cost too
			assert.NoError(t, err)
		}
		_, err := twice.Cut(layers, depth)
		assert.ErrorIs(t, err, arrange.ErrSpent)
	}
}

// Rings that do not cross spend nothing but for what lies over what.
func TestBudgetOfRingsApart(t *testing.T) {
	b := arrange.NewBudget(10)
	a, err := b.Cut([]arrange.Layer{{rect(0, 0, 10, 10)}, {rect(20, 0, 30, 10)}}, depth)
	require.NoError(t, err)
	assert.Len(t, a.Faces, 2)
	_, err = arrange.NewBudget(10).Cut([]arrange.Layer{{star(401, 200, 1e6)}}, depth)
	assert.ErrorIs(t, err, arrange.ErrSpent)
}
