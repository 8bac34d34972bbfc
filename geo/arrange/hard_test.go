package arrange_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// A ring drawn n times round the same points winds n times, in one layer or in
// n.
func TestTenThousandIdenticalSwaths(t *testing.T) {
	const n = 10_000
	swath := plane.Ring{{X: 1, Y: 0}, {X: 8_000_003, Y: 77}, {X: 8_000_001, Y: 165_079}, {X: -1, Y: 165_000}}
	for _, tc := range []struct {
		name   string
		layers []arrange.Layer
		under  int
	}{
		{"in one layer", []arrange.Layer{slices.Repeat(arrange.Layer{swath}, n)}, 1},
		{"in a layer each", slices.Repeat([]arrange.Layer{{swath}}, n), n},
		{"every second one drawn the other way", slices.Repeat([]arrange.Layer{{swath, swath, swath.Reversed()}}, n/2), n / 2},
	} {
		t.Run(tc.name, func(t *testing.T) {
			a := arrange.Cut(tc.layers, depth)
			require.Len(t, a.Covers, 1)
			assert.Len(t, a.Covers[0].Under, tc.under)
			assert.Equal(t, swath.Area(), a.Covers[0].Area)
			assert.Len(t, a.Faces, 1)
		})
	}
}

// A thousand drives in the same tracks, each a tick or two off:
// thousands of edges through the same few cells.
func TestNearlyIdenticalSwaths(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	j := func() plane.Length { return plane.Length(rng.IntN(3)) }
	layers := make([]arrange.Layer, 1000)
	for i := range layers {
		layers[i] = arrange.Layer{{{X: j(), Y: j()}, {X: 10_000 + j(), Y: 70 + j()}, {X: 10_000 + j(), Y: 6_070 + j()}, {X: j(), Y: 6_000 + j()}}}
	}
	a := arrange.Cut(layers, depth)
	sumsUp(t, layers, a)
}

// star is the ring that joins every k-th of n points of a circle.
func star(n, k int, radius float64) plane.Ring {
	r := make(plane.Ring, n)
	for i := range r {
		sin, cos := math.Sincos(2 * math.Pi * float64(i*k%n) / float64(n))
		r[i] = plane.Point{X: plane.Round(radius * cos), Y: plane.Round(radius * sin)}
	}
	return r
}

// spiral is a band of the given width that winds inward, turn by turn.
func spiral(turns, perTurn int, radius, pitch, width float64) plane.Ring {
	var out, in plane.Ring
	for i := range turns*perTurn + 1 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(perTurn))
		r := radius - pitch*float64(i)/float64(perTurn)
		out = append(out, plane.Point{X: plane.Round(r * cos), Y: plane.Round(r * sin)})
		in = append(in, plane.Point{X: plane.Round((r - width) * cos), Y: plane.Round((r - width) * sin)})
	}
	slices.Reverse(in)
	return append(out, in...)
}

func TestStarsAndSpirals(t *testing.T) {
	for _, tc := range []struct {
		name   string
		layers []arrange.Layer
	}{
		{"pentagram", []arrange.Layer{{star(5, 2, 1e6)}}},
		{"all chords nearly through the middle", []arrange.Layer{{star(401, 200, 1e6)}}},
		{"all chords through the middle's cell", []arrange.Layer{{star(101, 50, 20)}}},
		{"three stars in layers of their own", []arrange.Layer{{star(51, 25, 1e6)}, {star(51, 20, 1e6)}, {star(51, 25, 999_999)}}},
		{"the largest star", []arrange.Layer{{star(37, 18, 4.99e8)}}},
		{"a spiral that laps itself", []arrange.Layer{{spiral(12, 60, 1e6, 60_000, 80_000)}}},
		{"a spiral on a star", []arrange.Layer{{spiral(12, 60, 1e6, 60_000, 50_000)}, {star(201, 100, 1e6)}}},
		{"a spiral a few ticks wide", []arrange.Layer{{spiral(30, 40, 300, 8, 6)}}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			a := arrange.Cut(tc.layers, depth)
			assert.NotEmpty(t, a.Faces)
			sumsUp(t, tc.layers, a)
			walk(t, tc.layers, a)
		})
	}
	t.Run("pentagram's area", func(t *testing.T) {
		// Ten triangles from the middle: R × r sin 36° / 2 each, where the inner
		// corner is at r = R cos 72° / cos 36°.
		const deg = math.Pi / 180
		want := 5 * 1e12 * math.Cos(72*deg) / math.Cos(36*deg) * math.Sin(36*deg)
		got := arrange.Areas([]arrange.Layer{{star(5, 2, 1e6)}})
		assert.InDelta(t, want, float64(got[0].Area)/2, 1e7) // half a tick along 10 edges of 1e6
	})
}

