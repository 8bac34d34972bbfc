package track

import (
	"math"
	"slices"
)

// A log may hold the fixes of several machines, one among the other, without saying
// so. Taken as one machine, the fixes of each would be spikes on the way of the
// other. The figures are judgement; TestTwoMachinesInOneLog shows what they do, and
// holds none of them closely.
const (
	farApart    = 30.0 // m; two machines are at least so far apart, mostly
	streamLeast = 20   // leaps to and fro in a log of several machines, and fixes of each, at least
	streamShare = 0.02 // of the fixes of such a log are leaps, at least
	mostStreams = 8    // machines in one log
	mainShare   = 10   // a machine has at least a tenth of the fixes of the one with the most
)

// streams separates the places of several machines, each in order; nil where
// they are those of one.
func streams(places []place) [][]place {
	leaps := 0
	for i := 1; i < len(places); i++ {
		if leapsAway(&places[i-1], &places[i]) {
			leaps++
		}
	}
	if leaps < streamLeast || float64(leaps) < streamShare*float64(len(places)) {
		return nil
	}
	// Each place goes on from the stream it is nearest to, if that could get
	// there, or else begins a stream.
	var last []int // place of each stream
	of := make([]int, len(places))
	var count []int
	for i := range places {
		best, least := -1, math.Inf(1)
		for s, k := range last {
			d := math.Hypot(places[k].x-places[i].x, places[k].y-places[i].y)
			if d < least && (!leapsAway(&places[k], &places[i]) || len(last) == mostStreams) {
				best, least = s, d
			}
		}
		if best < 0 && len(last) == mostStreams {
			best = 0
		}
		if best < 0 {
			best = len(last)
			last, count = append(last, i), append(count, 0)
		}
		of[i], last[best] = best, i
		count[best]++
	}
	most := slices.Max(count)
	var main []int
	for s, n := range count {
		if n >= streamLeast && n*mainShare >= most {
			main = append(main, s)
		}
	}
	turns := 0 // from one of the streams to another
	for i := 1; i < len(of); i++ {
		if of[i] != of[i-1] && slices.Contains(main, of[i]) && slices.Contains(main, of[i-1]) {
			turns++
		}
	}
	if len(main) < 2 || turns < streamLeast {
		return nil
	}
	out := make([][]place, len(main))
	now := 0 // a fix of no main stream is a spike in the one before it
	for i := range places {
		if at := slices.Index(main, of[i]); at >= 0 {
			now = at
		}
		out[now] = append(out[now], places[i])
	}
	return out
}

// leapsAway reports whether no machine gets from a to b.
func leapsAway(a, b *place) bool {
	d := math.Hypot(a.x-b.x, a.y-b.y)
	return d > farApart && d > topSpeed*b.fix.Time.Sub(a.fix.Time).Seconds()
}
