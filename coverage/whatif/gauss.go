package whatif

import (
	"math"
	"math/rand/v2"
)

// A lower is a lower triangular matrix L, row by row, of a symmetric matrix
// L Lᵀ (Cholesky's factor).
type lower struct {
	n int
	a []float64 // row i begins at i (i+1) / 2
}

// factor returns the factor of the symmetric matrix that has at(i, j), j ≤ i.
// A pivot that rounding has left below 1e-12 is raised to that (jitter): its row is
// determined by those before it.
//
// Four rows are worked out together: a processor adds to four sums at a time in
// little more time than to one, and each sum is the same to the last bit.
func factor(n int, at func(i, j int) float64) lower {
	l := lower{n, make([]float64, n*(n+1)/2)}
	first := 0
	for ; first+4 <= n; first += 4 {
		a, b, c, d := l.row(first), l.row(first+1), l.row(first+2), l.row(first+3)
		for j := range first {
			other := l.row(j)
			known, pivot := other[:j], other[j]
			p, q, r, s := at(first, j), at(first+1, j), at(first+2, j), at(first+3, j)
			a, b, c, d := a[:len(known)+1], b[:len(known)+1], c[:len(known)+1], d[:len(known)+1]
			for k, x := range known {
				p -= a[k] * x
				q -= b[k] * x
				r -= c[k] * x
				s -= d[k] * x
			}
			a[j], b[j], c[j], d[j] = p/pivot, q/pivot, r/pivot, s/pivot
		}
		for i := first; i < first+4; i++ {
			l.finish(i, first, at)
		}
	}
	for i := first; i < n; i++ {
		l.finish(i, 0, at)
	}
	return l
}

// finish works out row i from a column on.
func (l lower) finish(i, from int, at func(i, j int) float64) {
	row := l.row(i)
	for j := from; j <= i; j++ {
		other := l.row(j)
		s := at(i, j)
		for k, x := range other[:j] {
			s -= row[k] * x
		}
		if j < i {
			row[j] = s / other[j]
		} else {
			row[j] = math.Sqrt(max(s, 1e-12))
		}
	}
}

func (l lower) row(i int) []float64 { return l.a[i*(i+1)/2 : (i+1)*(i+2)/2] }

// times returns L z.
func (l lower) times(z []float64) []float64 {
	out := make([]float64, l.n)
	for i := range out {
		for j, x := range l.row(i) {
			out[i] += x * z[j]
		}
	}
	return out
}

// half returns L⁻¹ b, by forward substitution.
func (l lower) half(b []float64) []float64 {
	x := make([]float64, l.n)
	for i := range x {
		row := l.row(i)
		s := b[i]
		for j, r := range row[:i] {
			s -= r * x[j]
		}
		x[i] = s / row[i]
	}
	return x
}

// solve returns (L Lᵀ)⁻¹ b, by forward and back substitution.
func (l lower) solve(b []float64) []float64 {
	x := l.half(b)
	for i := l.n - 1; i >= 0; i-- {
		row := l.row(i)
		x[i] /= row[i]
		for j, r := range row[:i] {
			x[j] -= r * x[i]
		}
	}
	return x
}

// likelihood returns the logarithm of the normal density of b with mean zero
// and covariance L Lᵀ, but for a constant.
func (l lower) likelihood(b []float64) float64 {
	sum := 0.0
	for _, x := range l.half(b) {
		sum -= x * x / 2
	}
	for i := range l.n {
		sum -= math.Log(l.row(i)[i])
	}
	return sum
}

// normals returns n independent numbers of mean zero and variance one.
func normals(r *rand.Rand, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = r.NormFloat64()
	}
	return out
}

// turned returns Lᵀ b.
func (l lower) turned(b []float64) []float64 {
	out := make([]float64, l.n)
	for i := range out {
		for j, x := range l.row(i) {
			out[j] += x * b[i]
		}
	}
	return out
}
