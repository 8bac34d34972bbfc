package track

import (
	"slices"
	"time"

	"lapwing/coverage/field"
	"lapwing/geo"
)

// A Gap is a silence of a log that is longer than a swath bridges.
type Gap struct {
	Fix      int // the first after it
	Duration time.Duration
}

// Gaps returns the gaps in the fixes of a log, in their order, and the usual
// time from one fix to the next: the median. Fixes should be in order of time; a
// step back in time is no gap.
func Gaps(fixes []geo.Fix, opt field.Options) (gaps []Gap, usual time.Duration) {
	beat := Beat{len(fixes), func(i int) geo.Instant { return fixes[i].Time }}
	for i := 1; i < len(fixes); i++ {
		if beat.gap(i, &opt) {
			gaps = append(gaps, Gap{i, beat.step(i)})
		}
	}
	return gaps, beat.Usual(1, len(fixes))
}

// shortGap is how long a log may be silent whatever its usual interval: judgement,
// held by TestGaps.
const shortGap = 3 * time.Second

// unbroken returns the longest time between two fixes that is no silence, in a log
// of that usual interval: judgement, explained at [field.Options].MaxGap.
func unbroken(usual time.Duration) time.Duration { return max(shortGap, usual*5/2) }

// maxGap returns the longest silence a swath bridges in a log of that usual
// interval.
func maxGap(o *field.Options, usual time.Duration) time.Duration {
	if o.MaxGap > 0 {
		return o.MaxGap
	}
	return unbroken(usual)
}

// A Beat is the times of n fixes: how often a log says where the machine is.
type Beat struct {
	n  int
	at func(i int) geo.Instant
}

// step returns the time from the fix before to fix i.
func (t Beat) step(i int) time.Duration { return t.at(i).Sub(t.at(i - 1)) }

// gap reports whether the log is silent before fix i for longer than opt allows.
// The usual interval is that of the fixes around: some logs have one rate on the
// lines and another in turns.
func (t Beat) gap(i int, opt *field.Options) bool {
	d := t.step(i)
	return d > maxGap(opt, 0) && d > maxGap(opt, t.Usual(max(1, i-Around), min(i+Around+1, t.n)))
}

// Around is how many intervals either way make the usual one: TestChangingRate.
const Around = 8

// Usual returns the median of the times from the fix before to fixes
// from ≤ i < to; 0 where all are 0.
func (t Beat) Usual(from, to int) time.Duration {
	steps := make([]time.Duration, 0, 2*Around+1) // mostly enough
	for i := from; i < to; i++ {
		if d := t.step(i); d > 0 {
			steps = append(steps, d)
		}
	}
	if len(steps) == 0 {
		return 0
	}
	slices.Sort(steps)
	return steps[len(steps)/2]
}
