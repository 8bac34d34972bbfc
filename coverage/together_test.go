package coverage_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
)

// What a receiver and a logger do to a log, as far as it can be put right
// without a loss.
var mendable = []struct {
	name   string
	defect covertest.Defect
}{
	{"noise", covertest.White(0.02)},
	{"spikes", covertest.Spikes(8, 12)},
	{"nowhere", covertest.Nowhere(8)},
	{"doubled", covertest.Doubled(20)},
	{"out of order", covertest.OutOfOrder(20)},
	{"heading noise", covertest.HeadingNoise(0.05)},
	{"speed noise", covertest.SpeedNoise(0.1)},
	{"clock set back", covertest.ClockJump(333, -7200)},
	{"only working", covertest.OnlyWorking()},
}

// injected gives defects a chance of their own, so that a seed says it all.
func injected(seed uint64, defects ...covertest.Defect) []covertest.Defect {
	out := make([]covertest.Defect, len(defects))
	for i, d := range defects {
		out[i] = func(_ *rand.Rand, log []covertest.Sample) []covertest.Sample {
			return d(rand.New(rand.NewPCG(seed, uint64(i))), log)
		}
	}
	return out
}

// Each defect alone, and handfuls of them in any order, leave the ground what
// it is.
func TestDefectsAloneAndTogether(t *testing.T) {
	const rate = 5
	want := ground(t, barley(rate))
	for _, d := range mendable {
		withinNoise(t, want, ground(t, barley(rate, injected(1, d.defect)...)), d.name+" alone")
	}
	for seed := range uint64(80) {
		r := rand.New(rand.NewPCG(seed, 31))
		var defects []covertest.Defect
		why := fmt.Sprintf("seed %d:", seed)
		for _, k := range r.Perm(len(mendable))[:2+r.IntN(len(mendable)-2)] {
			defects = append(defects, mendable[k].defect)
			why += " " + mendable[k].name + ","
		}
		withinNoise(t, want, ground(t, barley(rate, injected(seed, defects...)...)), why)
	}
}

// The same for a log that does not say when the bar worked, to the tolerances
// of that. Only-working logs end where the log ends; the rest is the motion's.
func TestDefectsOnInferredWork(t *testing.T) {
	for seed := range uint64(3) {
		s := barley(5, injected(seed, covertest.White(0.02), covertest.Spikes(6, 12), covertest.Nowhere(6),
			covertest.Doubled(20), covertest.OutOfOrder(20), covertest.ClockJump(333, -7200))...)
		holdsInferred(t, s, fmt.Sprintf("seed %d", seed))
	}
	s := barley(5, covertest.White(0.02), covertest.OnlyWorking())
	truth := covertest.Raster(s.Field, s.Trails, 0.25)
	g := measure(t, silentOnWork(s).Field, s.Machines, field.Options{Rounds: 2}).Totals
	assert.InDelta(t, truth.Covered(), sq(g.Covered), inferredCovered*truth.Covered())
	assert.InDelta(t, truth.Overlap(), sq(g.Overlap), max(inferredField*sq(g.Field), inferredShare*truth.Overlap()))
}
