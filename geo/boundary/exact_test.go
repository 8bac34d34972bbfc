package boundary

import (
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// The oracle for side and folds is math/big. Points nearly on one line, as
// far apart as longitudes go, are where a float64 would be wrong.
func TestSideIsExact(t *testing.T) {
	const reach = 540 * perDegree
	rng := rand.New(rand.NewPCG(1, 2))
	at := func() int64 { return rng.Int64N(2*reach+1) - reach }
	differ := 0
	for range 20_000 {
		a, b := spot{at(), at()}, spot{at(), at()}
		s := rng.Float64()*3 - 1
		c := spot{a.x + int64(s*float64(b.x-a.x)) + rng.Int64N(3) - 1, a.y + int64(s*float64(b.y-a.y)) + rng.Int64N(3) - 1}
		switch rng.IntN(4) {
		case 0: // exactly on the line
			w := spot{at() / 14, at() / 14}
			b, c = spot{a.x + 3*w.x, a.y + 3*w.y}, spot{a.x + 7*w.x, a.y + 7*w.y}
		case 1: // off it by the least there is: neighbouring Fibonacci numbers, F(n) F(n+2) - F(n+1)² = ±1
			f, g := int64(0), int64(1)
			for range 40 + rng.IntN(16) {
				f, g = g, f+g
			}
			b, c = spot{a.x + f, a.y + g}, spot{a.x + g, a.y + f + g}
		}
		want := minor(b.x-a.x, c.y-a.y, b.y-a.y, c.x-a.x)
		assert.Equal(t, want, side(a, b, c), "%v %v %v", a, b, c)
		assert.Equal(t, minor(b.x-a.x, c.x-b.x, -(b.y-a.y), c.y-b.y) < 0, folds(a, b, c), "%v %v %v", a, b, c)
		naive := float64(b.x-a.x)*float64(c.y-a.y) - float64(b.y-a.y)*float64(c.x-a.x)
		if (naive > 0) != (want > 0) || (naive < 0) != (want < 0) {
			differ++
		}
	}
	assert.Positive(t, differ, "the points are too easy: a float64 gets all of them right")
}

// minor is the sign of p q - r s.
func minor(p, q, r, s int64) int {
	pq := new(big.Int).Mul(big.NewInt(p), big.NewInt(q))
	return pq.Cmp(new(big.Int).Mul(big.NewInt(r), big.NewInt(s)))
}
