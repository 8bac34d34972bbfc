package coverage_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/sweep"
	"lapwing/geo"
)

// barley is a field of 240 × 200 m worked by a 9 m bar: two headland rounds,
// lifted at the corners, then north and south with a lap of 0.1 m.
func barley(rate float64, defects ...covertest.Defect) *covertest.Scene {
	const width = 9
	ground := covertest.Rectangle(-120, -100, 120, 100)
	s := covertest.NewScene("barley", ground)
	path := covertest.NewPath(6).SquareRound(ground, width, 8)
	path.SquareRound(ground.Inset(width), width, 8)
	path.Lines(covertest.Lines{Ground: ground.Inset(2 * width), Width: width, Spacing: width - 0.1, RunIn: 5})
	return s.Drive(covertest.Rig{
		Name: "drill", Implement: covertest.Mounted(width, 3, 4), Path: path,
		Speed: 2, Rate: rate, Seed: 11, Defects: defects,
	})
}

func ground(t *testing.T, s *covertest.Scene) coverage.Totals {
	t.Helper()
	return measure(t, s.Field, s.Machines, field.Options{Rounds: 2}).Totals
}

// The bars a receiver's usual troubles are held to.
const (
	coveredShare = 0.0005 // of the noise-free covered ground
	overlapShare = 0.02   // of the noise-free overlap, or
	overlapField = 0.0002 // of the field, whichever is more
	spikeArea    = 1.0    // m²; what spikes may change
	standingStep = 0.01   // m; what standing with the product on may add along the pass
	towedShare   = 0.002  // of the ground truly swept
)

func withinNoise(t *testing.T, want, got coverage.Totals, why string) {
	t.Helper()
	assert.InDelta(t, sq(want.Covered), sq(got.Covered), coveredShare*sq(want.Covered), "covered: %s", why)
	assert.InDelta(t, sq(want.Overlap), sq(got.Overlap), max(overlapShare*sq(want.Overlap), overlapField*sq(want.Field)), "overlap: %s", why)
}

func TestWhiteNoise(t *testing.T) {
	want := ground(t, barley(10))
	for seed := range uint64(3) {
		noisy := covertest.White(0.02)
		other := barley(10, func(_ *rand.Rand, log []covertest.Sample) []covertest.Sample {
			return noisy(rand.New(rand.NewPCG(seed, 5)), log)
		})
		withinNoise(t, want, ground(t, other), fmt.Sprint("seed ", seed))
	}
}

func TestSpikes(t *testing.T) {
	for _, rate := range []float64{10, 1} {
		want := ground(t, barley(rate))
		for seed := range uint64(3) {
			spikes := covertest.Spikes(10, 12)
			got := ground(t, barley(rate, func(_ *rand.Rand, log []covertest.Sample) []covertest.Sample {
				return spikes(rand.New(rand.NewPCG(seed, 7)), log)
			}))
			why := fmt.Sprintf("%v Hz, seed %d", rate, seed)
			assert.InDelta(t, sq(want.Covered), sq(got.Covered), spikeArea, "covered: %s", why)
			assert.InDelta(t, sq(want.Skip), sq(got.Skip), spikeArea, "skip: %s", why)
			assert.InDelta(t, sq(want.Overlap), sq(got.Overlap), spikeArea, "overlap: %s", why)
			assert.InDelta(t, sq(want.Excess), sq(got.Excess), spikeArea, "excess: %s", why)
			assert.InDelta(t, sq(want.OverReach), sq(got.OverReach), spikeArea, "over-reach: %s", why)
		}
	}
}

