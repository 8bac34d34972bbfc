package covertest

import (
	"math/big"
	"slices"
	"strconv"
	"strings"

	"lapwing/geo/plane"
)

// ExactDepths returns the area in square ticks under just so many layers, for
// each number from 1 up. A layer lies over the places that its rings, taken
// together, wind round more often anticlockwise than clockwise. There is no
// rounding anywhere; it takes time with the square of the number of edges.
//
//	  |    /|\   |     The plane is cut into upright slabs at every corner and
//	  |   / | \  |     every crossing. In a slab edges don't cross, so that
//	  |--+--+--\-|     between two neighbours all is under the same layers, and
//	  | /   |   \|     is a trapezium.
//	x0  x1  x2   x3
func ExactDepths[L ~[]plane.Ring](layers []L) map[int]*big.Rat {
	out := map[int]*big.Rat{}
	for under, area := range ExactSets(layers) {
		n := strings.Count(under, " ") + 1
		if out[n] == nil {
			out[n] = new(big.Rat)
		}
		out[n].Add(out[n], area)
	}
	return out
}

// ExactSets returns the area in square ticks under just a set of layers, for
// each set that lies over some ground. A set is written as its layers'
// numbers, rising, with spaces between: "0 2 5".
func ExactSets[L ~[]plane.Ring](layers []L) map[string]*big.Rat {
	var edges []slabEdge
	for i, l := range layers {
		for _, r := range l {
			for k := range r {
				if a, b := r[k], r[(k+1)%len(r)]; a.X < b.X {
					edges = append(edges, slabEdge{a, b, i, 1})
				} else if b.X < a.X {
					edges = append(edges, slabEdge{b, a, i, -1})
				}
			}
		}
	}
	cuts := slabCuts(edges)
	out := map[string]*big.Rat{}
	for i := 1; i < len(cuts); i++ {
		slab(edges, cuts[i-1], cuts[i], len(layers), out)
	}
	return out
}

// A slabEdge runs from west to east. Anticlockwise rings have their inside to
// the north of it where sense is 1.
type slabEdge struct {
	a, b  plane.Point
	layer int
	sense int
}

// at returns the edge's y at x.
func (e slabEdge) at(x *big.Rat) *big.Rat {
	y := big.NewRat(int64(e.b.Y-e.a.Y), int64(e.b.X-e.a.X))
	y.Mul(y, new(big.Rat).Sub(x, big.NewRat(int64(e.a.X), 1)))
	return y.Add(y, big.NewRat(int64(e.a.Y), 1))
}

// slabCuts returns the x of all corners and crossings, rising.
func slabCuts(edges []slabEdge) []*big.Rat {
	var cuts []*big.Rat
	for i, e := range edges {
		cuts = append(cuts, big.NewRat(int64(e.a.X), 1), big.NewRat(int64(e.b.X), 1))
		for _, f := range edges[:i] {
			if x := crossing(e, f); x != nil {
				cuts = append(cuts, x)
			}
		}
	}
	slices.SortFunc(cuts, (*big.Rat).Cmp)
	return slices.CompactFunc(cuts, func(a, b *big.Rat) bool { return a.Cmp(b) == 0 })
}

// crossing returns the x at which e and f meet inside both, or nil. It solves
// a + t (b - a) = c + u (d - c) for t.
func crossing(e, f slabEdge) *big.Rat {
	if e.b.X <= f.a.X || f.b.X <= e.a.X {
		return nil
	}
	n := func(l plane.Length) *big.Int { return big.NewInt(int64(l)) }
	cross := func(ax, ay, bx, by plane.Length) *big.Int {
		p := new(big.Int).Mul(n(ax), n(by))
		return p.Sub(p, new(big.Int).Mul(n(ay), n(bx)))
	}
	ex, ey, fx, fy := e.b.X-e.a.X, e.b.Y-e.a.Y, f.b.X-f.a.X, f.b.Y-f.a.Y
	den := cross(ex, ey, fx, fy)
	if den.Sign() == 0 {
		return nil
	}
	t := new(big.Rat).SetFrac(cross(f.a.X-e.a.X, f.a.Y-e.a.Y, fx, fy), den)
	x := t.Mul(t, big.NewRat(int64(ex), 1))
	x.Add(x, big.NewRat(int64(e.a.X), 1))
	lo, hi := big.NewRat(int64(max(e.a.X, f.a.X)), 1), big.NewRat(int64(min(e.b.X, f.b.X)), 1)
	if x.Cmp(lo) <= 0 || x.Cmp(hi) >= 0 {
		return nil
	}
	return x
}

// slab adds the areas of the slab between two cuts.
func slab(edges []slabEdge, from, to *big.Rat, layers int, out map[string]*big.Rat) {
	width := new(big.Rat).Sub(to, from)
	mid := new(big.Rat).Add(from, to)
	mid.Mul(mid, big.NewRat(1, 2))
	type line struct {
		slabEdge
		y *big.Rat
	}
	var lines []line
	for _, e := range edges {
		if mid.Cmp(big.NewRat(int64(e.a.X), 1)) > 0 && mid.Cmp(big.NewRat(int64(e.b.X), 1)) < 0 {
			lines = append(lines, line{e, e.at(mid)})
		}
	}
	slices.SortFunc(lines, func(a, b line) int { return a.y.Cmp(b.y) })
	winding := make([]int, layers)
	for i, l := range lines {
		winding[l.layer] += l.sense
		if i+1 == len(lines) {
			break
		}
		high := new(big.Rat).Sub(lines[i+1].y, l.y)
		under := setOf(winding)
		if high.Sign() == 0 || under == "" {
			continue
		}
		if out[under] == nil {
			out[under] = new(big.Rat)
		}
		out[under].Add(out[under], high.Mul(high, width))
	}
}

// setOf writes the layers that are wound round.
func setOf(winding []int) string {
	var b strings.Builder
	for i, w := range winding {
		if w <= 0 {
			continue
		}
		if b.Len() > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(strconv.Itoa(i))
	}
	return b.String()
}
