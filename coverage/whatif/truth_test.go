package whatif_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/whatif"
	"lapwing/coverage/work"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A truth is a small field as it was really driven, and what a receiver with
// an error made of it.
type truth struct {
	error       whatif.ReceiverError
	byReceiver  bool
	real, shown *coverage.Map
}

// qualities are the kinds of receivers tried in turn.
var qualities = []geo.Quality{geo.Fixed, geo.Float, geo.Differential, geo.Single}

// newTruth makes a field of some shape, driven by hand with some lap, some
// care and one of the receivers. With byReceiver the driver's errors are what
// the log shows, and the ground has the receiver's too.
func newTruth(tb testing.TB, seed uint64, byReceiver bool) truth {
	r := rand.New(rand.NewPCG(seed, 8))
	t := truth{error: whatif.ErrorOf(qualities[seed%uint64(len(qualities))]), byReceiver: byReceiver}
	w := 5 + 7*r.Float64()
	ground := covertest.Rectangle(0, 0, 120+120*r.Float64(), 100+90*r.Float64())
	if r.IntN(3) == 0 {
		ground = covertest.Disc(covertest.XY{}, 60+40*r.Float64(), 4+r.IntN(4))
	}
	s := covertest.NewScene(fmt.Sprint("truth ", seed), ground)
	path := covertest.NewPath(8).SquareRound(ground, w, 8)
	lap := -0.1 + 0.5*r.Float64()
	lines := covertest.Lines{Ground: ground.Inset(w - 0.3*r.Float64()), Width: w, Spacing: w - lap, RunIn: 5}
	if r.IntN(2) == 0 {
		lines.Heading, lines.Ends = math.Pi*r.Float64(), covertest.EndRule(r.IntN(3))
	}
	path.Lines(lines)
	s.Drive(covertest.Rig{Name: "drill", Implement: covertest.Mounted(w, 2, 1), Path: path, Speed: 2 + r.Float64(), Rate: 5})
	passes := s.Passes()

	guess, wander := strayed(r), strayed(r) // m: of whole passes, and along them
	driven := make([]work.Pass, len(passes))
	for i := range passes {
		driven[i] = stray(r, closer(&passes[i]), guess, wander)
	}
	off := newNoise(r, t.error, driven)
	noisy := make([]work.Pass, len(driven))
	sign := 1.0
	if byReceiver {
		sign = -1
	}
	for i := range driven {
		noisy[i] = off.onto(driven[i], sign)
	}
	t.real, t.shown = laid(tb, s, driven), laid(tb, s, noisy)
	if byReceiver {
		t.real, t.shown = t.shown, t.real
	}
	return t
}

// strayed is how far a driver strays, in metres: from 1 cm to 25 cm.
func strayed(r *rand.Rand) float64 { return 0.01 * math.Pow(25, r.Float64()) }

// closer returns a pass with poses no farther than 2 m apart.
func closer(p *work.Pass) work.Pass {
	out := *p
	out.Poses = nil
	for i := range p.Poses {
		b := p.Poses[i]
		if i > 0 {
			a := p.Poses[i-1]
			n := int(math.Ceil(float64((b.Along - a.Along) / plane.Distance(2*plane.Metre))))
			for k := 1; k < n; k++ {
				t := float64(k) / float64(n)
				q := a
				q.Along += plane.Distance(t) * (b.Along - a.Along)
				q.Time += geo.Instant(t * float64(b.Time-a.Time))
				q.Heading += plane.Angle(t) * a.Heading.To(b.Heading)
				q.Bar = a.Bar.Add(plane.Point{X: plane.Round(t * float64(b.Bar.X-a.Bar.X)), Y: plane.Round(t * float64(b.Bar.Y-a.Bar.Y))})
				out.Poses = append(out.Poses, q)
			}
		}
		out.Poses = append(out.Poses, b)
	}
	return out
}

// stray moves a pass to the side: all of it by one normal number, and along it
// by one that is forgotten over 30 m.
func stray(r *rand.Rand, p work.Pass, guess, wander float64) work.Pass {
	whole, along := guess*r.NormFloat64(), wander*r.NormFloat64()
	for i := range p.Poses {
		if i > 0 {
			kept := math.Exp(float64(-(p.Poses[i].Along - p.Poses[i-1].Along) / plane.Distance(30*plane.Metre)))
			along = kept*along + wander*math.Sqrt(1-kept*kept)*r.NormFloat64()
		}
		q := &p.Poses[i]
		q.Bar = q.Bar.Add(plane.Point{X: plane.Metres((whole + along) * math.Cos(float64(q.Heading))), Y: -plane.Metres((whole + along) * math.Sin(float64(q.Heading)))})
	}
	return p
}