// A spike on the first or last fix at work, or where it falls on many fixes in
// a row at 10 Hz, takes no ground with it: the fix still says what was worked.
func TestSpikesWhereTheyHurt(t *testing.T) {
	for _, rate := range []float64{10, 1} {
		want := ground(t, one(rate))
		for name, is := range map[string]func(log []covertest.Sample, i int) bool{
			"at the end":       func(log []covertest.Sample, i int) bool { return log[i].Open != 0 && log[i+1].Open == 0 },
			"at the beginning": func(log []covertest.Sample, i int) bool { return log[i].Open != 0 && log[i-1].Open == 0 },
			"for 0.4 s":        func(log []covertest.Sample, i int) bool { return math.Abs(log[i].Time-50) < 0.25 },
		} {
			got := ground(t, one(rate, func(_ *rand.Rand, log []covertest.Sample) []covertest.Sample {
				var at []int
				for i := 1; i+1 < len(log); i++ {
					if is(log, i) {
						at = append(at, i)
					}
				}
				require.NotEmpty(t, at)
				for _, i := range at {
					log[i].Antenna.X += 12
				}
				return log
			}))
			assert.InDelta(t, sq(want.Covered), sq(got.Covered), spikeArea, "%s at %v Hz", name, rate)
			assert.InDelta(t, sq(want.OverReach), sq(got.OverReach), spikeArea, "%s at %v Hz", name, rate)
		}
	}
}

// Where a log holds only work, a spike on the last fix before a silence or the
// first after it has neighbours on one side only.
func TestSpikesBesideSilences(t *testing.T) {
	want := ground(t, barley(5, covertest.OnlyWorking()))
	for _, at := range []int{-2, -1, 0, 1} { // fixes from the first after a silence
		got := ground(t, barley(5, covertest.OnlyWorking(), func(_ *rand.Rand, log []covertest.Sample) []covertest.Sample {
			var first []int
			for i := 1; i < len(log); i++ {
				if log[i].Time-log[i-1].Time > 3 {
					first = append(first, i)
				}
			}
			require.Len(t, first, 30)
			for _, i := range first {
				log[i+at].Antenna.X += 12
			}
			return log
		}))
		why := fmt.Sprintf("fix %d from the first", at)
		assert.InDelta(t, sq(want.Covered), sq(got.Covered), spikeArea, "covered: %s", why)
		assert.InDelta(t, sq(want.Overlap), sq(got.Overlap), spikeArea, "overlap: %s", why)
		assert.InDelta(t, sq(want.OverReach), sq(got.OverReach), spikeArea, "over-reach: %s", why)
	}
}

// At 1 Hz 12 m away and 12 m back are speeds that can be driven: spikes, one or
// two in a row, to one side or to both, are known by their detour.
func TestSpikesAtSpeedsThatCanBeDriven(t *testing.T) {
	want := ground(t, one(1))
	for _, off := range [][]float64{{12}, {12, -12}, {12, 12}, {-9, 12}, {8, -8}} {
		for at := range 3 {
			got := ground(t, one(1, func(_ *rand.Rand, log []covertest.Sample) []covertest.Sample {
				for k, x := range off {
					log[len(log)*(at+1)/4+k].Antenna.X += x
				}
				return log
			}))
			assert.InDelta(t, sq(want.Covered), sq(got.Covered), spikeArea, "%v", off)
			assert.InDelta(t, sq(want.OverReach), sq(got.OverReach), spikeArea, "%v", off)
		}
	}
}

// one is a single pass, 300 m north along the middle of a field, by a bar of
// 12 m; the log may suffer.
func one(rate float64, defects ...covertest.Defect) *covertest.Scene {
	s := covertest.NewScene("one pass", covertest.Rectangle(-10, 0, 10, 400))
	return s.Drive(covertest.Rig{
		Name: "drill", Implement: covertest.Mounted(12, 2, 4), Speed: 2, Rate: rate, Seed: 3, Defects: defects,
		Path: covertest.Start(0, 30, 0).Straight(20).On().Straight(300).Off().Straight(20),
	})
}

