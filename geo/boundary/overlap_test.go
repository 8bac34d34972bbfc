package boundary

import (
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo/plane"
)

// The oracle for locate is math/big. Rings as wide as the plane, and places
// that lie by a hair beside an edge or on it, are where a float64 would be
// wrong.
func TestLocateIsExact(t *testing.T) {
	const reach = plane.Reach
	rng := rand.New(rand.NewPCG(1, 2))
	at := func() plane.Length { return plane.Length(rng.Int64N(int64(2*reach+1))) - reach }
	var seen [3]int
	for range 20_000 {
		a, c := plane.Point{X: at(), Y: at()}, plane.Point{X: at(), Y: at()}
		b := plane.Point{X: at(), Y: at()}
		if a.Y == b.Y || plane.Side(a, b, c) == plane.Straight {
			continue
		}
		s := rng.Float64()
		p := plane.Point{X: 2*a.X + plane.Length(2*s*float64(b.X-a.X)), Y: 2*a.Y + plane.Length(2*s*float64(b.Y-a.Y))}
		switch rng.IntN(3) {
		case 0: // the middle of an edge
			p = a.Add(b)
		case 1:
			p.X += plane.Length(rng.IntN(3)) - 1
		}
		got := locate(plane.Ring{a, b, c}, p)
		want := inTriangle([3]plane.Point{a, b, c}, p)
		assert.Equal(t, want, got, "%v %v %v: %v", a, b, c, p)
		seen[got+1]++
	}
	for i, n := range seen {
		assert.Greater(t, n, 1000, "%d", i-1)
	}
}

// inTriangle is locate for a triangle, by the signs of three areas.
func inTriangle(c [3]plane.Point, p plane.Point) int {
	least, most := 1, -1
	for i, a := range c {
		b := c[(i+1)%3]
		s := minor(2*(b.X-a.X), p.Y-2*a.Y, 2*(b.Y-a.Y), p.X-2*a.X)
		least, most = min(least, s), max(most, s)
	}
	switch {
	case least < 0 && most > 0:
		return -1
	case least == 0 || most == 0:
		return 0
	}
	return 1
}

// minor is the sign of p q - r s.
func minor(p, q, r, s plane.Length) int {
	pq := new(big.Int).Mul(big.NewInt(int64(p)), big.NewInt(int64(q)))
	return pq.Cmp(new(big.Int).Mul(big.NewInt(int64(r)), big.NewInt(int64(s))))
}
