package lapsum_test

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage/assess"
	"lapwing/coverage/beside"
	"lapwing/coverage/figure"
	"lapwing/coverage/lapsum"
)

// keptLap is a lap of so many metres along, all on one side: the right one where right.
func keptLap(along, aimed, mean, spread float64, right bool) *assess.LapKeptSummary {
	none := assess.LapSideSummary{Mean: figure.Metres(math.NaN())}
	side := assess.LapSideSummary{Along: figure.Metres(along), Mean: figure.Metres(mean)}
	l := &assess.LapKeptSummary{
		Aimed: figure.Metres(aimed), Along: figure.Metres(along), Mean: figure.Metres(mean), Spread: figure.Metres(spread), Receiver: 0.03,
		Left: side, Right: none,
	}
	if right {
		l.Left, l.Right = none, side
	}
	return l
}

func driven(laps ...*assess.LapKeptSummary) (out []lapsum.Driven) {
	for _, l := range laps {
		out = append(out, lapsum.Driven{LapKeptSummary: l})
	}
	return out
}

// One pass is its own sum; means go by length; the receivers' parts by their squares.
func TestSum(t *testing.T) {
	s := lapsum.Of(driven(keptLap(300, 0.1, 0.12, 0.04, false)))
	assert.InDelta(t, 0.12, s.Kept, 1e-12)
	assert.InDelta(t, 0.04, s.Spread, 1e-5)
	assert.InDelta(t, 0.03, s.Receiver, 1e-12)

	far := keptLap(100, 0, 0.5, 0.04, true)
	far.Receiver = 0.07
	s = lapsum.Of(driven(keptLap(300, 0.1, 0.1, 0.04, false), far, keptLap(0, 0, math.NaN(), math.NaN(), false)))
	assert.Equal(t, 2, s.Passes, "a pass that kept no lap counts nowhere")
	assert.InDelta(t, 400, s.Along, 1e-9)
	assert.InDelta(t, (300*0.1+100*0.5)/400, s.Kept, 1e-12)
	assert.InDelta(t, 300*0.1/400, s.Aimed, 1e-12)
	assert.Equal(t, [2]float64{0, 0.1}, [2]float64{s.LeastAimed, s.MostAimed})
	assert.InDelta(t, math.Sqrt((300*0.03*0.03+100*0.07*0.07)/400), s.Receiver, 1e-12)
	assert.Equal(t, lapsum.Sum{}, lapsum.Of(nil))
}

// By formula: two passes of one length and deviation s, d off the mean either way, make a
// mixture whose spread q solves (Φ((q - d) / s) + Φ((q + d) / s)) / 2 = Φ(1).
func TestSumBetweenPasses(t *testing.T) {
	phi := func(z float64) float64 { return (1 + math.Erf(z/math.Sqrt2)) / 2 }
	for _, c := range []struct{ d, s float64 }{{0.01, 0.04}, {0.05, 0.04}, {0.2, 0.04}, {0.2, 0.2}} {
		q := lapsum.Of(driven(keptLap(200, 0, 0.1+c.d, c.s, false), keptLap(200, 0, 0.1-c.d, c.s, false))).Spread
		assert.InDelta(t, phi(1), (phi((q-c.d)/c.s)+phi((q+c.d)/c.s))/2, 1e-4, "%+v", c)
	}
	assert.InDelta(t, 0.05, lapsum.Of(driven(keptLap(200, 0, 0.15, 0, false), keptLap(200, 0, 0.05, 0, false))).Spread, 1e-5, "without any spread of their own")
}

// What all stretches say together is what their passes say: drawn by chance, and told by
// the spread of one.
func TestSumIsTheSpreadOfAllStretches(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	var laps []lapsum.Driven
	var all []beside.Weighted
	length := 0.0
	for range 40 {
		mean, spread, along := 0.1+0.05*r.NormFloat64(), 0.01+0.05*r.Float64(), 100+400*r.Float64()
		const looks = 5000
		for range looks {
			all = append(all, beside.Weighted{Value: mean + spread*r.NormFloat64(), Length: along / looks})
		}
		length += along
		laps = append(laps, driven(keptLap(along, 0, mean, spread, false))...)
	}
	slices.SortFunc(all, func(a, b beside.Weighted) int { return cmp.Compare(a.Value, b.Value) })
	assert.InEpsilon(t, beside.Spread(all, length), lapsum.Of(laps).Spread, 0.01)
}

// One pass in twenty, far off and unsteady, is not the driver's spread.
func TestSumIsRobust(t *testing.T) {
	var laps []*assess.LapKeptSummary
	for range 19 {
		laps = append(laps, keptLap(300, 0, 0.1, 0.04, false))
	}
	laps = append(laps, keptLap(300, 0, -4, 5, true))
	assert.InDelta(t, 0.04, lapsum.Of(driven(laps...)).Spread, 0.004)
}

// A bar that hangs laps on the one side what it leaves on the other: told as its hang,
// and taken off the spread.
func TestHang(t *testing.T) {
	laps := driven(keptLap(300, 0, 0.6, 0.04, false), keptLap(300, 0, -0.4, 0.04, true), keptLap(300, 0, 0.6, 0.04, false), keptLap(300, 0, -0.4, 0.04, true))
	hang := lapsum.Hang(laps)
	assert.InDelta(t, 0.5, hang, 1e-12)
	assert.InDelta(t, 0.5, lapsum.Of(laps).Spread, 0.05, "as it stands")
	for i := range laps {
		laps[i].Hang = hang
	}
	s := lapsum.Of(laps)
	assert.InDelta(t, 0.04, s.Spread, 1e-5)
	assert.InDelta(t, 0.1, s.Kept, 1e-12, "what was kept is what was kept")

	assert.Zero(t, lapsum.Hang(laps[:1]), "there is no other side")
	assert.Zero(t, lapsum.Hang(driven(keptLap(300, 0, 0.6, 0.04, false), keptLap(20, 0, -0.4, 0.04, true))), "there is next to none")
}