// sumsUp checks that the covers' areas, each as often as layers lie over it,
// are those that the layers have by themselves, within the bound of snapping.
func sumsUp(t *testing.T, layers []arrange.Layer, a *arrange.Arrangement) {
	t.Helper()
	var together, alone float64
	for _, c := range a.Covers {
		together += float64(len(c.Under)) * float64(c.Area) / 2
	}
	for _, l := range layers {
		for _, c := range arrange.Areas([]arrange.Layer{l}) {
			alone += float64(c.Area) / 2
		}
	}
	// Once for the layers together and once for each alone.
	bound := 2 * edgeLength(layers) * math.Sqrt2 / 2
	assert.InDelta(t, alone, together, bound, "layers alone and together")
}

// mixed are layers with thousands of edges, large enough to be snapped on all
// processors.
func mixed(rng *rand.Rand, side int) []arrange.Layer {
	var layers []arrange.Layer
	for range 60 {
		x, y := plane.Length(rng.IntN(side)), plane.Length(rng.IntN(side))
		var l arrange.Layer
		for _, r := range []plane.Ring{star(11, 2+rng.IntN(4), float64(side)/6), spiral(2, 10, float64(side)/8, float64(side)/40, float64(side)/50)} {
			l = append(l, shifted(r, plane.Point{X: x, Y: y}))
		}
		layers = append(layers, l)
	}
	return layers
}

func shifted(r plane.Ring, by plane.Point) plane.Ring {
	out := make(plane.Ring, len(r))
	for i, p := range r {
		out[i] = p.Add(by)
	}
	return out
}

// A shift by whole ticks changes no area.
func TestShiftMovesNoArea(t *testing.T) {
	for seed := range uint64(300) {
		rng := rand.New(rand.NewPCG(seed, 31))
		layers := randomLayers(rng, []int{6, 50, 5000, 5_000_000}[seed%4])
		if seed%50 == 0 {
			layers = mixed(rng, 100_000)
		}
		want := arrange.Areas(layers)
		by := plane.Point{X: plane.Length(rng.IntN(200_000_001) - 100_000_000), Y: plane.Length(rng.IntN(200_000_001) - 100_000_000)}
		for i, l := range layers {
			layers[i] = slices.Clone(l)
			for j, r := range l {
				layers[i][j] = shifted(r, by)
			}
		}
		require.Equal(t, want, arrange.Areas(layers), "seed %d, shifted by %v", seed, by)
	}
}

// The order of layers, of rings in a layer and of the corner a ring begins
// with changes no area.
func TestOrderChangesNothing(t *testing.T) {
	for seed := range uint64(300) {
		rng := rand.New(rand.NewPCG(seed, 32))
		layers := randomLayers(rng, []int{6, 50, 5000, 5_000_000}[seed%4])
		if seed%50 == 0 {
			layers = mixed(rng, 100_000)
		}
		want := arrange.Areas(layers)
		to := rng.Perm(len(layers))
		other := make([]arrange.Layer, len(layers))
		for i, l := range layers {
			l = slices.Clone(l)
			rng.Shuffle(len(l), func(i, j int) { l[i], l[j] = l[j], l[i] })
			for j, r := range l {
				k := rng.IntN(len(r))
				l[j] = slices.Concat(r[k:], r[:k])
			}
			other[to[i]] = l
		}
		for i, c := range want {
			var under []int
			for _, l := range c.Under {
				under = append(under, to[l])
			}
			slices.Sort(under)
			want[i].Under = under
		}
		slices.SortFunc(want, func(a, b arrange.Cover) int { return slices.Compare(a.Under, b.Under) })
		require.Equal(t, want, arrange.Areas(other), "seed %d", seed)
	}
}

