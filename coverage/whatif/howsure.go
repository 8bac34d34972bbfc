package whatif

import (
	"math"
	"math/rand/v2"
	"slices"

	"lapwing/coverage"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// Options say how to look into how sure a map is. The zero value is usual.
type Options struct {
	Runs int    // zero means 200; fewer where a run takes long, see HowSure.Runs
	Seed uint64 // the same seed gives the same answer
	// Errors is the receiver's error of each machine; nil means that of the
	// quality most of its fixes have.
	Errors []ReceiverError
	// Steering says what the machine was steered by.
	Steering Steering
	// Groups say of each machine whether it carries a product whose waste is
	// wanted.
	Groups [][]bool
	// MostSkips is how many skips, from the largest, are looked at. Zero means 50.
	MostSkips int
}

// Steering is what steers a machine, as far as it matters to what its log
// shows of the receiver's error.
type Steering int

// What machines are steered by.
const (
	// Told leaves the answer to the log: laps that are steadier than the
	// receiver's own error allows were steered by the receiver.
	Told Steering = iota
	// Otherwise: by eye, by a marker, by another receiver. The log then shows
	// the receiver's error, and the ground does not.
	Otherwise
	// ByReceiver: by the receiver that made the log. It holds the machine where
	// the receiver says the line is, so that the ground shows the receiver's error,
	// and the log does not.
	ByReceiver
)

// steadierBy is how much likelier, as a natural logarithm, the laps must be without
// the receiver's error in them than with it for the receiver to be taken to have
// steered: some 400 to 1. Judgement. No test holds it closely.
const steadierBy = 6

// An Interval holds a true value in nine cases of ten.
type Interval struct {
	Low, Middle, High float64 // m²; Middle is as likely too large as too small
}

// A HowSure is how far the areas of a map may be off because its receivers
// are.
type HowSure struct {
	Runs       int             // how often it was measured again
	Asked      int             // how often it was to be
	Errors     []ReceiverError // of each machine
	ByReceiver bool            // whether the receiver was taken to have steered
	Skip       Interval
	Overlap    Interval
	Excess     Interval
	OverReach  Interval
	Wasted     []Interval // of each group, the ground
	Looked     []int      // the skips looked at, indices into Map.Skips
	Skips      []float64  // of each of these, in how many of the runs, 0 to 1, some of it stays bare, less what was likely worked after all; see [cause.Doubt]
}

// A Certainty is how sure a skip is, in words.
type Certainty string

// How sure a skip is, by the share of the runs in which some of it stays bare: see
// [CertaintyOf].
const (
	Certain     Certainty = "certain"
	Likely      Certainty = "likely"
	WithinError Certainty = "within GNSS error"
)

// CertaintyOf names the share of runs in which a skip stays one.
func CertaintyOf(share float64) Certainty {
	switch {
	case share >= certainShare:
		return Certain
	case share > likelyShare:
		return Likely
	}
	return WithinError
}

// The shares of the runs from which a skip is certain, and above which it is likely.
// Judgement: certainShare from 0.86 to 0.997, likelyShare from 0.25 to 0.75 move no answer of
// samples/tern-bank, whose skips are surely there or hardly.
const (
	certainShare = 0.95
	likelyShare  = 0.5
)

// someLeft is the share of a skip that must stay bare for the skip to count as still
// there: where passes move at a slant, slivers are left along its edges.
// Judgement. No test holds it closely.
const someLeft = 0.02

// What [Options] mean by zero. Judgement: of 200 runs half say what is likely and half
// by how much that is too large; five of a hundred lie beyond each end of an interval,
// and they take seconds. Half or twice as many move the ends of the intervals of
// samples/tern-bank by an eighth of the interval at most, as other draws do; half or twice
// as many skips move them not at all.
const (
	usualRuns  = 200
	usualSkips = 50
)

// Where swaths cross one another so often that laying them took much of what a field
// may cost, all runs together take no more than so many times that; but a few are
// always made, for nine cases of ten cannot be told from fewer.
const (
	fewestRuns   = 20
	mostMeasured = 20
)

// runsOn returns how often a map is measured again that is to be so many times.
func runsOn(m *coverage.Map, asked int) int {
	if c := m.Crossings; c.Found > 0 {
		return min(asked, max(fewestRuns, mostMeasured*c.Most/c.Found))
	}
	return asked
}

// Sure measures m again as it may have been, run after run. What is not known of the
// error, its memory and its shape, is drawn anew in each.
func Sure(m *coverage.Map, opt Options) *HowSure {
	if opt.Runs == 0 {
		opt.Runs = usualRuns
	}
	asked := opt.Runs
	opt.Runs = runsOn(m, asked)
	if opt.MostSkips == 0 {
		opt.MostSkips = usualSkips
	}
	errors := opt.Errors
	if errors == nil {
		for i := range m.Machines {
			errors = append(errors, ErrorOf(QualityOf(m, i)))
		}
	}
	n := nodesOf(m, errors)
	fit := fitLaps(m, n)
	out := &HowSure{Runs: opt.Runs, Asked: asked, Errors: errors,
		ByReceiver: opt.Steering == ByReceiver || opt.Steering == Told && fit.steadier > steadierBy}

	knots := make([][]plane.Distance, len(m.Passes))
	for i := range knots {
		knots[i] = n.passes[i].along
	}
	var watch []int
	for i := range m.Skips {
		if m.Skips[i].Mistake() && len(watch) < opt.MostSkips {
			watch = append(watch, i)
		}
	}
	replay := NewReplay(m, knots, watch, opt.Groups)
	still := replay.Run(nil)
	runs := newTrials(out.ByReceiver, opt.Runs)
	parallel.Each(len(runs.once), func(i int) {
		r := rand.New(rand.NewPCG(opt.Seed, uint64(i)))
		run := func(e []plane.Vector) Trial {
			if m.Field.Worked {
				e = level(e)
			}
			return replay.Run(n.back(e))
		}
		if out.ByReceiver {
			runs.once[i] = run(n.draw(r, i%len(n.kinds)))
			return
		}
		u := (float64(i) + 0.5) / float64(len(runs.once))
		e := fit.draw(r, u, fit.y)
		runs.once[i] = run(e)
		if i < len(runs.again) {
			runs.again[i] = run(fit.again(r, u, e))
		}
	})
	out.Looked = watch
	out.read(m, opt, watch, still, runs)
	return out
}

// trials are the runs of a map.
//
// Once takes an error that is likely in the log away from the passes. As far as the
// laps tell of the error, what is left is the field as it was driven. As far as they do
// not, where there are no neighbours or the driver strays as the receiver does, it is the
// field with the error in it twice, and skips and overlaps come out too large. How
// much too large is tried on the field itself: let that be the truth, log it with an
// error, and take from that log what is likely in it, as before. By so much as again comes
// out larger than once, once is too large (the iterated bootstrap of P. Hall and
// M. A. Martin, "On bootstrap resampling and iteration", 1988; where the laps tell
// nothing it is the linear extrapolation to an error of nothing of J. R. Cook and
// L. A. Stefanski, "Simulation-extrapolation estimation in parametric measurement error
// models", 1994).
//
// Where the receiver steered, the log does not show the error, and there is no again.
type trials struct{ once, again []Trial }

func newTrials(byReceiver bool, runs int) trials {
	if byReceiver {
		return trials{once: make([]Trial, runs)}
	}
	return trials{make([]Trial, (runs+1)/2), make([]Trial, runs/2)}
}

// tooLarge is by how much once is too large on the whole, in square metres.
func (t *trials) tooLarge(of func(*Trial) plane.Area) float64 {
	sum := 0.0
	for i := range t.again {
		sum += (of(&t.again[i]) - of(&t.once[i])).SquareMetres() / float64(len(t.again))
	}
	return sum
}

// level takes the mean away from errors: a boundary drawn around the worked ground
// moves with the passes, so that the mean error cancels.
func level(e []plane.Vector) []plane.Vector {
	e = slices.Clone(e)
	var mean plane.Vector
	for _, at := range e {
		mean.X, mean.Y = mean.X+at.X/float64(len(e)), mean.Y+at.Y/float64(len(e))
	}
	for i := range e {
		e[i].X, e[i].Y = e[i].X-mean.X, e[i].Y-mean.Y
	}
	return e
}

// back returns the moves that take an error away from the passes.
func (n *nodes) back(e []plane.Vector) []Move {
	out := make([]Move, len(n.passes))
	for i := range n.passes {
		p := &n.passes[i]
		out[i] = make(Move, len(p.along))
		for k := range p.along {
			at := e[p.first+k]
			out[i][k].East, out[i][k].North = plane.DistanceOf(-at.X), plane.DistanceOf(-at.Y)
		}
	}
	return out
}

// read turns the runs into intervals: what a run found, by how much it differs
// from the run that moves nothing.
func (h *HowSure) read(m *coverage.Map, opt Options, watch []int, still Trial, runs trials) {
	interval := func(reaches reaches, measured plane.Area, of func(*Trial) plane.Area) Interval {
		values := make([]float64, len(runs.once))
		mean := 0.0
		for i := range values {
			values[i] = (measured + of(&runs.once[i]) - of(&still)).SquareMetres()
			mean += values[i] / float64(len(values))
		}
		// What a line through two runs' errors says of none is not believed below half.
		tooLarge := min(runs.tooLarge(of), max(0, mean/2))
		for i := range values {
			values[i] = max(0, values[i]-tooLarge)
		}
		return intervalOf(values, reaches.of(h))
	}
	h.Skip = interval(bare, m.Totals.Skip-m.Totals.Remainder, func(r *Trial) plane.Area { return r.Ground.Skip })
	h.Overlap = interval(twice, m.Totals.Overlap, func(r *Trial) plane.Area { return r.Ground.Overlap })
	h.Excess = interval(twice, m.Totals.Excess, func(r *Trial) plane.Area { return r.Ground.Excess })
	h.OverReach = interval(outside, m.Totals.OverReach, func(r *Trial) plane.Area { return r.Ground.OverReach })
	for g := range opt.Groups {
		h.Wasted = append(h.Wasted, interval(bare, still.Wasted[g], func(r *Trial) plane.Area { return r.Wasted[g] }))
	}
	for k := range watch {
		stays := 0.0
		for i := range runs.once {
			if runs.once[i].Left[k] > someLeft {
				stays++
			}
		}
		h.Skips = append(h.Skips, stays/float64(len(runs.once))*(1-m.Skips[watch[k]].Doubt))
	}
}

// intervalOf returns the interval that holds nine of ten values, and their median,
// scaled by a reach. The quantile p is the value at rank p (n + 1), linear between
// ranks (type 6 of R. Hyndman and Y. Fan, "Sample quantiles in statistical
// packages", 1996): a value yet to come lies between two neighbours of the n once in
// n + 1 times.
func intervalOf(values []float64, r reach) Interval {
	slices.Sort(values)
	at := func(p float64) float64 {
		x := p*float64(len(values)+1) - 1
		i := max(0, min(int(math.Floor(x)), len(values)-2))
		t := max(0, min(1, x-float64(i)))
		return values[i] + t*(values[min(i+1, len(values)-1)]-values[i])
	}
	low, middle, high := at(0.05), at(0.5), at(0.95)
	to := func(by float64) float64 {
		if by < 0 {
			return max(0, middle+by*(middle-low))
		}
		return middle + by*(high-middle)
	}
	return Interval{to(r.low), to(r.middle), to(r.high)}
}

// Shares returns Skips by the skips' indices.
func (h *HowSure) Shares() map[int]float64 {
	out := make(map[int]float64, len(h.Looked))
	for k, i := range h.Looked {
		out[i] = h.Skips[k]
	}
	return out
}
