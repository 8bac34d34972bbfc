package whatif

import "math"

// A reach is how far an interval goes from the middle of the runs, as shares of
// how far nine of ten runs go to that side: down to its low end, to its own
// middle, and up to its high end.
type reach struct{ low, middle, high float64 }

// The reaches calibrate the intervals of the runs, whose model leaves out that
// steering errors are not Gaussian, what of an error changes within the seconds between two
// nodes, of which the runs leave most where it was, and how much of what the log
// shows is driving. That is why skips are somewhat overstated where the error is large
// and short, and why intervals go farther than nine of ten runs do. The reaches are set by
// simulated fields whose truth is known: 20 and more of each quality of fixes (those of seeds 1000
// to 1023; see elsewhere_test.go), each with a memory and a shape of its own, and are
// rounded outward. TestIntervalsHoldElsewhere and TestIntervalsHoldElsewhereLong
// try them on fields of other seeds, TestIntervalsHold and TestIntervalsHoldLong on
// fields made in another way.
//
// These reaches are for the short-term errors of fixed fixes, of float and
// differential ones, and of single ones; between those they are linear in the
// logarithm of the error.
type reaches [3]reach

var (
	reachErrors = [3]float64{0.02, 0.09, 0.3} // m

	bare  = reaches{{-1.4, 0, 1.4}, {-1.8, -0.35, 1}, {-2.6, -0.4, 0.9}} // skip, and waste
	twice = reaches{{-1.5, 0, 1.5}, {-1.65, 0, 1.4}, {-2.5, -0.1, 1.2}}  // overlap and excess
	// outside is for over-reach, for which no truth was simulated: about the mean
	// of those. Judgement.
	outside = reaches{untried, untried, untried}
	untried = reach{-1.6, 0, 1.4}
	// steered is for all areas where the receiver steered: its error does not show
	// in the log, and is drawn from its model alone. It was set by seeds 5000 to 5079 of
	// truth_test.go. TestIntervalsHoldSteered.
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
