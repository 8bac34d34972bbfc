package coverage_test

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A clock that is set while the machine drives on moves no ground, and is told
// once for each time.
func TestClockSetOnTheWay(t *testing.T) {
	for _, rate := range []float64{10, 1, 0.3} {
		for _, jump := range []float64{3600, -40, 18, -1.5, -86400} {
			if jump > -2/rate && jump < 5*3/rate && rate < 1 {
				continue // within the log's own beat
			}
			noise := covertest.White(0.02)
			want := ground(t, one(rate, noise))
			m := measure(t, one(rate).Field, one(rate, noise, covertest.ClockJump(80, jump)).Machines, field.Options{})
			why := fmt.Sprintf("%v s at %v Hz", jump, rate)
			assert.InDelta(t, sq(want.Covered), sq(m.Totals.Covered), 0.5, why)
			assert.Zero(t, m.Totals.Unlogged, why)
			assert.Len(t, m.Passes, 1, why)
			assert.Equal(t, 1, countOf(m.Warnings, "the clock leaps"), why)
		}
	}
}

// A silence, a stop and fixes out of order are no leaps of the clock.
func TestClockNotSet(t *testing.T) {
	for name, s := range map[string]*covertest.Scene{
		"silence":      one(5, covertest.White(0.02), covertest.Silence(60, 40)),
		"out of order": one(5, covertest.White(0.02), covertest.OutOfOrder(40)),
		"doubled":      one(5, covertest.White(0.02), covertest.Doubled(40), covertest.OutOfOrder(40)),
		"standing":     one(5, covertest.White(0.02), wait(0.02)),
		"only working": barley(1, covertest.White(0.02), covertest.OnlyWorking()),
	} {
		m := measure(t, s.Field, s.Machines, field.Options{})
		assert.Zero(t, countOf(m.Warnings, "the clock leaps"), name)
	}
}

// In a log that records only work, and is silent in every turn, a time without
// fixes on the way is a stop, however evenly the machine drives before and
// after; a clock that is put back is still a clock that is put back.
func TestClockOfALogThatFallsSilent(t *testing.T) {
	for jump, want := range map[float64]int{120: 0, -40: 1} {
		s := barley(1, covertest.White(0.02), covertest.OnlyWorking(), covertest.ClockJump(70, jump))
		m := measure(t, s.Field, s.Machines, field.Options{})
		assert.Equal(t, want, countOf(m.Warnings, "the clock leaps"), "%v s", jump)
	}
}

// A log written backward is the same ground, with one warning.
func TestTurnedRound(t *testing.T) {
	s := barley(1, covertest.White(0.02))
	want := measure(t, s.Field, s.Machines, field.Options{})
	slices.Reverse(s.Machines[0].Tracks[0].Fixes)
	m := measure(t, s.Field, s.Machines, field.Options{})
	sameGround(t, want, m, "turned round")
	n := 0
	for _, w := range m.Warnings {
		if w.Text == "times fall all along: the log is turned round" {
			n++
		}
	}
	assert.Equal(t, 1, n)
	assert.Zero(t, countOf(m.Warnings, "put in order"))
}

// However a log is cut into files, in whatever order they are named, and
// whichever of them are there twice, it is the same ground.
func TestCutShuffledRepeated(t *testing.T) {
	s := covertest.Small(0.02, 3)
	whole := s.Machines[0].Tracks[0]
	want := measure(t, s.Field, s.Machines, field.Options{Rounds: 1})
	piece := func(name string, fixes []machine.Fix) machine.Track {
		return machine.Track{File: name, Fixes: fixes, States: whole.States, WorkingLogged: true}
	}
	for seed := range uint64(6) {
		r := rand.New(rand.NewPCG(seed, 77))
		var tracks []machine.Track
		for from := 0; from < len(whole.Fixes); {
			to := min(len(whole.Fixes), from+1+r.IntN(len(whole.Fixes)/3))
			tracks = append(tracks, piece(fmt.Sprint(from, ".csv"), whole.Fixes[from:to]))
			from = to
		}
		for range r.IntN(3) { // a copy
			tracks = append(tracks, tracks[r.IntN(len(tracks))])
		}
		if seed%2 == 1 { // and one whose lines are dealt out to two files
			var a, b []machine.Fix
			for i, f := range tracks[0].Fixes {
				if i%2 == 0 {
					a = append(a, f)
				} else {
					b = append(b, f)
				}
			}
			tracks[0] = piece("a.csv", a)
			tracks = append(tracks, piece("b.csv", b))
		}
		r.Shuffle(len(tracks), func(i, j int) { tracks[i], tracks[j] = tracks[j], tracks[i] })
		s.Machines[0].Tracks = tracks
		m := measure(t, s.Field, s.Machines, field.Options{Rounds: 1})
		sameGround(t, want, m, fmt.Sprint("seed ", seed))
	}
}