// A noise is a receiver's error second by second: east and north.
type noise struct {
	begin geo.Instant
	east  []float64
	north []float64
}

func newNoise(r *rand.Rand, e whatif.ReceiverError, passes []work.Pass) noise {
	begin, end := passes[0].Start, passes[len(passes)-1].End
	n := int(end.Sub(begin).Seconds()) + 3
	return noise{begin, wandering(r, e, n), wandering(r, e, n)}
}

// wandering is one axis of an error, second by second: a short-term part that
// is forgotten over a minute, and a drift over two hours.
func wandering(r *rand.Rand, e whatif.ReceiverError, n int) []float64 {
	short, drift := spring(r, e.ShortTerm, 60, 0.5, n), spring(r, e.Drift, 7200, 1, n)
	for i := range short {
		short[i] += drift[i]
	}
	return short
}

// spring is a damped spring that is pushed at random, second by second, let
// run long before: its correlation is (1 + a) exp(-a), with a = √3 t / memory.
func spring(r *rand.Rand, sigma, memory, step float64, n int) []float64 {
	k := math.Sqrt(3) / memory
	push := sigma * 2 * math.Pow(k, 1.5)
	var at, speed float64
	move := func(seconds, step float64) {
		for t := 0.0; t < seconds; t += step {
			speed += -2*k*speed*step - k*k*at*step + push*math.Sqrt(step)*r.NormFloat64()
			at += speed * step
		}
	}
	move(12*memory, memory/400)
	out := make([]float64, n)
	for i := range out {
		out[i] = at
		move(1, step)
	}
	return out
}

// onto adds the noise to a pass.
func (n noise) onto(p work.Pass, sign float64) work.Pass {
	p.Poses = slices.Clone(p.Poses)
	for i := range p.Poses {
		q := &p.Poses[i]
		t := q.Time.Sub(n.begin).Seconds()
		k := int(t)
		between := func(x []float64) float64 { return x[k] + (t-float64(k))*(x[k+1]-x[k]) }
		q.Bar = q.Bar.Add(plane.Point{X: plane.Metres(sign * between(n.east)), Y: plane.Metres(sign * between(n.north))})
	}
	return p
}

// The quantities whose intervals are held against the truth.
var quantities = []struct {
	name string
	of   func(*coverage.Map) plane.Area
	in   func(*whatif.HowSure) whatif.Interval
}{
	{"skip", func(m *coverage.Map) plane.Area { return m.Totals.Skip - m.Totals.Remainder }, func(h *whatif.HowSure) whatif.Interval { return h.Skip }},
	{"overlap", func(m *coverage.Map) plane.Area { return m.Totals.Overlap }, func(h *whatif.HowSure) whatif.Interval { return h.Overlap }},
	{"excess", func(m *coverage.Map) plane.Area { return m.Totals.Excess }, func(h *whatif.HowSure) whatif.Interval { return h.Excess }},
	{"waste", func(m *coverage.Map) plane.Area { return m.Totals.Swept - m.Totals.Covered }, func(h *whatif.HowSure) whatif.Interval { return h.Wasted[0] }},
}

// A tally counts how often intervals hold, too low a one and too high a one.
type tally struct{ held, below, above, n int }

func (t tally) share() float64 { return float64(t.held) / float64(t.n) }

// hold tries fields of so many seeds from one on, and returns the tallies by
// quantity, and by quality and quantity.
func hold(tb testing.TB, from, n uint64, byReceiver bool) (all []tally, each [][]tally) {
	all, each = make([]tally, len(quantities)), make([][]tally, len(qualities))
	for i := range each {
		each[i] = make([]tally, len(quantities))
	}
	for seed := from; seed < from+n; seed++ {
		f := newTruth(tb, seed, byReceiver)
		opt := whatif.Options{Seed: seed, Errors: []whatif.ReceiverError{f.error}, Groups: [][]bool{{true}}}
		if byReceiver {
			opt.Steering = whatif.ByReceiver
		} else {
			opt.Steering = whatif.Otherwise
		}
		h := whatif.Sure(f.shown, opt)
		for k, q := range quantities {
			want, got := q.of(f.real).SquareMetres(), q.in(h)
			for _, t := range []*tally{&all[k], &each[seed%uint64(len(qualities))][k]} {
				t.n++
				switch {
				case want < got.Low:
					t.above++
				case want > got.High:
					t.below++
				default:
					t.held++
				}
			}
			if os.Getenv("LAPWING_SHOW") != "" {
				tb.Logf("%d %s: true %.1f shown %.1f interval %.1f", seed, q.name, want, q.of(f.shown).SquareMetres(), got)
			}
		}
	}
	for k, q := range quantities {
		line := fmt.Sprintf("%-8s held %.3f, interval too low %d, too high %d of %d;", q.name, all[k].share(), all[k].below, all[k].above, all[k].n)
		for i, quality := range qualities {
			line += fmt.Sprintf("  %s %.3f (%d, %d)", quality, each[i][k].share(), each[i][k].below, each[i][k].above)
		}
		tb.Log(line)
	}
	return all, each
}

