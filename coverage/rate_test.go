package coverage_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/agronomy"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/region"
	"lapwing/coverage/sweep"
	"lapwing/coverage/work"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// rated gives each fix of a track its row and a rate.
func rated(t *machine.Track, rate func(i int, f *machine.Fix) float64) {
	t.Rates = [][]float32{make([]float32, len(t.Fixes))}
	for i := range t.Fixes {
		t.Fixes[i].Row = int32(i)
		t.Rates[0][i] = float32(rate(i, &t.Fixes[i]))
	}
}

// Three passes of 6 m, the second 5 m beside the first, the third 7 m beside
// the second and across a part of both: what they put down, by hand. Rates
// are powers of two, so that sums of them are exact.
//
//	y 100 +------+              rate of the 1st: 0.5
//	      |  1st | 2nd          of the 2nd: 1 up to y = 40, from there 2
//	   40 |  0.5 | 2 above, 1 below
//	    0 +------+
//	      x -3..3  2..8
func TestSpreadByHand(t *testing.T) {
	land := rectangle(40, 120)
	h := newHand(land)
	h.pass(10, 10, 10, 110)
	h.pass(15, 10, 15, 110)
	rated(&h.track, func(_ int, f *machine.Fix) float64 {
		x, y := land.Frame.Metres(f.At)
		switch {
		case x < 12:
			return 0.5
		case y < 49.9:
			return 1
		}
		return 2
	})
	m := measure(t, land, []machine.Logged{h.machine(covertest.Mounted(6, 0, 1))}, field.Options{})
	s := agronomy.NewSpread(m, 0)
	require.Len(t, m.Passes, 2)
	// Smoothed over 2.5 m either way, straight passes on exact fixes stay as
	// they are; areas are off by what corners are rounded.
	assert.InDelta(t, 0.5*600, s.Pass(0), gridError(212))
	assert.InDelta(t, 1*6*40+2*6*60, s.Pass(1), 2*gridError(212))
	require.Len(t, m.Overlaps, 1)
	r := m.Overlaps[0].Region
	assert.InDelta(t, 0.5*100, s.Over(r, 0), gridError(202))
	assert.InDelta(t, 1*40+2*60, s.Over(r, 1), 2*gridError(202))
}

// Where no log tells of the product, or says the target throughout, the
// spread is the ground to the last digit; any other even rate is that times.
func TestEvenSpread(t *testing.T) {
	for _, rate := range []float64{1, 0.25} {
		s := covertest.Small(0.02, 3)
		tracks := s.Machines[0].Tracks
		if rate != 1 {
			rated(&tracks[0], func(int, *machine.Fix) float64 { return rate })
		}
		m := measure(t, s.Field, s.Machines, field.Options{})
		spread := agronomy.NewSpread(m, 0)
		for i := range m.Passes {
			assert.InEpsilon(t, rate*sq(m.Passes[i].Swept), spread.Pass(i), 1e-12)
		}
		for _, o := range m.Overlaps {
			for _, swath := range m.Regions[o.Region].Swaths {
				assert.Equal(t, rate*sq(m.Regions[o.Region].Area), spread.Over(o.Region, swath))
			}
		}
		assert.True(t, math.IsNaN(m.Passes[0].Rate(1, 0)), "a product that no log tells of")
	}
}

// Rates that change at every fix, against a slow way: the mean over places
// strewn over each overlap, each with the rate of the stretch of the pass that
// it lies in.
func TestSpreadAgainstPlaces(t *testing.T) {
	s := covertest.Small(0.02, 3)
	random := rand.New(rand.NewPCG(1, 2))
	rated(&s.Machines[0].Tracks[0], func(i int, _ *machine.Fix) float64 {
		return 1 + 0.5*math.Sin(float64(i)/20) + 0.1*random.Float64()
	})
	m := measure(t, s.Field, s.Machines, field.Options{})
	spread := agronomy.NewSpread(m, 0)
	checked := 0
	for _, o := range m.Overlaps {
		r := &m.Regions[o.Region]
		if sq(r.Area) < 5 {
			continue
		}
		checked++
		for _, swath := range r.Swaths {
			want := meanOver(m, r, swath, random)
			got := spread.Over(o.Region, swath) / sq(r.Area)
			// The rate's spread about its mean is at most 0.6; over 2000 places
			// the mean of it is off by 0.6/√2000 = 0.013; five times that.
			assert.InDelta(t, want, got, 0.067)
		}
	}
	assert.Greater(t, checked, 10)
}