// wait makes the machine stand for a minute at the middle of its log, the
// product on, with GNSS noise of sigma metres of its own.
func wait(sigma float64) covertest.Defect {
	return func(r *rand.Rand, log []covertest.Sample) []covertest.Sample {
		const seconds = 60
		i := len(log) / 2
		step := log[i+1].Time - log[i].Time
		at := covertest.XY{Y: 30 + 2 + 2*log[i].Time} // where it truly is, 2 m ahead of the bar
		var stand []covertest.Sample
		for k := 1; float64(k)*step < seconds; k++ {
			s := log[i]
			s.Time += float64(k) * step
			s.Speed = 0
			s.Antenna = covertest.XY{X: at.X + sigma*r.NormFloat64(), Y: at.Y + sigma*r.NormFloat64()}
			stand = append(stand, s)
		}
		for k := i + 1; k < len(log); k++ {
			log[k].Time += seconds
		}
		return slices.Insert(log, i+1, stand...)
	}
}

// A machine that stands with the product on sweeps nothing to speak of, and
// nothing twice.
func TestStanding(t *testing.T) {
	for _, rate := range []float64{10, 5, 1} {
		for _, noise := range []float64{0, 0.02} {
			want := ground(t, one(rate, covertest.White(noise)))
			m := measure(t, one(rate).Field, one(rate, covertest.White(noise), wait(noise)).Machines, field.Options{})
			why := fmt.Sprintf("%v Hz, noise %v m", rate, noise)
			assert.InDelta(t, sq(want.Swept), sq(m.Totals.Swept), standingStep*12, why)
			assert.Zero(t, m.Totals.Overlap, why)
			assert.Len(t, m.Passes, 1, why)
		}
	}
}

// Lines logged twice or out of order are the same log.
func TestDoubledAndOutOfOrder(t *testing.T) {
	noise := covertest.White(0.02)
	want := measure(t, barley(5).Field, barley(5, noise).Machines, field.Options{})
	for name, d := range map[string][]covertest.Defect{
		"doubled":      {noise, covertest.Doubled(40)},
		"out of order": {noise, covertest.OutOfOrder(40)},
		"both":         {noise, covertest.Doubled(40), covertest.OutOfOrder(40), covertest.Doubled(40)},
	} {
		m := measure(t, barley(5).Field, barley(5, d...).Machines, field.Options{})
		sameGround(t, want, m, name)
		assert.NotEmpty(t, m.Warnings, name)
	}
}

// countOf returns how many fixes the warnings with a text are about.
func countOf(warnings []field.Warning, text string) int {
	n := 0
	for _, w := range warnings {
		if strings.Contains(w.Text, text) {
			n += w.Count
		}
	}
	return n
}

// Positions at zero north, zero east are left out and counted: the ground is
// what it is without those lines.
func TestNowhere(t *testing.T) {
	s := barley(5, covertest.White(0.02), covertest.Nowhere(25))
	fixes := s.Machines[0].Tracks[0].Fixes
	nowhere := func(f machine.Fix) bool { return f.At == (geo.LonLat{}) }
	n := 0
	for _, f := range fixes {
		if nowhere(f) {
			n++
		}
	}
	require.Greater(t, n, 20)
	m := measure(t, s.Field, s.Machines, field.Options{})
	assert.Equal(t, n, countOf(m.Warnings, "zero north, zero east"))
	s.Machines[0].Tracks[0].Fixes = slices.DeleteFunc(slices.Clone(fixes), nowhere)
	want := measure(t, s.Field, s.Machines, field.Options{})
	sameGround(t, want, m, "without the lines")
	assert.Zero(t, countOf(want.Warnings, "zero north, zero east"))
}