// Two logs of one machine that have the same times, each with places of its own
// or only with sections of its own, give one answer whichever is named first.
func TestSameTimesInAnyOrder(t *testing.T) {
	land := rectangle(60, 200)
	whole := machine.State(nil)
	left := machine.State{{Left: -60000, Right: 0}}
	right := machine.State{{Left: 0, Right: 60000}}
	log := func(name string, aside float64, states ...machine.State) machine.Track {
		h := newHand(land)
		for lane := range 5 {
			x := 6 + 12*float64(lane)
			h.pass(x+aside, 0, x+aside, 200)
		}
		h.track.File, h.track.States = name, states
		for i := range h.track.Fixes {
			h.track.Fixes[i].State = machine.StateID(len(states) - 1)
		}
		return h.track
	}
	tests := []struct {
		name   string
		tracks []machine.Track
	}{
		{"other places", []machine.Track{log("a.csv", 0, whole), log("b.csv", 1.5, whole)}},
		{"other sections", []machine.Track{log("a.csv", 0, whole, right), log("b.csv", 0, whole, whole, left), log("c.csv", 0, whole)}},
		{"one longer", []machine.Track{log("a.csv", 0, whole), log("b.csv", 0, whole)}},
	}
	tests[2].tracks[0].Fixes = tests[2].tracks[0].Fixes[:100]
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := newHand(land).machine(covertest.Mounted(12, 0, 2))
			m.Tracks = tt.tracks
			want := measure(t, land, []machine.Logged{m}, field.Options{})
			m.Tracks = slices.Clone(tt.tracks)
			slices.Reverse(m.Tracks)
			got := measure(t, land, []machine.Logged{m}, field.Options{})
			sameGround(t, want, got, "the other way round")
			assert.Equal(t, want.Warnings, got.Warnings)
			assert.Equal(t, len(want.Passes), len(got.Passes))
		})
	}
}

// Logs of one machine keep what their own section states mean.
func TestJoinedStates(t *testing.T) {
	land := rectangle(24, 200)
	left := machine.State{{Left: -60000, Right: 0}}
	right := machine.State{{Left: 0, Right: 60000}}
	a, b := newHand(land), newHand(land)
	for k := range 51 {
		a.fix(2, 6, float64(k)*4, true, 1)
	}
	b.now = 10000
	for k := range 51 {
		b.fix(2, 18, float64(k)*4, true, 1)
	}
	a.track.States = append(a.track.States, left)
	b.track.States = append(b.track.States, right)
	m := a.machine(covertest.Mounted(12, 0, 2))
	m.Tracks = append(m.Tracks, b.track)
	g := measure(t, land, []machine.Logged{m}, field.Options{})
	require.Len(t, g.Passes, 2)
	assert.InDelta(t, 2*6*200, sq(g.Totals.Covered), 1)
	// Both work the outer half of their lane: 0 to 6 m and 18 to 24 m.
	var skips float64
	for _, s := range g.Skips {
		skips += sq(s.Area)
		assert.InDelta(t, 12, s.At.X.Metres(), 0.1)
	}
	assert.InDelta(t, 12*200, skips, 1)
}

// A log that changes its rate on the way is silent where it is silent for
// that rate.
func TestChangingRate(t *testing.T) {
	slow := func(_ *rand.Rand, log []covertest.Sample) []covertest.Sample {
		var out []covertest.Sample
		for i, s := range log {
			if s.Time < 60 || s.Time > 110 || i%20 == 0 { // 5 Hz, and 0.25 Hz in between
				out = append(out, s)
			}
		}
		return out
	}
	m := measure(t, one(5).Field, one(5, slow).Machines, field.Options{})
	assert.Zero(t, m.Totals.Unlogged)
	assert.Len(t, m.Passes, 1)
	assert.InDelta(t, sq(ground(t, one(5)).Covered), sq(m.Totals.Covered), 0.1)
}