// What the reaches of the intervals were set by are other fields (elsewhere_test.go), and
// these of seeds 5000 to 5079 where the receiver steered.
const (
	fewFrom, few   = 6000, 8
	manyFrom, many = 30000, 1000
)

// Nine of ten intervals hold the truth: on a few fields, and where
// LAPWING_LONG is set on a thousand, which takes ten minutes.
func TestIntervalsHold(t *testing.T) {
	all, _ := hold(t, fewFrom, few, false)
	for k, q := range quantities {
		// Of 8 fewer than 5 hold once in 200 times, if nine of ten do.
		assert.GreaterOrEqual(t, all[k].held, 5, q.name)
	}
}

func TestIntervalsHoldLong(t *testing.T) {
	if os.Getenv("LAPWING_LONG") == "" {
		t.Skip("LAPWING_LONG is not set")
	}
	all, each := hold(t, manyFrom, many, false)
	for k, q := range quantities {
		// The intervals are to hold for any memory and shape; here there is one, of the
		// middle of those, and they may hold more; what held always would say nothing.
		assert.GreaterOrEqual(t, all[k].share(), 0.87, q.name)
		assert.LessOrEqual(t, all[k].share(), 0.97, q.name)
		for i, quality := range qualities {
			// Of 250 the share has a standard error of 0.019, and what the reaches
			// were set by twice that.
			assert.GreaterOrEqual(t, each[i][k].share(), 0.85, "%s, %s", q.name, quality)
			assert.LessOrEqual(t, each[i][k].share(), 0.98, "%s, %s", q.name, quality)
		}
	}
}

// Where the receiver steered, its error is in the ground and not in the log.
func TestIntervalsHoldSteered(t *testing.T) {
	n := uint64(few)
	if os.Getenv("LAPWING_LONG") != "" {
		n = many
	}
	all, _ := hold(t, fewFrom, n, true)
	for k, q := range quantities {
		assert.GreaterOrEqual(t, all[k].share(), 5.0/8, q.name)
	}
}

// The same seed gives the same answer, whatever the number of processors.
func TestRepeatable(t *testing.T) {
	f := newTruth(t, 1, false)
	opt := whatif.Options{Seed: 7, Runs: 20}
	a := whatif.Sure(f.shown, opt)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	assert.Equal(t, a, whatif.Sure(f.shown, opt))
	opt.Seed = 8
	assert.NotEqual(t, a.Skip, whatif.Sure(f.shown, opt).Skip)
}

// Without an error there is nothing to be unsure of.
func TestNoError(t *testing.T) {
	f := newTruth(t, 2, false)
	h := whatif.Sure(f.shown, whatif.Options{Runs: 20, Errors: []whatif.ReceiverError{{}}, Steering: whatif.Otherwise})
	g := f.shown.Totals
	assert.InDelta(t, (g.Skip - g.Remainder).SquareMetres(), h.Skip.Middle, 0.5)
	assert.InDelta(t, h.Skip.High, h.Skip.Low, 0.5)
	assert.InDelta(t, g.Overlap.SquareMetres(), h.Overlap.Middle, 0.5)
	for _, share := range h.Skips {
		assert.Equal(t, whatif.Certain, whatif.CertaintyOf(share))
	}
}

// Where swaths cross one another too often for all runs, fewer are made, and it is
// said how many were asked for; nobody gets more than asked for.
func TestFewerRuns(t *testing.T) {
	f := newTruth(t, 3, false)
	most := f.shown.Crossings.Most
	require.Less(t, 20*f.shown.Crossings.Found, most, "work crosses itself seldom")
	for _, c := range []struct{ asked, found, want int }{
		{30, f.shown.Crossings.Found, 30},
		{30, 0, 30}, // not known
		{30, most, 20},
		{30, most * 8 / 10, 25},
		{5, most, 5},
	} {
		m := *f.shown
		m.Crossings.Found = c.found
		h := whatif.Sure(&m, whatif.Options{Runs: c.asked})
		assert.Equal(t, [2]int{c.asked, c.want}, [2]int{h.Asked, h.Runs}, "%d crossings of %d", c.found, most)
	}
}
