package assess_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/assess"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/geo/plane"
)

// judged measures lanes of 300 m and judges the last pass of each machine. The ends of
// lanes may stop a metre short of the boundary, which counts as reached.
func judged(t *testing.T, lanes string) *assess.Assessment {
	t.Helper()
	s := covertest.Lanes(lanes, 300)
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{EdgeTolerance: 120 * plane.Centimetre})
	require.NoError(t, err)
	a := &assess.Assessment{Reckoning: agronomy.Reckon(m, nil, nil), MinArea: plane.SquareMetre}
	q := assess.LastQuestion{Machine: -1}
	a.Last, err = a.LastPasses(q)
	require.NoError(t, err)
	a.Verdict, err = a.Judge(q)
	require.NoError(t, err)
	return a
}

// The first thing to act on, by the picture: lanes from one side of a field to the
// other, in metres, the last one asked about.
func TestVerdict(t *testing.T) {
	for lanes, want := range map[string]assess.Finding{
		"0-100: 0-10 9.9-19.9 19.8-29.8": assess.CarryOn,
		// Between the last two 60 cm are bare along 300 m: 180 m2, wider than a foot.
		"0-100: 0-10 9.9-19.9 20.5-30.5": assess.GoBack,
		// 20 cm: narrower than a foot, nobody drives back for it.
		"0-100: 0-10 9.9-19.9 20.1-30.1": assess.CarryOn,
		// Nothing is beside the last pass at all, and the ground between is still to be worked.
		"0-100: 0-10 9.9-19.9 50-60": assess.CannotSay,
		// A foot is the row that is taken where none is known; 2 m of lap are six.
		"0-100: 0-10 9.9-19.9 17.9-27.9": assess.WideLap,
		// Two metres off the boundary, longer than the bar is wide.
		"0-100: 2-12": assess.HeadlandOpen,
	} {
		assert.Equal(t, want, judged(t, lanes).Verdict.First(), lanes)
	}
}

// A lap that the job plans is not wide.
func TestVerdictOnAPlannedLap(t *testing.T) {
	a := judged(t, "0-100: 0-10 9.9-19.9 17.9-27.9")
	require.Equal(t, assess.WideLap, a.Verdict.First())
	planned := 180 * plane.Centimetre
	a.Map.Machines[0].Lap = &planned
	v, err := a.Judge(assess.LastQuestion{Machine: -1})
	require.NoError(t, err)
	assert.Equal(t, assess.CarryOn, v.First(), "2 m are within a foot of it")
}

// What else was found follows, and what it weighs.
func TestVerdictOrder(t *testing.T) {
	a := judged(t, "0-100: 2-12 12.6-22.6")
	assert.Equal(t, []assess.Finding{assess.HeadlandOpen, assess.GoBack}, a.Verdict.Findings)
	require.Len(t, a.Verdict.Back.Plan.Places, 1, "headland and interior part it; to a driver it is one")
	assert.False(t, a.Verdict.Back.Weighed)
	assert.Nil(t, a.Verdict.Back.Balance())
	for _, o := range a.Verdict.Openings {
		assert.Greater(t, o.Length.Metres(), 10.0, "longer than the bar is wide")
		assert.Less(t, o.Max, 8*plane.Distance(plane.Metre), "where no pass was, it is still to be driven")
	}

	// The whole side is known where the next pass, to be driven yet, is on the other.
	a = judged(t, "0-100: 0-10 9.9-19.9")
	assert.Equal(t, []assess.Finding{assess.CarryOn}, a.Verdict.Findings)
	assert.Empty(t, a.Verdict.Alone)
}

// What skips take is their part of the drive, and together the drive; without a drive
// nothing is said.
func TestDetours(t *testing.T) {
	a := judged(t, "0-51.4: 0-10 9.9-19.9 20.5-30.5 30.4-40.4 41.4-51.4")
	assert.Empty(t, a.Detours())
	var err error
	a.Mend, err = a.PlanDrive(assess.MendQuestion{Machine: -1})
	require.NoError(t, err)
	takes := a.Detours()
	require.Len(t, takes, len(a.Mend.Skips()))
	sum := 0.0
	for _, took := range takes {
		assert.Positive(t, took)
		sum += took.Seconds()
	}
	assert.InDelta(t, a.Mend.Plan.Time(a.Map.MeanSpeed()).Seconds(), sum, 1e-3)
}

// Asked about the last pass, about the whole drive, or what if: a skip is worth going
// back for or it is not.
func TestGoingBackIsOneAnswer(t *testing.T) {
	a := judged(t, "0-51.4: 0-10 9.9-19.9 20.5-30.5 30.4-40.4 41.4-51.4")
	price := agronomy.Price{PerKilogram: 0.19, Currency: "EUR"}
	a.Crop = &agronomy.Crop{Yield: 0.72, Price: &price, Compensation: 0.2}
	for hourly, worth := range map[float64]bool{1: true, 1e5: false} {
		back := agronomy.GoingBack{Cost: hourly / 3600, Currency: "EUR"}
		whole, err := a.PlanDrive(assess.MendQuestion{Machine: -1, GoingBack: back})
		require.NoError(t, err)
		require.Equal(t, worth, len(whole.Plan.Places) > 0)
		v, err := a.Judge(assess.LastQuestion{Machine: -1, GoingBack: back})
		require.NoError(t, err)
		require.True(t, v.Back.Weighed)
		worths := map[int]agronomy.Worth{}
		for _, w := range whole.Worths {
			worths[w.Skip] = w
		}
		for _, w := range v.Back.Worths {
			assert.Equal(t, worths[w.Skip], w)
		}
		assert.Subset(t, whole.Skips(), v.Back.Skips())
		if b := whole.Balance(); worth {
			assert.Greater(t, b.Low, b.Takes)
		} else {
			assert.Zero(t, *b)
		}
	}
}