// Two machines in one log, not told apart: each has its ground, and it is said
// once.
func TestTwoMachinesInOneLog(t *testing.T) {
	for _, rate := range []float64{5, 1} {
		a := covertest.NewScene("two", covertest.Rectangle(-100, -150, 100, 150))
		for i, x := range []float64{-50, 50} {
			path := covertest.Start(x, -140, 0).Straight(20).On().Straight(200).Off().Straight(20)
			a.Drive(covertest.Rig{Name: fmt.Sprint("drill", i), Implement: covertest.Mounted(12, 2, 1), Speed: 2, Rate: rate, Path: path,
				Seed: uint64(i), Defects: []covertest.Defect{covertest.White(0.02)}})
		}
		want := measure(t, a.Field, a.Machines, field.Options{})
		both := append(slices.Clone(a.Machines[0].Tracks[0].Fixes), a.Machines[1].Tracks[0].Fixes...)
		slices.SortStableFunc(both, func(p, q machine.Fix) int { return int(p.Time.Sub(q.Time) / time.Millisecond) })
		a.Machines = a.Machines[:1]
		a.Machines[0].Tracks[0].Fixes = both
		m := measure(t, a.Field, a.Machines, field.Options{})
		assert.Len(t, m.Passes, 2)
		assert.InDelta(t, sq(want.Totals.Covered), sq(m.Totals.Covered), 0.01)
		assert.Zero(t, countOf(m.Warnings, "jumps"))
		n := 0
		for _, w := range m.Warnings {
			if w.Text[:3] == "the" && len(w.Text) > 30 {
				n++
			}
		}
		assert.Equal(t, 1, n, "%v", m.Warnings)
	}
}

// oneLog makes one log of those of a scene's machines, and one machine of them.
func oneLog(s *covertest.Scene) {
	var all []machine.Fix
	for i := range s.Machines {
		all = append(all, s.Machines[i].Tracks[0].Fixes...)
	}
	slices.SortStableFunc(all, func(p, q machine.Fix) int { return cmp.Compare(p.Time, q.Time) })
	s.Machines = s.Machines[:1]
	s.Machines[0].Tracks[0].Fixes = all
}

// Drills that work side by side, take turns with their lanes and wait now and then, in
// one log that does not say which is which and is silent in the turns: each has its
// ground, with next to no ground worked twice that was not.
func TestMachinesToldApart(t *testing.T) {
	for seed := range uint64(6) {
		r := rand.New(rand.NewPCG(seed, 5))
		drills, rate := 2+int(seed)%3, []float64{1, 5, 0.5}[seed%3]
		s := covertest.NewScene("several", covertest.Rectangle(-10, -160, 400, 160))
		for k := range drills {
			width := 12 * float64(drills)
			p := covertest.Start(12*float64(k), -150, 0).Stand(5 * float64(k))
			for x := 12 * float64(k); x+width < 360; x += width {
				north := p.End().Heading < 1
				y, heading := 150.0, math.Pi
				if !north {
					y, heading = -150, 0
				}
				p.On().Straight(300).Off()
				if r.IntN(3) == 0 {
					p.Stand(60 * r.Float64())
				}
				p.TurnTo(covertest.Stance{XY: covertest.XY{X: x + width, Y: y}, Heading: heading})
			}
			s.Drive(covertest.Rig{Name: fmt.Sprint("drill", k), Implement: covertest.Mounted(12, 2, 1), Speed: 1.9 + 0.2*r.Float64(), Rate: rate, Path: p,
				Seed: seed + uint64(k), Defects: []covertest.Defect{covertest.White(0.02), covertest.OnlyWorking()}})
		}
		want := measure(t, s.Field, s.Machines, field.Options{})
		oneLog(s)
		m := measure(t, s.Field, s.Machines, field.Options{})
		assert.Len(t, m.Passes, len(want.Passes), "seed %d", seed)
		assert.InDelta(t, sq(want.Totals.Covered), sq(m.Totals.Covered), 0.001*sq(want.Totals.Covered), "seed %d", seed)
		assert.InDelta(t, sq(want.Totals.Overlap), sq(m.Totals.Overlap), 0.0005*sq(want.Totals.Covered), "seed %d", seed)
	}
}

