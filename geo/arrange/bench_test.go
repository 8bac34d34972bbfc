package arrange_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"lapwing/geo/arrange"
	"lapwing/geo/plane"
)

// BenchmarkCut lays bands of 800 m side by side over a square field, each
// lapping the last by 10 cm and wandering by 2 cm or so; whole, and of 48
// sections each of which is a ring of its own beside the next.
func BenchmarkCut(b *testing.B) {
	for _, bc := range []struct{ bands, stations, sections int }{
		{12, 40, 1}, {50, 100, 1}, {50, 1000, 1}, {50, 20, 48}, {50, 200, 48},
	} {
		layers := bands(bc.bands, bc.stations, bc.sections)
		edges := 0
		for _, l := range layers {
			for _, r := range l {
				edges += len(r)
			}
		}
		b.Run(fmt.Sprintf("edges=%d/sections=%d", edges, bc.sections), func(b *testing.B) {
			var a *arrange.Arrangement
			for b.Loop() {
				a = arrange.Cut(layers, depth)
			}
			if len(a.Faces) == 0 {
				b.Error("no faces")
			}
		})
	}
}

// BenchmarkCutRepeated lays one band thousands of times in the same place, in
// the same layer and in layers of their own: comparing every pair of edges
// would take minutes.
func BenchmarkCutRepeated(b *testing.B) {
	const n = 10_000
	swath := plane.Ring{{X: 1, Y: 0}, {X: 8_000_003, Y: 77}, {X: 8_000_001, Y: 165_079}, {X: -1, Y: 165_000}}
	for name, layers := range map[string][]arrange.Layer{
		"layers=1":     {slices.Repeat(arrange.Layer{swath}, n)},
		"layers=10000": slices.Repeat([]arrange.Layer{{swath}}, n),
	} {
		b.Run(fmt.Sprintf("rings=%d/%s", n, name), func(b *testing.B) {
			var a *arrange.Arrangement
			for b.Loop() {
				a = arrange.Cut(layers, depth)
			}
			if len(a.Faces) != 1 {
				b.Error("not one face")
			}
		})
	}
}

func bands(n, stations, sections int) []arrange.Layer {
	rng := rand.New(rand.NewPCG(8, 8))
	const half = 400 * plane.Metre
	width := 2*half/plane.Length(n) + 10*plane.Centimetre
	layers := []arrange.Layer{{rect(-half, -half, half, half)}}
	for i := range n {
		left := -half + plane.Length(i)*2*half/plane.Length(n)
		lines := make([]plane.Ring, sections+1) // the edges between sections
		for j := range stations {
			wander := plane.Length(rng.IntN(401) - 200)
			y := -half + plane.Length(j)*2*half/plane.Length(stations-1)
			for k := range lines {
				lines[k] = append(lines[k], plane.Point{X: left + wander + width*plane.Length(k)/plane.Length(sections), Y: y})
			}
		}
		var l arrange.Layer
		for k := range sections {
			l = append(l, append(lines[k+1][:stations:stations], lines[k].Reversed()...))
		}
		layers = append(layers, l)
	}
	return layers
}