// Any number of processors finds the same as one: of few edges, which are not shared
// out, and of so many that they are.
func TestProcessorsChangeNothing(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	all := [][]arrange.Layer{bands(40, 400, 1)}
	for seed, side := range []int{300, 100_000, 10_000_000} {
		all = append(all, mixed(rand.New(rand.NewPCG(uint64(seed), 33)), side))
	}
	for _, layers := range all {
		runtime.GOMAXPROCS(1)
		one := arrange.Cut(layers, depth)
		for _, n := range []int{2, 5, 12} {
			runtime.GOMAXPROCS(n)
			several := arrange.Cut(layers, depth)
			require.Equal(t, one.Covers, several.Covers)
			require.ElementsMatch(t, shapes(one), shapes(several))
			walk(t, layers, several)
		}
	}
}

// shapes lists the faces' areas and sizes, to be compared in any order.
func shapes(a *arrange.Arrangement) [][4]int64 {
	var out [][4]int64
	for _, f := range a.Faces {
		b := f.Shape.Shell.Bounds()
		out = append(out, [4]int64{int64(f.Label), int64(f.Shape.Area()), int64(b.Min.X), int64(b.Min.Y)})
	}
	return out
}

// Inputs that once went wrong, and some that look as if they would: see the
// about.md beside each.
func TestHardCases(t *testing.T) {
	cases, err := filepath.Glob("../../testdata/hard/*/rings.json")
	require.NoError(t, err)
	require.NotEmpty(t, cases)
	for _, file := range cases {
		t.Run(filepath.Base(filepath.Dir(file)), func(t *testing.T) {
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			var in struct {
				Layers  [][][][2]int64     `json:"layers"` // layers of rings of points, ticks east and north
				Covers  map[string]float64 `json:"covers"` // square ticks by layers, as in "0 2"
				Exactly bool               `json:"exactly"`
			}
			require.NoError(t, json.Unmarshal(text, &in))
			var layers []arrange.Layer
			for _, rings := range in.Layers {
				var l arrange.Layer
				for _, points := range rings {
					var r plane.Ring
					for _, p := range points {
						r = append(r, plane.Point{X: plane.Length(p[0]), Y: plane.Length(p[1])})
					}
					l = append(l, r)
				}
				layers = append(layers, l)
			}
			a := arrange.Cut(layers, depth)
			walk(t, layers, a)
			sumsUp(t, layers, a)
			got := map[string]float64{}
			for _, c := range a.Covers {
				got[key(c.Under)] = float64(c.Area) / 2
			}
			bound := edgeLength(layers) * math.Sqrt2 / 2
			if in.Exactly {
				bound = 0
			}
			for k, want := range in.Covers {
				assert.InDelta(t, want, got[k], bound, "under %q", k)
				delete(got, k)
			}
			for k, area := range got {
				assert.LessOrEqual(t, area, bound, "under %q", k)
			}
		})
	}
}

// FuzzCut draws rings on a tiny grid, where every coincidence is common.
func FuzzCut(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte{0x00, 0x40, 0x44, 0x04})
	f.Add([]byte{0x00, 0x40, 0x44, 0x04, 0xff, 0x22, 0x62, 0x66, 0x26})
	f.Add([]byte{0x00, 0x55, 0x50, 0x05, 0xfe, 0x00, 0x05, 0x50, 0x55, 0xff, 0x11, 0x13, 0x32})
	f.Add([]byte{0x00, 0x71, 0x72, 0x10, 0xff, 0x00, 0x72, 0x71, 0x01, 0xff, 0x01, 0x70, 0x73})
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 64 {
			return
		}
		layers := drawn(data)
		a := arrange.Cut(layers, depth)
		walk(t, layers, a)
		sumsUp(t, layers, a)
	})
}

// drawn reads rings from bytes: 0xff begins a layer, 0xfe a ring, and all else
// is a point of the grid of 15 × 16.
func drawn(data []byte) []arrange.Layer {
	layers := []arrange.Layer{{nil}}
	for _, b := range data {
		l := &layers[len(layers)-1]
		switch b {
		case 0xff:
			layers = append(layers, arrange.Layer{nil})
		case 0xfe:
			*l = append(*l, nil)
		default:
			r := &(*l)[len(*l)-1]
			*r = append(*r, plane.Point{X: plane.Length(b >> 4), Y: plane.Length(b & 15)})
		}
	}
	return layers
}
