package assess_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/assess"
	"lapwing/geo/plane"
)

// What is aimed for is what the job plans: of rounds the headland's lap, else the
// machine's; where it plans none, bars edge to edge, and that the job does not say so.
func TestLapAimedFor(t *testing.T) {
	j := loaded(t) // passes 1 and 4 are the headland's, 2 and 3 not
	aims := func(a *assess.Assessment) (out []assess.KeptLap) {
		for _, l := range a.Laps {
			out = append(out, assess.KeptLap{Aimed: l.Aimed, Planned: l.Planned})
		}
		return out
	}
	none, lap := assess.KeptLap{}, 10*plane.Centimetre
	assert.Equal(t, []assess.KeptLap{none, none, none, none}, aims(do(t, j, assess.Options{})))
	j.Machines[0].Lap = &lap
	planned := assess.KeptLap{Aimed: lap, Planned: true}
	assert.Equal(t, []assess.KeptLap{none, planned, planned, none}, aims(do(t, j, assess.Options{})))
	j.Options.Lap = 5 * plane.Centimetre
	round := assess.KeptLap{Aimed: 5 * plane.Centimetre, Planned: true}
	a := do(t, j, assess.Options{})
	assert.Equal(t, []assess.KeptLap{round, planned, planned, round}, aims(a))
	assert.InDelta(t, -0.6, a.Laps[2].Mean.Metres(), 1e-3, "what is aimed for moves nothing that was kept")
	assert.InDelta(t, 0, a.Laps[2].Spread.Metres(), 1e-3)
}

// The receiver's part is what its error moves two places apart by: of the fixes' quality,
// or as the job says. By formula: of an error with a memory it keeps (1 + a) exp(-a) after
// a time, a = √3 × time / memory (a Matérn process of order 3/2; C. E. Rasmussen, C. K. I.
// Williams, "Gaussian Processes for Machine Learning", 2006, equation 4.17), so that two
// places differ by twice the variance of what it forgot; a minute is the short-term
// error's memory, two hours the drift's.
func TestReceiverBesideTheLap(t *testing.T) {
	j := loaded(t)
	short, drift := 0.03, 0.4
	j.GNSS.ShortTerm, j.GNSS.Drift = &short, &drift
	lap := do(t, j, assess.Options{}).Laps[2]
	require.Greater(t, lap.Apart, 100.0, "seconds")
	forgotten := func(memory float64) float64 {
		a := math.Sqrt(3) * lap.Apart / memory
		return 1 - (1+a)*math.Exp(-a)
	}
	assert.InDelta(t, math.Sqrt(2*(short*short*forgotten(60)+drift*drift*forgotten(7200))), lap.Receiver.Metres(), 1e-6)
	drift = 0
	assert.InDelta(t, math.Sqrt(2*short*short*forgotten(60)), do(t, j, assess.Options{}).Laps[2].Receiver.Metres(), 1e-6)
}