// While the log is silent for 40 s and the machine works straight on, the
// ground between the fixes is unlogged: neither covered nor skip. The pass goes
// on.
func TestSilenceStraight(t *testing.T) {
	for _, rate := range []float64{10, 1} {
		for _, noise := range []float64{0, 0.02} {
			s := one(rate, covertest.White(noise), covertest.Silence(60, 40))
			m := measure(t, s.Field, s.Machines, field.Options{})
			require.Len(t, m.Passes, 1)
			// From the last fix before to the first after.
			length := 2 * (40 + 1/rate)
			tol := gridError(2*(length+12)) + 4*noise*12 // each end is a fix or a mean of some
			assert.InDelta(t, 12*length, sq(m.Totals.Unlogged), tol, "%v Hz, noise %v m", rate, noise)
			whole := ground(t, one(rate, covertest.White(noise)))
			assert.InDelta(t, sq(whole.Covered), sq(m.Totals.Covered+m.Totals.Unlogged), tol+2*noise*noise*300+0.01)
			assert.InDelta(t, sq(whole.Skip), sq(m.Totals.Skip), tol+0.01)
		}
	}
}

// A silence that ends on another heading was a turn in a log that did not go
// on: no ground, and another pass.
func TestSilenceInATurn(t *testing.T) {
	for _, turn := range []float64{math.Pi, math.Pi / 2, 70 * math.Pi / 180} {
		s := covertest.NewScene("turn", covertest.Rectangle(-300, -300, 300, 300))
		arc := 20 * turn / 2 // s
		s.Drive(covertest.Rig{
			Name: "drill", Implement: covertest.Mounted(6, 0, 1), Speed: 2, Rate: 5, Seed: 1,
			Path:    covertest.Start(0, 0, 0).On().Straight(100).Arc(20, turn).Straight(100),
			Defects: []covertest.Defect{covertest.Silence(50-0.1, arc+0.2)},
		})
		m := measure(t, s.Field, s.Machines, field.Options{})
		assert.Zero(t, m.Totals.Unlogged, "turn %v", turn)
		assert.Len(t, m.Passes, 2)
		assert.InDelta(t, 2*100*6, sq(m.Totals.Covered), 2*0.8*6)
	}
}

// The contract's own limit: a silence no longer than 3 s is bridged.
func TestShortSilence(t *testing.T) {
	s := one(5, covertest.Silence(60, 2.6))
	m := measure(t, s.Field, s.Machines, field.Options{})
	assert.Zero(t, m.Totals.Unlogged)
	assert.InDelta(t, sq(ground(t, one(5)).Covered), sq(m.Totals.Covered), 0.01)
}

// A log that records only work is the same ground: the silences in its lifted
// turns are none.
func TestOnlyWorking(t *testing.T) {
	for _, noise := range []float64{0, 0.02} {
		want := measure(t, barley(5).Field, barley(5, covertest.White(noise)).Machines, field.Options{})
		m := measure(t, barley(5).Field, barley(5, covertest.White(noise), covertest.OnlyWorking()).Machines, field.Options{})
		assert.Len(t, m.Passes, len(want.Passes))
		assert.Zero(t, m.Totals.Unlogged)
		if noise == 0 {
			// Without the fixes beyond, ends are smoothed from one side: straight is straight.
			assert.InDelta(t, sq(want.Totals.Covered), sq(m.Totals.Covered), 0.1)
			assert.InDelta(t, sq(want.Totals.Overlap), sq(m.Totals.Overlap), 0.1)
		}
		withinNoise(t, want.Totals, m.Totals, "only working")
	}
}

// Nobody knows how a towed bar came through a turn the log left out, or one
// between two segments of it. It is taken to be in line again where work goes
// on, and its ground is within the bar for a towed one.
func TestTowedOnlyWorking(t *testing.T) {
	area := covertest.Rectangle(-90, -70, 90, 70)
	s := covertest.NewScene("towed", area)
	s.Drive(covertest.Rig{
		Name: "drill", Implement: covertest.Towed(6, 1, 7, 2), Speed: 2, Rate: 10, Seed: 4,
		Path:    covertest.NewPath(8).Lines(covertest.Lines{Ground: area, Width: 6, RunIn: 10}),
		Defects: []covertest.Defect{covertest.OnlyWorking()},
	})
	truth := covertest.Raster(s.Field, s.Trails, 0.1)
	tol := towedShare*truth.Covered() + float64(len(s.Trails))*2*0.2*6
	m := measure(t, s.Field, s.Machines, field.Options{})
	assert.InDelta(t, truth.Covered(), sq(m.Totals.Covered), tol)
	assert.InDelta(t, truth.Overlap(), sq(m.Totals.Overlap), tol)

	track := &s.Machines[0].Tracks[0]
	for i := 1; i < len(track.Fixes); i++ {
		if track.Fixes[i].Time.Sub(track.Fixes[i-1].Time).Seconds() > 1 {
			track.Breaks = append(track.Breaks, i)
		}
	}
	require.Len(t, track.Breaks, len(s.Trails)-1)
	m = measure(t, s.Field, s.Machines, field.Options{})
	assert.InDelta(t, truth.Covered(), sq(m.Totals.Covered), tol, "in segments")
	assert.InDelta(t, truth.Overlap(), sq(m.Totals.Overlap), tol, "in segments")
}