// In a log of two drills at 2 m/s a stretch at 7 m/s is no pass, and a warning says so;
// alone in its log it is one.
func TestPassFarTooFast(t *testing.T) {
	s := covertest.NewScene("fast", covertest.Rectangle(-100, -150, 100, 150))
	for i, x := range []float64{-50, 50} {
		path := covertest.Start(x, -140, 0).Straight(20).On().Straight(200).Off().Straight(20)
		s.Drive(covertest.Rig{Name: fmt.Sprint("drill", i), Implement: covertest.Mounted(12, 2, 1), Speed: 2, Rate: 1, Path: path, Seed: uint64(i)})
	}
	want := measure(t, s.Field, s.Machines, field.Options{})
	road := covertest.NewScene("road", covertest.Rectangle(-100, -150, 100, 150)).Drive(covertest.Rig{
		Name: "road", Implement: covertest.Mounted(12, 2, 1), Speed: 7, Rate: 1, Begin: hours(1), Path: covertest.Start(-40, 60, math.Pi/2).On().Straight(90).Off().Straight(7)})
	alone := measure(t, road.Field, road.Machines, field.Options{})
	assert.Len(t, alone.Passes, 1)
	s.Machines = append(s.Machines, road.Machines...)
	oneLog(s)
	m := measure(t, s.Field, s.Machines, field.Options{})
	assert.Len(t, m.Passes, 2)
	assert.Equal(t, want.Totals.Overlap, m.Totals.Overlap)
	assert.Equal(t, 1, countOf(m.Warnings, "goes 84 m at 7.0 m/s, where the work of the log is done at 2.0 m/s"), "%v", m.Warnings)
}

// Positions worse than the rest are counted by quality.
func TestQualities(t *testing.T) {
	s := one(1)
	fixes := s.Machines[0].Tracks[0].Fixes
	for i := range fixes {
		fixes[i].Quality = geo.Fixed
		if i >= 20 && i < 30 {
			fixes[i].Quality = geo.Float
		}
		if i == 40 {
			fixes[i].Quality = geo.Single
		}
	}
	m := measure(t, s.Field, s.Machines, field.Options{})
	require.Len(t, m.Warnings, 1)
	assert.Equal(t, int(fixes[20].Line), m.Warnings[0].Line)
	assert.Contains(t, m.Warnings[0].Text, fmt.Sprintf("%d fixed", len(fixes)-11))
	assert.Contains(t, m.Warnings[0].Text, fmt.Sprintf("10 %v", geo.Float))
	assert.Contains(t, m.Warnings[0].Text, fmt.Sprintf("1 %v", geo.Single))
}

// A log without times is taken as it stands, and that is said.
func TestNoTimes(t *testing.T) {
	s := barley(1)
	want := ground(t, s)
	s.Machines[0].Tracks[0].NoClock = true
	for i := range s.Machines[0].Tracks[0].Fixes {
		s.Machines[0].Tracks[0].Fixes[i].Time = 0
	}
	m := measure(t, s.Field, s.Machines, field.Options{})
	assert.InDelta(t, sq(want.Covered), sq(m.Totals.Covered), 1)
	require.NotEmpty(t, m.Warnings)
	assert.Contains(t, m.Warnings[0].Text, "no times")
}

// Times past what their differences can hold are left out, and told.
func TestImpossibleTimes(t *testing.T) {
	land := rectangle(100, 10)
	bar := machine.Implement{Width: 10 * plane.Metre, Sections: machine.EqualSections(10*plane.Metre, 1)}
	h := newHand(land)
	h.pass(0, 5, 100, 5)
	want := measure(t, land, []machine.Logged{h.machine(bar)}, field.Options{})
	for _, at := range []geo.Instant{math.MinInt64, math.MaxInt64} {
		wild := h.track.Fixes[3]
		wild.Time, wild.Line = at, 99
		g := *h
		g.track.Fixes = append(slices.Clone(h.track.Fixes), wild)
		got := measure(t, land, []machine.Logged{g.machine(bar)}, field.Options{})
		assert.Equal(t, want.Totals, got.Totals)
		assert.Contains(t, got.Warnings, field.Warning{File: "hand.csv", Line: 99, Count: 1, Text: "time is before 1900 or after 2100; fix left out"})
	}
}
