package stance

import (
	"math"

	"lapwing/coverage/track"
)

// A windowing says how far smoothing reaches from each station of a run.
type windowing struct {
	way        []float64 // m along the run, of each station
	begin, end float64   // m, the reach at the first and at the last station
}

// The window at the first and last station of a run is one-sided, and place and
// direction there are noisier: over 1.4 baselines at 5 Hz, 2 cm of noise turn the
// bar by more than a degree. So that window is widened for as long as one parabola
// still fits all stations in it, which keeps the shape of a turn. The figures are
// judgement; no test holds them closely.
const (
	oneSided    = 1.4  // baselines of reach, at least
	longSided   = 4.0  // baselines, about, at most
	longerBy    = 1.35 // growth of the reach at each try
	rougher     = 1.5  // growth of the mean square off the parabola that still counts as a fit
	smoothLeast = 5e-4 // m off the parabola that always count as a fit
	toTell      = 6    // stations in the window, at least, to tell the fit
)

func newWindowing(st []track.Station, way []float64) windowing {
	return windowing{way, sided(st, way, 1), sided(st, way, -1)}
}

// reach returns how far smoothing reaches from station i of the run.
func (r *windowing) reach(i int) float64 {
	s := r.way
	return max(Baseline, r.begin-(s[i]-s[0]), r.end-(s[len(s)-1]-s[i]))
}

// sided returns the reach at the first station, for a step of 1, or at the last,
// for -1.
func sided(st []track.Station, way []float64, step int) float64 {
	reach := oneSided * Baseline
	before, n := offParabola(st, way, step, reach)
	for n >= toTell && reach < longSided*Baseline {
		longer := reach * longerBy
		off, m := offParabola(st, way, step, longer)
		if m == n || off > rougher*before+smoothLeast*smoothLeast {
			break
		}
		reach, before, n = longer, off, m
	}
	return reach
}

// offParabola returns the mean square by which the stations within reach of
// the first or last lie off one parabola, in m², and how many they are.
func offParabola(st []track.Station, way []float64, step int, reach float64) (float64, int) {
	from, to := 0, len(st)
	if step > 0 {
		for to = 0; to < len(st) && way[to]-way[0] <= reach; to++ {
		}
	} else {
		for from = len(st); from > 0 && way[len(st)-1]-way[from-1] <= reach; from-- {
		}
	}
	n := to - from
	if n < toTell {
		return 0, n
	}
	w := window{s0: way[from], x0: st[from].X, y0: st[from].Y}
	for k := from; k < to; k++ {
		w.add(way[k], st[k].X, st[k].Y, 1)
	}
	sum := 0.0
	for k := from; k < to; k++ {
		p := w.at(way[k], math.Inf(1), n)
		sum += (p.x-st[k].X)*(p.x-st[k].X) + (p.y-st[k].Y)*(p.y-st[k].Y)
	}
	return sum / float64(2*n-6), n
}
