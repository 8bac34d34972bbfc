package near_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/tidwall/rtree"

	"lapwing/geo/plane"
	"lapwing/geo/plane/near"
)

// BenchmarkIndex times the indexes on what they are asked in a field:
//
//	edges    the outline of worked ground, asked for the nearest edge and for
//	         the parts of a boundary's edge that are near enough
//	steps    those of a bar, round and round a field: each asks for the last one
//	         before it that it meets
//	ways     the edges of a boundary, asked for those along a way across it
//
// The last two are timed with tidwall/rtree too.
func BenchmarkIndex(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	var outline []near.Edge
	for pass := range 50 { // 800 m long and 16 m wide, an edge every 10 m
		x := float64(pass) * 160000
		for k := range 80 {
			y := float64(k) * 100000
			for _, side := range []float64{0, 159000} {
				outline = append(outline, near.Edge{AX: x + side + 300*rng.Float64(), AY: y, BX: x + side + 300*rng.Float64(), BY: y + 100000})
			}
		}
	}
	b.Run("edges/New", func(b *testing.B) {
		for b.Loop() {
			near.New(outline)
		}
	})
	n := near.New(outline)
	b.Run("edges/Nearest", func(b *testing.B) {
		sum := 0.0
		for b.Loop() {
			sum += n.Nearest(8e6*rng.Float64(), 8e6*rng.Float64(), math.Inf(1)).D2
		}
		if math.IsInf(sum, 1) {
			b.Error("an edge is near everything")
		}
	})
	b.Run("edges/Intervals", func(b *testing.B) {
		count := 0
		for b.Loop() {
			a := plane.Point{X: plane.Length(rng.IntN(8e6)), Y: plane.Length(rng.IntN(8e6))}
			l := near.LineOf(a, a.Add(plane.Point{X: 50000, Y: 10000}))
			count += len(n.Intervals(&l, 20000))
		}
		if count == 0 {
			b.Error("some lines come near an edge")
		}
	})

	steps := rounds()
	b.Run("steps/near", func(b *testing.B) {
		for b.Loop() {
			n := near.NewBoxes(steps)
			met := 0
			for k, s := range steps {
				for range n.Backward(s, 0, k) {
					met++
					break
				}
			}
			if met == 0 {
				b.Fatal("a step meets the one before it")
			}
		}
	})
	b.Run("steps/rtree", func(b *testing.B) {
		for b.Loop() {
			var n rtree.RTreeG[int]
			met := 0
			for k, s := range steps {
				lo, hi := corners(s)
				last := -1
				n.Search(lo, hi, func(_, _ [2]float64, i int) bool { last = max(last, i); return true })
				if last >= 0 {
					met++
				}
				n.Insert(lo, hi, k)
			}
			if met == 0 {
				b.Fatal("a step meets the one before it")
			}
		}
	})

	var rim []plane.Box
	for k := range 3000 {
		at := func(k int) plane.Point {
			sin, cos := math.Sincos(float64(k) * 2 * math.Pi / 3000)
			return plane.Point{X: plane.Round(4e6 * cos), Y: plane.Round(4e6 * sin)}
		}
		rim = append(rim, plane.Ring{at(k), at(k + 1)}.Bounds())
	}
	ways := make([]plane.Box, 1000)
	for i := range ways {
		a := plane.Point{X: plane.Length(rng.IntN(8e6) - 4e6), Y: plane.Length(rng.IntN(8e6) - 4e6)}
		ways[i] = plane.Ring{a, a.Add(plane.Point{X: plane.Length(rng.IntN(1e6)), Y: plane.Length(rng.IntN(1e6))})}.Bounds()
	}
	boxes := near.NewBoxes(rim)
	var tree rtree.RTreeG[int]
	for i, r := range rim {
		lo, hi := corners(r)
		tree.Insert(lo, hi, i)
	}
	b.Run("ways/near", func(b *testing.B) {
		met := 0
		for i := 0; b.Loop(); i++ {
			for range boxes.Meeting(ways[i%len(ways)]) {
				met++
			}
		}
	})
	b.Run("ways/rtree", func(b *testing.B) {
		met := 0
		for i := 0; b.Loop(); i++ {
			lo, hi := corners(ways[i%len(ways)])
			tree.Search(lo, hi, func(_, _ [2]float64, _ int) bool { met++; return true })
		}
	})
}

// rounds are the boxes around the steps of a bar of 12 m, 6 m each, on 30 rounds
// from the outside of a field of 800 m in.
func rounds() []plane.Box {
	const width, step = 120000, 60000
	var out []plane.Box
	for round := range 30 {
		lo, hi := plane.Length(round*width), plane.Length(8e6-round*width)
		for _, side := range [4][2]plane.Point{
			{{X: lo, Y: lo}, {X: hi, Y: lo}}, {{X: hi, Y: lo}, {X: hi, Y: hi}}, {{X: hi, Y: hi}, {X: lo, Y: hi}}, {{X: lo, Y: hi}, {X: lo, Y: lo}},
		} {
			a, b := side[0], side[1]
			n := plane.Length(a.Distance(b)) / step
			for k := range n {
				from := plane.Point{X: a.X + (b.X-a.X)*k/n, Y: a.Y + (b.Y-a.Y)*k/n}
				to := plane.Point{X: a.X + (b.X-a.X)*(k+1)/n, Y: a.Y + (b.Y-a.Y)*(k+1)/n}
				box := plane.Ring{from, to}.Bounds()
				if a.Y == b.Y {
					box.Min.Y, box.Max.Y = box.Min.Y-width/2, box.Max.Y+width/2
				} else {
					box.Min.X, box.Max.X = box.Min.X-width/2, box.Max.X+width/2
				}
				out = append(out, box)
			}
		}
	}
	return out
}

func corners(b plane.Box) (lo, hi [2]float64) {
	return [2]float64{float64(b.Min.X), float64(b.Min.Y)}, [2]float64{float64(b.Max.X), float64(b.Max.Y)}
}
