package cover

import (
	"cmp"
	"math"
	"slices"

	"lapwing/coverage/machine"
	"lapwing/geo"
)

// A run is steps that follow each other.
type run struct {
	steps []int
	at    []float64 // the time at the beginning of each and at the end of the last, in seconds after the first
	spans []span
	host  bool // a section that is a run of its own works beside it
}

// A span is the bar's way between two fixes of a run.
type span struct {
	step     int
	from, to float64       // shares of the step's way
	at, till float64       // s
	beside   machine.State // what runs beside it add to the step's own part of the bar
}

// runs are all of the log, in the order of their time. Several polygons may have one
// time: between two times the bar is taken to go at one speed.
func (c *composer) runs() []run {
	var all []run
	begin := c.timeOf(c.byTime()[0])
	usual := c.usualSpeed()
	for _, k := range c.byTime() {
		if c.steps[k].before >= 0 {
			continue
		}
		r := run{}
		var ways, stamps []float64 // by step: how far the bar had come, and its time
		way := 0.0
		for ; k >= 0; k = c.steps[k].after {
			r.steps = append(r.steps, k)
			ways = append(ways, way)
			stamps = append(stamps, c.timeOf(k).Sub(begin).Seconds())
			way += c.length(k)
		}
		r.at = spread(append(ways, way), stamps, usual)
		all = append(all, r)
	}
	return all
}

// longest is how long the longest step of a run took, in seconds.
func (r *run) longest() (most float64) {
	for i := range r.steps {
		most = max(most, r.at[i+1]-r.at[i])
	}
	return most
}

// timeOf is the time that the polygons of a step bear.
func (c *composer) timeOf(k int) geo.Instant {
	return c.fixes[c.cells[c.steps[k].cells[0]].polygon].Time
}

// byTime are the steps in the order of their time.
func (c *composer) byTime() []int {
	order := make([]int, len(c.steps))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(c.timeOf(a), c.timeOf(b)) })
	return order
}

// spread gives a time to each of ways, of which all but the last have a stamp. Where
// a stamp repeats, and at the end, the speed tells.
func spread(ways, stamps []float64, usual float64) []float64 {
	out := make([]float64, len(ways))
	from := 0
	for from < len(stamps) {
		to := from + 1
		for to < len(stamps) && stamps[to] <= stamps[from] {
			to++
		}
		speed := usual
		if to < len(stamps) && ways[to] > ways[from] {
			speed = (ways[to] - ways[from]) / (stamps[to] - stamps[from])
		}
		for k := from; k < to; k++ {
			out[k] = stamps[from] + (ways[k]-ways[from])/speed
		}
		from = to
	}
	n := len(out) - 1
	out[n] = out[n-1] + (ways[n]-ways[n-1])/usual
	for k := 1; k < len(out); k++ {
		out[k] = max(out[k], out[k-1]+1e-3)
	}
	return out
}

// usualSpeed is the median speed from one step to the next of another time.
func (c *composer) usualSpeed() float64 {
	var speeds []float64
	for k := range c.steps {
		to := c.steps[k].after
		if to < 0 {
			continue
		}
		dt := c.timeOf(to).Sub(c.timeOf(k)).Seconds()
		if v := c.length(k) / dt; dt > 0 && v > 0 {
			speeds = append(speeds, v)
		}
	}
	if len(speeds) == 0 {
		return guessedSpeed
	}
	slices.Sort(speeds)
	return speeds[len(speeds)/2]
}

// Between two fixes no more time passes than longestSpan, so that the log is not
// silent there, and the bar goes no farther than hostSpan where a section beside the
// run opens and shuts by itself: that far off its ground may begin and end. Judgement.
// TestOddPolygons fails where longestSpan is halved; no test holds hostSpan closely.
const (
	longestSpan = 1.0 // s
	hostSpan    = 0.5 // m
)

// divide divides the way of a run into spans.
func (c *composer) divide(r *run) {
	for i, k := range r.steps {
		s := &c.steps[k]
		n := 1
		for _, at := range s.cells {
			n = max(n, len(c.cells[at].left)-1)
		}
		took := r.at[i+1] - r.at[i]
		more := took / longestSpan
		if r.host {
			more = max(more, c.length(k)/hostSpan)
		}
		if extra := math.Ceil(more) - float64(n); extra > 0 && extra < float64(c.room) {
			n += int(extra)
			c.room -= int(extra)
		}
		for j := range n {
			from, to := float64(j)/float64(n), float64(j+1)/float64(n)
			r.spans = append(r.spans, span{step: k, from: from, to: to, at: r.at[i] + from*took, till: r.at[i] + to*took})
		}
	}
}