// All at once, and the ground is still what it is.
func TestAllDefects(t *testing.T) {
	want := ground(t, barley(10))
	s := barley(10, covertest.White(0.02), covertest.Spikes(10, 12), covertest.Nowhere(10),
		covertest.Doubled(20), covertest.OutOfOrder(20), covertest.HeadingNoise(0.05), covertest.SpeedNoise(0.1))
	withinNoise(t, want, ground(t, s), "all defects")
}

// A towed bar cuts corners; what the tractor's track alone would give is far
// off. Its ground is within 0.2 % of what the bar truly swept.
func TestTowedGround(t *testing.T) {
	imp := covertest.Towed(9, 1.5, 8, 4)
	area := covertest.Rectangle(-100, -80, 100, 80)
	for _, c := range []struct {
		name  string
		path  *covertest.Path
		noise float64
	}{
		{"round and round", covertest.NewPath(12).RoundAndRound(area, 9, 14, 40, 3), 0},
		{"an arc and back", covertest.Start(-60, -60, 0).Straight(30).On().Straight(40).Arc(15, math.Pi).Straight(30).Arc(20, -math.Pi/2).Straight(30).Off().Straight(10), 0},
		{"lines with the product on in turns", covertest.NewPath(12).Lines(covertest.Lines{Ground: area.Inset(20), Width: 9, RunIn: 15, TurnOn: true}), 0},
		{"lines with noise", covertest.NewPath(12).Lines(covertest.Lines{Ground: area.Inset(20), Width: 9, RunIn: 15}), 0.02},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := covertest.NewScene(c.name, covertest.Rectangle(-150, -130, 150, 130))
			s.Drive(covertest.Rig{
				Name: "drill", Implement: imp, Path: c.path, Speed: 2, Rate: 10, Seed: 5,
				Defects: []covertest.Defect{covertest.White(c.noise)},
			})
			m := measure(t, s.Field, s.Machines, field.Options{})
			const side = 0.1
			truth := covertest.Raster(s.Field, s.Trails, side)
			// A pass begins and ends at fixes: up to a step at either end is not claimed.
			ends := float64(len(m.Passes)) * 2 * 0.2 * 9
			outline := 0.0
			for _, tr := range s.Trails {
				outline += 2 * tr.Length()
			}
			raster := 4 * 0.3 * math.Pow(side, 1.5) * math.Sqrt(outline)
			assert.InDelta(t, truth.Covered(), sq(m.Totals.Covered), towedShare*truth.Covered()+ends+raster)
			assert.InDelta(t, truth.Overlap(), sq(m.Totals.Overlap), max(towedShare*truth.Covered(), overlapShare*truth.Overlap())+ends+raster)
		})
	}
}

