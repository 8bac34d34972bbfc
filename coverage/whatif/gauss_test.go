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

// What a factor solves, multiplied by the matrix, is what was to be solved; and Lᵀ is L
// with its rows for columns, so that L a · b = a · Lᵀ b.
func TestSolve(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	dot := func(a, b []float64) (sum float64) {
		for i := range a {
			sum += a[i] * b[i]
		}
		return sum
	}
	for n := 1; n < 10; n++ {
		matrix := covariance(rng, n)
		l := factor(n, func(i, j int) float64 { return matrix[i][j] })
		a, b := normals(rng, n), normals(rng, n)
		assert.InDelta(t, dot(l.times(a), b), dot(a, l.turned(b)), 1e-9, "n = %d", n)
		x := l.solve(b)
		for i, back := range l.times(l.half(b)) {
			assert.InDelta(t, b[i], dot(matrix[i], x), 1e-9, "n = %d", n)
			assert.InDelta(t, b[i], back, 1e-9, "n = %d", n)
		}
	}
}

// covariance is a matrix of n numbers of different variances, each of which goes with the
// others.
func covariance(rng *rand.Rand, n int) [][]float64 {
	parts := make([][]float64, n)
	for i := range parts {
		parts[i] = normals(rng, n)
	}
	out := make([][]float64, n)
	for i := range out {
		out[i] = make([]float64, n)
		for j := range out {
			for k := range n {
				out[i][j] += parts[i][k] * parts[j][k]
			}
		}
		out[i][i] += 0.5
	}
	return out
}

// The density of two numbers that go with one another by a correlation, as textbooks have
// it, of none that go with one another, and one after the other: that of the first, times
// that of the second where the first is known.
func TestLikelihood(t *testing.T) {
	normal := func(x, deviation float64) float64 { return -x*x/(2*deviation*deviation) - math.Log(deviation) }
	alone := factor(3, func(i, j int) float64 {
		if i == j {
			return []float64{0.04, 1, 9}[i]
		}
		return 0
	})
	assert.InDelta(t, normal(0.3, 0.2)+normal(-2, 1)+normal(4, 3), alone.likelihood([]float64{0.3, -2, 4}), 1e-9)

	const a, b, rho = 0.5, 3.0, 0.6
	two := factor(2, func(i, j int) float64 { return [][]float64{{a * a}, {rho * a * b, b * b}}[i][j] })
	for _, x := range [][]float64{{0.2, 1}, {-1, 2}, {0.7, -5}} {
		known := rho * b / a * x[0]
		assert.InDelta(t, normal(x[0], a)+normal(x[1]-known, b*math.Sqrt(1-rho*rho)), two.likelihood(x), 1e-9, "%v", x)
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
