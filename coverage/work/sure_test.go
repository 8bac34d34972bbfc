package work_test

import (
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage"
	"lapwing/coverage/field"
	"lapwing/coverage/work"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// What is said of doubt.
const (
	bands      = 5    // from 50 to 100 %
	offBy      = 0.05 // that what is right in a band may differ from what was said, of 400 fields
	offByFew   = 0.1  // and of 80, where little of the way is in a band
	leastTold  = 1000 // m of way in a band: of less, a stretch or two would decide
	leastAbove = 1. / 3
)

// TestSureness asks, on fields whose truth is known and that follow from the sources, whether
// what is told with a certainty is right so often: over all stretches by their length, in five
// bands. Twenty fields do not tell: stretches of little certainty are short, and few. With
// LAPWING_LONG=1 they are four hundred.
func TestSureness(t *testing.T) {
	times, off := 4, offByFew
	if os.Getenv("LAPWING_LONG") != "" {
		times, off = 20, offBy
	}
	fields := judgedFields(seedOf(t)+1e6, times)
	type tally struct{ way, said, right float64 }
	tallies := make([][bands]tally, len(fields))
	parallel.Each(len(fields), func(i int) {
		f := &fields[i]
		truth := f.Passes()
		_, judged, _ := coverage.Split(f.Field, f.Machines, field.Options{Rounds: f.Rounds})
		for k := range judged {
			j := &judged[k]
			b := &tallies[i][min(bands-1, int((j.Sure-0.5)*2*bands))]
			way := float64(j.Length)
			b.way += way
			b.said += way * j.Sure
			b.right += way * rightOf(j, truth)
		}
	})
	var all [bands]tally
	whole := 0.0
	for i := range tallies {
		for k := range all {
			all[k].way += tallies[i][k].way
			all[k].said += tallies[i][k].said
			all[k].right += tallies[i][k].right
			whole += tallies[i][k].way
		}
	}
	for k, b := range all {
		t.Logf("%d to %d %%: %.2f %% of the way, said %.1f %%, right %.1f %%", 50+10*k, 60+10*k, 100*b.way/whole, 100*b.said/b.way, 100*b.right/b.way)
		if b.way >= leastTold*float64(plane.Metre) {
			assert.InDelta(t, b.said/b.way, b.right/b.way, off, "from %d to %d %%", 50+10*k, 60+10*k)
		}
	}
	assert.Greater(t, all[bands-1].way/whole, leastAbove)
}

// rightOf is the share of a judgement's time in which it is right.
func rightOf(j *work.Judgement, truth []work.Pass) float64 {
	worked, took := 0.0, j.End.Sub(j.Start).Seconds()
	for i := range truth {
		if p := &truth[i]; p.Machine == j.Machine {
			worked += math.Max(0, min(p.End, j.End).Sub(max(p.Start, j.Start)).Seconds())
		}
	}
	share := math.Min(1, worked/took)
	if took == 0 {
		share = 0
	}
	if j.Works {
		return share
	}
	return 1 - share
}
