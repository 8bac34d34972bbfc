package sweep

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"lapwing/geo/plane"
)

// straightestSlowly is straightest told step by step.
func straightestSlowly(steps []visitStep, from, to int, w plane.Distance) int {
	best, least := 0, plane.Angle(math.Inf(1))
	for i := to; i >= from && steps[to].along-steps[i].along <= 6*w; i-- {
		lo, hi := steps[i].turned, steps[i].turned
		for j := i; j > 0 && steps[i].along-steps[j].along < w; j-- {
			lo, hi = min(lo, steps[j-1].turned), max(hi, steps[j-1].turned)
		}
		for j := i; j+1 < len(steps) && steps[j].along-steps[i].along < w; j++ {
			lo, hi = min(lo, steps[j+1].turned), max(hi, steps[j+1].turned)
		}
		if hi-lo < least {
			best, least = i, hi-lo
		}
	}
	return best
}

// A bar that stands takes many steps at one place, and turns by the same again
// and again: both are common here.
func TestStraightest(t *testing.T) {
	for seed := range uint64(20_000) {
		r := rand.New(rand.NewPCG(seed, 61))
		steps := make([]visitStep, 2+r.IntN(60))
		for i := 1; i < len(steps); i++ {
			gone := float64(r.IntN(4)) * r.Float64()
			if seed%2 == 0 {
				gone = math.Round(gone)
			}
			steps[i].along = steps[i-1].along + plane.Distance(gone)
			steps[i].turned = steps[i-1].turned + plane.Angle(math.Round(3*r.NormFloat64())/4)
		}
		from, w := r.IntN(len(steps)), plane.Distance(1+r.IntN(5))
		to := from + r.IntN(len(steps)-from)
		require.Equal(t, straightestSlowly(steps, from, to, w), straightest(steps, from, to, w), "seed %d", seed)
	}
}