// On a log without noise the areas by depth are those counted on a raster.
//
// The raster's own error is its standard error, four times. A pass that begins
// between two fixes is known from the later one, and ends at the last that
// works: up to a step, speed over rate, is missing at either end of the bar's
// width, and at each change of sections. Chords are within Thin and 2 mm of
// both ends' paths.
func TestByDepth(t *testing.T) {
	const speed, rate, side = 2.0, 20.0, 0.1
	area := covertest.Rectangle(-70, -50, 70, 50)
	hole := covertest.Disc(covertest.XY{X: 10, Y: 5}, 9, 10)
	wedge := covertest.Shape{{X: -70, Y: -50}, {X: 70, Y: -50}, {X: 40, Y: 50}, {X: -60, Y: 20}}
	imp := covertest.Mounted(6, 0, 4)
	for _, c := range []struct {
		name  string
		field covertest.Shape
		holes []covertest.Shape
		path  *covertest.Path
	}{
		{"lapped lines", area, nil, covertest.NewPath(5).Lines(covertest.Lines{Ground: area, Width: 6, Spacing: 5, RunIn: 3})},
		{"lines and a round", area, nil, covertest.NewPath(5).Round(area.Inset(3), 7, 10).Lines(covertest.Lines{Ground: area.Inset(5), Width: 6, RunIn: 3})},
		{"round a hole", area, []covertest.Shape{hole}, covertest.NewPath(5).HoleRound(hole, 3).Lines(covertest.Lines{Ground: area.Inset(4), Holes: []covertest.Shape{hole.Inset(-5)}, Width: 6, RunIn: 3})},
		{"point rows, whole bar", wedge, nil, covertest.NewPath(5).Lines(covertest.Lines{Ground: wedge, Width: 6, Ends: covertest.LastCorner, RunIn: 3})},
		{"point rows, sections shut", wedge, nil, covertest.NewPath(5).Lines(covertest.Lines{Ground: wedge, Width: 6, Ends: covertest.FirstCorner, Sections: imp.Sections, RunIn: 3})},
		{"across one another", area, nil, covertest.NewPath(5).Lines(covertest.Lines{Ground: area.Inset(10), Width: 6, RunIn: 3}).Lines(covertest.Lines{Ground: area.Inset(20), Heading: 1, Width: 6, Spacing: 7, RunIn: 3})},
		{"round and round, lapped", area, nil, covertest.NewPath(5).RoundAndRound(area.Inset(3), 5.5, 8, 25, 4)},
		{"round and round, three laps over", area, nil, covertest.NewPath(5).RoundAndRound(area.Inset(3), 2, 8, 25, 3)},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := covertest.NewScene(c.name, c.field, c.holes...)
			s.Drive(covertest.Rig{Name: "drill", Implement: imp, Path: c.path, Speed: speed, Rate: rate})
			m := measure(t, s.Field, s.Machines, field.Options{})
			truth := covertest.Raster(s.Field, s.Trails, side)
			outline, ends := 0.0, 0.0
			for _, tr := range s.Trails {
				outline += 2 * tr.Length()
				ends += 2 * speed / rate * 6
				for i := 1; i < len(tr.Poses); i++ {
					if i+1 < len(tr.Poses) && !slices.Equal(tr.Poses[i-1].Open, tr.Poses[i].Open) {
						ends += speed / rate * 6 / 4
					}
				}
			}
			tol := ends + 4*0.3*math.Pow(side, 1.5)*math.Sqrt(outline) + 0.1*(sweep.Thin.Metres()+0.002)*outline
			depths := max(len(truth.Inside), len(m.Totals.ByDepth))
			for k := range depths {
				var want, got float64
				if k < len(truth.Inside) {
					want = truth.Inside[k]
				}
				if k < len(m.Totals.ByDepth) {
					got = sq(m.Totals.ByDepth[k])
				}
				assert.InDelta(t, want, got, tol, "depth %d", k)
			}
			assert.InDelta(t, truth.OverReach(), sq(m.Totals.OverReach), tol, "over-reach")
			assert.InDelta(t, truth.Swept(), sq(m.Totals.Swept), 2*tol, "swept")
		})
	}
}

