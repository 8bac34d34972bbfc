package whatif

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// L Lᵀ is the matrix again, whatever its size; and each number is what Cholesky's
// method row by row gives, to the last bit.
func TestFactor(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for n := range 14 {
		points := make([]float64, n)
		for i := range points {
			points[i] = rng.Float64() * 10
		}
		at := func(i, j int) float64 { // a Gaussian process with some noise
			c := math.Exp(-math.Abs(points[i] - points[j]))
			if i == j {
				c += 0.1
			}
			return c
		}
		l := factor(n, at)
		for i := range n {
			for j := range i + 1 {
				sum, s := 0.0, at(i, j)
				for k := range j + 1 {
					sum += l.row(i)[k] * l.row(j)[k]
				}
				assert.InDelta(t, at(i, j), sum, 1e-12, "n = %d, %d, %d", n, i, j)
				for k := range j {
					s -= l.row(i)[k] * l.row(j)[k]
				}
				if j < i {
					s /= l.row(j)[j]
				} else {
					s = math.Sqrt(s)
				}
				assert.Equal(t, s, l.row(i)[j], "n = %d, %d, %d", n, i, j)
			}
		}
	}
	singular := factor(6, func(i, j int) float64 { return 1 })
	for i := range 6 {
		assert.False(t, math.IsNaN(singular.row(i)[i]), "a pivot of nothing is raised")
	}
}

func BenchmarkFactor(b *testing.B) {
	for b.Loop() {
		factor(300, func(i, j int) float64 {
			if i == j {
				return 2
			}
			return 1 / float64(1+i-j)
		})
	}
}