// meanOver is the mean rate over places strewn over a region.
func meanOver(m *coverage.Map, r *region.Region, swath int, random *rand.Rand) float64 {
	sw := &m.Swaths[swath]
	p := &m.Passes[sw.Pass]
	box := r.Shape.Shell.Bounds()
	sum, n := 0.0, 0
	for n < 2000 {
		at := plane.Point{X: box.Min.X + plane.Length(random.Int64N(int64(box.Max.X-box.Min.X)+1)), Y: box.Min.Y + plane.Length(random.Int64N(int64(box.Max.Y-box.Min.Y)+1))}
		if !inPolygon(r.Shape, at) {
			continue
		}
		n++
		sum += rateNear(p, sw, at)
	}
	return sum / float64(n)
}

// rateNear is the rate of the stretch of a pass whose bar passed nearest to a
// place: between the two poses that have it ahead of them and behind.
func rateNear(p *coverage.Pass, sw *sweep.Swath, at plane.Point) float64 {
	best, off := 0, math.Inf(1)
	for i := 0; i+1 < len(p.Poses); i++ {
		if p.Poses[i].Along < sw.From || p.Poses[i].Along >= sw.To {
			continue
		}
		ahead := func(pose *work.Pose) float64 {
			sin, cos := pose.Heading.Sincos()
			return float64(at.X-pose.Bar.X)*sin + float64(at.Y-pose.Bar.Y)*cos
		}
		across := at.Distance(p.Poses[i].Bar).Metres()
		if a, b := ahead(&p.Poses[i]), ahead(&p.Poses[i+1]); a >= 0 && b < 0 && across < off {
			best, off = i, across
		}
	}
	return p.Rate(0, best)
}

func inPolygon(shape plane.Polygon, at plane.Point) bool {
	in := false
	for _, ring := range shape.Rings() {
		for i, a := range ring {
			b := ring[(i+1)%len(ring)]
			if (a.Y > at.Y) != (b.Y > at.Y) && float64(at.X-a.X) < float64(at.Y-a.Y)/float64(b.Y-a.Y)*float64(b.X-a.X) {
				in = !in
			}
		}
	}
	return in
}

// Rates stay with their fixes when logs are joined, in whatever order they
// come, when a log is turned round and when its clock was set.
func TestRatesStayWithTheirFixes(t *testing.T) {
	s := covertest.Small(0.02, 3)
	whole := s.Machines[0].Tracks[0]
	rated(&whole, func(i int, _ *machine.Fix) float64 { return 0.5 + float64(i%400)/400 })
	spread := func(tracks ...machine.Track) (out []float64) {
		driven := s.Machines[0]
		driven.Tracks = tracks
		m := measure(t, s.Field, []machine.Logged{driven}, field.Options{})
		for i := range m.Passes {
			out = append(out, agronomy.NewSpread(m, 0).Pass(i))
		}
		return out
	}
	want := spread(whole)
	part := func(from, to int) machine.Track {
		p := whole
		p.File = "part"
		p.Fixes = slices.Clone(whole.Fixes[from:to])
		p.Rates = [][]float32{slices.Clone(whole.Rates[0][from:to])}
		for i := range p.Fixes {
			p.Fixes[i].Row = int32(i)
		}
		return p
	}
	n := len(whole.Fixes)
	assert.Equal(t, want, spread(part(n/2, n), part(0, n/3), part(n/3, n/2)), "three logs")

	round := part(0, n)
	slices.Reverse(round.Fixes)
	slices.Reverse(round.Rates[0])
	for i := range round.Fixes {
		round.Fixes[i].Row = int32(i)
	}
	assert.Equal(t, want, spread(round), "turned round")

	set := part(0, n)
	for i := n / 2; i < n; i++ {
		set.Fixes[i].Time += geo.InstantOf(time.Unix(0, 0).Add(time.Hour))
	}
	assert.Equal(t, want, spread(set), "the clock was set")

	silent := part(0, n/2)
	silent.Rates = nil
	mixed := spread(silent, part(n/2, n))
	assert.Len(t, mixed, len(want))
	assert.Equal(t, want[len(want)-1], mixed[len(mixed)-1], "of one log only")
}
