package agronomy

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/beside"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
)

// normalLaps are laps of one metre each, normal about a mean: evenly spread
// quantiles would do, but chance shows that no order matters.
func normalLaps(mean, s float64) []beside.Weighted {
	r := rand.New(rand.NewPCG(1, 2))
	out := make([]beside.Weighted, 400_000)
	for i := range out {
		out[i] = beside.Weighted{Value: mean + s*r.NormFloat64(), Length: 1}
	}
	return out
}

// With adjacent-pass errors N(0, s) the best lap is s × z(cs / (cs + co)) and
// its cost (cs + co) s φ(z) by metre: computed from the newsvendor's critical
// fractile F(Q*) = cu / (cu + co) (lecture slide, S. Nahmias, "Production and
// Operations Analysis").
func TestBestLap(t *testing.T) {
	for _, c := range []struct{ skipped, doubled, s, best, cost float64 }{
		{1, 1, 1, 0, 0.797885},
		{3, 1, 1, 0.674490, 1.271106},
		{9, 1, 1, 1.281552, 1.754983},
		{5, 1, 3, 2.902265, 4.497317},
		{2, 1, 4, 1.722909, 4.363197},
	} {
		got := studyLaps(normalLaps(0.3, c.s), StripCosts{Skipped: c.skipped, Doubled: c.doubled})
		// Of 400,000 laps a quantile's standard error is some 0.002 s, at z = 1.28 0.003.
		assert.InDelta(t, c.best, got.Best, 0.01*c.s, "%+v", c)
		assert.InDelta(t, c.cost, got.BestCost/got.Length, 0.01*c.s, "%+v", c)
		assert.Less(t, got.BestCost, got.Cost)
		least := got.Curve[0]
		for _, at := range got.Curve {
			if at.Skipped+at.Doubled < least.Skipped+least.Doubled {
				least = at
			}
		}
		assert.InDelta(t, c.best, least.Lap, (got.Curve[1].Lap-got.Curve[0].Lap)+0.01*c.s, "the curve is least there")
	}
}

// Only the ratio of the costs moves the best lap; the costs go with the prices.
func TestBestLapPriceNeutral(t *testing.T) {
	laps := normalLaps(0.1, 0.2)
	a := studyLaps(laps, StripCosts{Skipped: 3, Doubled: 1})
	b := studyLaps(laps, StripCosts{Skipped: 3 * 1.7, Doubled: 1.7})
	assert.InDelta(t, a.Best, b.Best, 1e-9)
	assert.InEpsilon(t, 1.7*a.Cost, b.Cost, 1e-12)
}

// Reckoned by hand: 300 m that lap by 10 cm and 100 m that leave 20 cm have a mean lap of
// (30 m² - 20 m²) / 400 m; at 14 for a square metre that is skipped and 2 for one that is
// doubled they cost 280 + 60. No skip is left once all laps are 20 cm more: 300 m doubled by 30 cm.
func TestLapsByHand(t *testing.T) {
	laps := []beside.Weighted{{Value: 0.10, Length: 300}, {Value: -0.20, Length: 100}}
	got := studyLaps(laps, StripCosts{Skipped: 14, Doubled: 2})
	assert.InDelta(t, 400, got.Length, 1e-9)
	assert.InDelta(t, 0.025, got.Mean, 1e-9)
	assert.InDelta(t, 20, got.Skipped, 1e-9)
	assert.InDelta(t, 30, got.Doubled, 1e-9)
	assert.InDelta(t, 14*20+2*30, got.Cost, 1e-9)
	// One metre in eight may leave a skip, and a quarter does: the best lap has none.
	assert.InDelta(t, 0.225, got.Best, 1e-9)
	assert.InDelta(t, 2*90, got.BestCost, 1e-9)
	// The curve has today's lap and the best one inside, and its middle midway.
	first, last := got.Curve[0], got.Curve[len(got.Curve)-1]
	assert.InDelta(t, 0.025+0.225, first.Lap+last.Lap, 1e-9)
	assert.InDelta(t, 0.025-2*max(got.Spread, leastReach), first.Lap, 1e-9, "two spreads past it")
	for _, at := range got.Curve {
		if at.Lap > 0.225 { // all is lapped, and each centimetre more is 4 m² more
			assert.InDelta(t, 2*(90+400*(at.Lap-0.225)), at.Doubled, 1e-9)
			assert.Zero(t, at.Skipped)
		}
	}
	// At its lowest lap all but a little is skipped, at 14 a square metre.
	assert.InDelta(t, 14*(300*max(0, -(0.10+first.Lap-0.025))+100*-(-0.20+first.Lap-0.025)), first.Skipped, 1e-9)
}

