package whatif

import (
	"math"

	"lapwing/coverage"
	"lapwing/geo"
)

// An ReceiverError is how far off a receiver's places are: standard deviations in
// metres, east and as much north.
//
// ISO 12188 tells the two apart by time: what two passes within 15 minutes of
// each other differ by is the pass-to-pass error, and leaves the drift out.
type ReceiverError struct {
	ShortTerm float64 // forgotten within minutes: what two neighbouring passes differ by is √2 of it
	Drift     float64 // wanders over hours, and moves neighbours alike
}

// A memory is how a part of an error changes.
type memory struct {
	seconds float64
	smooth  bool // has a speed of its own; else it is pushed about from one moment to the next
}

// correlation is that of the error at two times.
func (m memory) correlation(seconds float64) float64 {
	a := math.Abs(seconds) / m.seconds
	if !m.smooth {
		return math.Exp(-a)
	}
	a *= math.Sqrt(3)
	return (1 + a) * math.Exp(-a)
}

// How fast errors change.
//
// The autocorrelation of a receiver's horizontal error over twenty days bends
// after about a minute (D. L. Wilson, "Correlation of errors", 2001). Yet no two
// receivers filter alike, what trees and buildings reflect comes and goes with the
// way, and corrections wander by themselves. So the short-term error of a log is
// taken to have one of these memories, each as likely as the next before the log has
// been looked at, and one of two shapes: smooth (Matérn 3/2), as satellites,
// ionosphere and the filter in a receiver make it, or exponential. Three stand for all
// from 20 s to 10 min, which range is judgement; TestIntervalsHoldElsewhereLong tries
// others.
//
// What is left fades over hours: it changes by a fifth of itself within 15 minutes.
// That two hours are its memory is judgement, and so is that it is smooth. What jumps
// from fix to fix is smoothed away before a pass is swept.
var (
	shortMemories = []memory{{25, true}, {110, true}, {500, true}, {25, false}, {110, false}, {500, false}}
	usualMemory   = memory{60, true} // where one is wanted, and where a field has too many passes to try more
	driftMemory   = memory{2 * 3600, true}
)

// ErrorOf returns what to expect of a receiver whose fixes are of a quality.
//
// Published are cross-track standard deviations of 1.4 cm with corrections from a
// base station and 2.6 cm with satellite corrections (Carballido et al.,
// Applied Engineering in Agriculture 30(3):361-366, 2014); pass-to-pass errors
// at 95 %, so of the difference of two passes, of 4.5 cm with a base station
// and 11.5 cm with wide-area corrections under an open sky, and 22.5 and
// 25.5 cm beside trees, in trials of a steered tractor in Poland; a logger without
// corrections off by 0.55 m on average (Catania et al., Agronomy 10(7):924,
// 2020). The figures below are those, rounded up; float and all drifts are judgement.
// A log that does not say is taken for one with differential corrections.
func ErrorOf(q geo.Quality) ReceiverError {
	switch q {
	case geo.Fixed:
		return ReceiverError{ShortTerm: 0.02, Drift: 0.01}
	case geo.Float, geo.PPS:
		return ReceiverError{ShortTerm: 0.08, Drift: 0.2}
	case geo.Single, geo.Estimated, geo.Manual:
		return ReceiverError{ShortTerm: 0.3, Drift: 1}
	case geo.Simulated:
		return ReceiverError{}
	}
	return ReceiverError{ShortTerm: 0.1, Drift: 0.4}
}

// QualityOf returns the quality that most fixes of a machine of a map have.
func QualityOf(m *coverage.Map, machine int) geo.Quality {
	if machine >= len(m.Records) {
		return geo.QualityUnknown
	}
	return m.Records[machine].Quality()
}

// Between returns the standard deviation, in metres on one axis, of what two places
// that one receiver told so many seconds apart differ by on its account alone.
func (e ReceiverError) Between(seconds float64) float64 {
	short, drift := e.together(usualMemory, seconds)
	return math.Sqrt(max(0, 2*(e.ShortTerm*e.ShortTerm-short+e.Drift*e.Drift-drift)))
}

// together returns the covariances, in m², of the two parts of the errors at
// two times so many seconds apart, on one axis.
func (e ReceiverError) together(m memory, seconds float64) (short, drift float64) {
	return e.ShortTerm * e.ShortTerm * m.correlation(seconds), e.Drift * e.Drift * driftMemory.correlation(seconds)
}