// A closed headland round counts twice where it laps its own start, and
// nowhere else.
func TestRoundClosing(t *testing.T) {
	area := covertest.Rectangle(-70, -50, 70, 50)
	for _, lap := range []float64{0, 4, 10, 25} {
		s := covertest.NewScene("round", area)
		s.Drive(covertest.Rig{
			Name: "drill", Implement: covertest.Mounted(6, 2, 1), Speed: 2, Rate: 10,
			Path: covertest.NewPath(5).Round(area.Inset(3), 7, lap),
		})
		m := measure(t, s.Field, s.Machines, field.Options{})
		assert.Len(t, m.Passes, 1)
		assert.InDelta(t, lap*6, sq(m.Totals.Overlap), 2*0.2*6, "a lap of %v m", lap)
		assert.Equal(t, m.Totals.Overlap, m.Totals.Excess, "twice, not more")
	}
}

// A wing that pivots back, a machine that backs up, or one that stands and
// works on meets its ground again before it has gone two widths: one visit.
func TestNoNewVisit(t *testing.T) {
	land := covertest.NewScene("pivot", covertest.Rectangle(-60, -60, 60, 60)).Field
	drive := func(path *covertest.Path, im machine.Implement) *coverage.Map {
		s := covertest.NewScene("pivot", covertest.Rectangle(-60, -60, 60, 60))
		s.Drive(covertest.Rig{Name: "drill", Implement: im, Speed: 1, Rate: 10, Path: path})
		return measure(t, s.Field, s.Machines, field.Options{})
	}
	t.Run("a wing pivots", func(t *testing.T) {
		m := drive(covertest.Start(0, -20, 0).On().Straight(20).Arc(4, math.Pi/2).Straight(20).Off().Straight(5), covertest.Mounted(12, 0, 1))
		assert.Zero(t, m.Totals.Overlap)
		assert.Len(t, m.Passes, 1)
	})
	t.Run("stands", func(t *testing.T) {
		m := drive(covertest.Start(0, -20, 0).On().Straight(20).Stand(40).Straight(20).Off().Straight(5), covertest.Mounted(12, 0, 1))
		assert.Zero(t, m.Totals.Overlap)
		assert.InDelta(t, 40*12, sq(m.Totals.Covered), 0.2*12)
	})
	t.Run("backs up", func(t *testing.T) {
		// 40 m on, 5 m back, 27 m on: the headings say it never turned.
		h := newHand(land)
		put := func(y float64, working bool) {
			h.fix(0.2, 0, y, working, 0)
			h.track.Fixes[len(h.track.Fixes)-1].Heading = 0
		}
		put(-40.4, false)
		y := -40.0
		for ; y < 0; y += 0.4 {
			put(y, true)
		}
		for ; y > -5; y -= 0.4 {
			put(y, true)
		}
		for ; y < 22; y += 0.4 {
			put(y, true)
		}
		put(y, false)
		m := measure(t, land, []machine.Logged{h.machine(covertest.Mounted(6, 0, 2))}, field.Options{})
		assert.Zero(t, m.Totals.Overlap)
		assert.InDelta(t, 62*6, sq(m.Totals.Covered), 0.8*6)
	})
}

// Sections shut in the log leave their strip out: in a pass of 4 sections the
// second from the left is shut for 100 of 200 m.
func TestSectionShut(t *testing.T) {
	land := covertest.NewScene("strip", covertest.Rectangle(-6, 0, 6, 200))
	land.Drive(covertest.Rig{
		Name: "drill", Implement: covertest.Mounted(12, 0, 4), Speed: 2, Rate: 2,
		Path: covertest.Start(0, -10, 0).Straight(10).On().Straight(50).Open(0b1101).Straight(100).On().Straight(50).Off().Straight(10),
	})
	m := measure(t, land.Field, land.Machines, field.Options{})
	require.Len(t, m.Passes, 1)
	// The last fix at work is a step before the end.
	step := 1.0
	assert.InDelta(t, 3*100+12*step, sq(m.Totals.Skip), gridError(2*100))
	require.Len(t, m.Skips, 2)
	strip := m.Skips[0]
	assert.InDelta(t, 3*100, sq(strip.Area), gridError(2*100))
	assert.InDelta(t, -1.5, strip.At.X.Metres(), 1.5)
	assert.InDelta(t, 3, strip.Width.Metres(), 0.05)
	assert.Zero(t, m.Totals.Overlap)
}

