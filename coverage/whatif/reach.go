package whatif

import "math"

// A reach is how far an interval goes from the middle of the runs, as shares of
// how far nine of ten runs go to that side: down to its low end, to its own
// middle, and up to its high end.
type reach struct{ low, middle, high float64 }

// The reaches calibrate the intervals of the runs, whose model leaves out that
// steering errors are not Gaussian, that laps are averaged over 40 m, and how much of
// what the log shows is driving. The larger the receiver's error, the more the runs
// overstate skips and understate overlaps. So the reaches are fitted to 811
// simulated fields whose truth is known (those of seeds 20000 to 20810, and 5000 to
// 5079 for steered; see truth_test.go), so that one truth in twenty passes each end.
// TestIntervalsHold and TestIntervalsHoldLong try them on fields of other seeds.
//
// These reaches are for the short-term errors of fixed fixes, of float and
// differential ones, and of single ones; between those they are linear in the
// logarithm of the error.
type reaches [3]reach

var (
	reachErrors = [3]float64{0.02, 0.09, 0.3} // m

	bare  = reaches{{-1.2, 0, 1.1}, {-1.7, -0.4, 1.05}, {-1.95, -0.75, 0.7}} // skip, and waste
	twice = reaches{{-0.95, 0.2, 1.25}, {-1.15, 0.25, 1.9}, {-1.35, 0, 1.4}} // overlap and excess
	// outside is for over-reach, for which no truth was simulated: about the mean
	// of those. Judgement.
	outside = reaches{untried, untried, untried}
	untried = reach{-1.45, 0, 1.45}
	// steered is for all areas where the receiver steered: its error does not show
	// in the log, and is drawn from its model alone. TestIntervalsHoldSteered.
	steered = reach{-1.05, 0, 1.05}
)

// of returns the reach for the machine whose receiver errs most.
func (r reaches) of(h *HowSure) reach {
	if h.ByReceiver {
		return steered
	}
	worst := 0.0
	for _, e := range h.Errors {
		worst = max(worst, e.ShortTerm)
	}
	if worst <= reachErrors[0] {
		return r[0]
	}
	for i := 1; i < len(r); i++ {
		if worst <= reachErrors[i] {
			t := math.Log(worst/reachErrors[i-1]) / math.Log(reachErrors[i]/reachErrors[i-1])
			a, b := r[i-1], r[i]
			return reach{a.low + t*(b.low-a.low), a.middle + t*(b.middle-a.middle), a.high + t*(b.high-a.high)}
		}
	}
	return r[len(r)-1]
}