// The spread is that of the laps of steering, though some are of another kind: one in
// twenty, four to eight times as far off, doubles the root mean square.
func TestSpreadIsRobust(t *testing.T) {
	const s = 0.11 // m
	laps := normalLaps(0.05, s)
	assert.InDelta(t, s, studyLaps(slices.Clone(laps), StripCosts{Skipped: 1, Doubled: 1}).Spread, 0.01*s)
	r := rand.New(rand.NewPCG(3, 4))
	squares := 0.0
	for i := range laps {
		if r.IntN(20) == 0 {
			laps[i].Value = 0.05 + s*(4+4*r.Float64())*float64(1-2*r.IntN(2))
		}
		squares += (laps[i].Value - 0.05) * (laps[i].Value - 0.05)
	}
	require.Greater(t, math.Sqrt(squares/float64(len(laps))), 1.6*s)
	assert.InDelta(t, s, studyLaps(laps, StripCosts{Skipped: 1, Doubled: 1}).Spread, 0.12*s)
}

// Lanes a metre apart, and a metre on each other, in turn.
func TestLaps(t *testing.T) {
	s := covertest.Lanes("0-10 11-21 20-30 31-41 40-50", 200)
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(t, err)
	assert.Nil(t, Laps(m, StripCosts{Doubled: 1}))
	var got LapStudy
	for _, l := range Laps(m, StripCosts{Skipped: 2, Doubled: 1}) {
		if !l.Headland {
			got = l
		}
	}
	require.NotZero(t, got.Length)
	assert.InDelta(t, 1, got.Spread, 0.1)
	assert.InDelta(t, 0, got.Mean, 0.3)
	assert.InDelta(t, 1, got.Best, 0.3, "a gap costs more than a lap: none is left")
	// Two of the four pairs are of passes inside the headland; each counts once, though both passes
	// have it as a neighbour.
	assert.InDelta(t, 2*200, got.Length, 20)
}

// One pass that goes round and round laps itself: each round but the outermost has another
// outside it, and each such pair of rounds counts once.
func TestLapsOfOnePass(t *testing.T) {
	ground := covertest.Rectangle(0, 0, 150, 120)
	s := covertest.NewScene("rounds", ground).Drive(covertest.Rig{
		Name: "drill", Implement: covertest.Mounted(6, 2, 1), Speed: 2, Rate: 5, Heading: true,
		Path: covertest.NewPath(7).RoundAndRound(ground.Inset(3), 5.7, 8, 20, 3),
	})
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(t, err)
	require.Len(t, m.Passes, 1)
	whole := m.Passes[0].Poses[len(m.Passes[0].Poses)-1].Along.Metres()
	length, lapped := 0.0, 0.0
	for _, l := range Laps(m, StripCosts{Skipped: 2, Doubled: 1}) {
		length += l.Length
		lapped += l.Doubled
	}
	outermost := 2 * (144 + 114.0) // m, less what the corners cut off
	assert.InEpsilon(t, whole-outermost, length, 0.1, "neighbours are not told on the tightest of the bends")
	assert.InDelta(t, 0.3*length, lapped, 0.05*length, "rounds of 6 m, 5.7 m apart")
}

func TestStripCosts(t *testing.T) {
	cost := 100.0 / 1e4
	rate, price := 0.01, Price{PerKilogram: 1, Currency: "USD"}
	crop := &Crop{Yield: 0.4, Price: &Price{PerKilogram: 0.1, Currency: "USD"}}
	a := &Reckoning{Crop: crop, Accounts: []Account{{Product: Product{Name: "seed", MassRate: &rate, Price: &price}}}}
	got := a.StripCosts()
	assert.InDelta(t, cost, got.Doubled, 1e-12)
	assert.InDelta(t, 0.04-cost, got.Skipped, 1e-12)
	assert.Empty(t, got.Unsaid)
	crop.Compensation = 0.5
	assert.InDelta(t, 0.02-cost, a.StripCosts().Skipped, 1e-12)
	assert.False(t, (&Reckoning{Accounts: a.Accounts}).StripCosts().Known())
	a.Accounts[0].Product.Price = nil
	got = a.StripCosts()
	assert.False(t, got.Known())
	assert.Equal(t, []string{"seed has no cost and is left out", "no product has a cost, so a doubled strip costs nothing that is known"}, got.Unsaid)
}