// Work with no ground in the field is counted in a warning and in no area; a
// pass that touches the field is in it whole.
func TestWorkElsewhere(t *testing.T) {
	land := rectangle(100, 200)
	h := newHand(land)
	h.pass(20, 0, 20, 200)
	h.pass(500, 0, 500, 200)  // the neighbour's
	h.pass(40, 150, 40, 250)  // over the end
	h.pass(-50, 0, -50, 200)  // beside
	h.pass(105, 200, 105, 50) // half over the edge
	m := measure(t, land, []machine.Logged{h.machine(covertest.Mounted(12, 0, 1))}, field.Options{})
	require.Len(t, m.Passes, 3)
	for i, p := range m.Passes {
		assert.Equal(t, i+1, p.ID)
	}
	assert.Equal(t, 2, countOf(m.Warnings, "elsewhere"))
	assert.InDelta(t, 12*200+12*50+1*150, sq(m.Totals.Covered), gridError(1500))
	assert.InDelta(t, 12*50+11*150, sq(m.Totals.OverReach), gridError(1500))
}

// Without a boundary the field is the outer edge of the worked ground: skips in
// its midst are skips, and nothing lies outside.
func TestWorkedBoundary(t *testing.T) {
	h := newHand(rectangle(1, 1))
	for k := range 4 {
		x := 6 + 12*float64(k)
		h.pass(x, 0, x, 200)
	}
	h.pass(0, 6, 60, 6) // a round shuts the gap that follows
	h.pass(0, 194, 60, 194)
	h.pass(54, 11, 54, 189)
	im := covertest.Mounted(11, 0, 1) // half a metre is left out between the lines
	m := measure(t, field.Field{Name: "worked"}, []machine.Logged{h.machine(im)}, field.Options{})
	assert.True(t, m.Field.Worked)
	assert.InDelta(t, 0, sq(m.Totals.OverReach), gridError(3000))
	assert.Positive(t, m.Totals.Skip)
	assert.Equal(t, m.Totals.Field, m.Totals.Covered+m.Totals.Skip)
	// Between the lines, from one headland pass to the other: 3 strips of 1 m,
	// and one beside the last line.
	assert.InDelta(t, 4*(188.5-11.5), sq(m.Totals.Skip), 0.1)
	assert.InDelta(t, 0, float64(m.Headland.Edge.Mean), 2)
}

// Whether a fix at either end of a stand is slow enough is decided by a hair at
// some speeds and rates; it must not matter to the ground.
func TestStandingByAHair(t *testing.T) {
	drive := func(speed, rate, hair float64, seed uint64) float64 {
		s := covertest.NewScene("stop", covertest.Rectangle(-10, 0, 10, 400))
		s.Drive(covertest.Rig{
			Name: "drill", Implement: covertest.Mounted(12, 2, 4), Speed: speed, Rate: rate, Seed: seed,
			Path:    covertest.Start(0, 30, 0).Stand(30).On().Straight(120).Stand(30).Straight(90).Stand(30).Off().Straight(20),
			Defects: []covertest.Defect{covertest.White(0.01), covertest.White(hair)},
		})
		return sq(measure(t, s.Field, s.Machines, field.Options{}).Totals.Swept)
	}
	for _, speed := range []float64{0.375, 0.75, 1.5, 3} {
		for _, rate := range []float64{10, 5, 1} {
			for seed := range uint64(4) {
				assert.InDelta(t, drive(speed, rate, 0, seed), drive(speed, rate, 1e-9, seed), 0.01, "%v m/s at %v Hz, seed %d", speed, rate, seed)
			}
		}
	}
}
