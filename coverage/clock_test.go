package coverage_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/pace"
	"lapwing/coverage/quantity"
	"lapwing/coverage/work"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// timed returns the clocks of one machine on a path.
func timed(t *testing.T, path *covertest.Path, rig covertest.Rig) (*coverage.Map, pace.Clock) {
	t.Helper()
	s := covertest.NewScene("timed", covertest.Rectangle(-300, -300, 300, 300))
	rig.Name, rig.Implement, rig.Path, rig.Speed, rig.Heading = "drill", covertest.Mounted(10, 0, 1), path, 2, true
	s.Drive(rig)
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(t, err)
	clocks := pace.Clocks(m)
	require.Len(t, clocks, 1)
	return m, clocks[0]
}

// 200 m at 2 m/s are 100 s. The machine works, turns, works with a stand of
// 30 s in it, drives 400 m round, stands ten minutes, and works once more.
func TestClockTellsWhereTheTimeWent(t *testing.T) {
	path := func() *covertest.Path {
		p := covertest.Start(-100, -100, 0).On().Straight(200).Off().Arc(10, math.Pi)
		p.On().Straight(100).Stand(30).Straight(100).Off()
		return p.Straight(100).Arc(20, -math.Pi).Straight(40).Stand(600).Straight(160).On().Straight(200).Off().Straight(20)
	}
	turn := math.Pi * 10 / 2
	road := (300 + math.Pi*20) / 2
	for _, rate := range []float64{1, 5} {
		m, c := timed(t, path(), covertest.Rig{Rate: rate})
		require.Len(t, m.Passes, 3)
		// Each pass begins and ends with a fix, so that up to an interval at
		// its end falls to the time after it. Standing is told over two seconds,
		// so a stand begins and ends a second off.
		within := 2 + 4/rate
		assert.InDelta(t, 300, c.Working.Seconds(), within, rate)
		assert.InDelta(t, turn, c.Turning.Seconds(), within)
		assert.InDelta(t, 30, c.Standing.Seconds(), within)
		assert.InDelta(t, 600, c.Stopped.Seconds(), within)
		assert.InDelta(t, road, c.Travelling.Seconds(), within)
		assert.Zero(t, c.Silent)
		assert.Equal(t, c.To.Sub(c.From), c.FieldTime(), "no time is lost or counted twice")
		assert.InEpsilon(t, 2, c.Speed(), 0.02)
		require.Len(t, c.Stops, 1)
		assert.InDelta(t, 600, c.Stops[0].Stood.Seconds(), within)
		at := c.Stops[0].At
		assert.InDelta(t, -40, at.X.Metres(), 0.5)
		assert.InDelta(t, -160, at.Y.Metres(), 0.5)
		assert.InEpsilon(t, m.Totals.Covered.SquareMetres()/c.FieldTime().Seconds(), c.Capacity(), 1e-12)
		assert.InEpsilon(t, 20, c.Theoretical(), 0.02)
	}
}

// A log that records only work is silent in the turns: they are turns all the
// same. A silence at work is no time that the log tells of.
func TestClockInSilence(t *testing.T) {
	path := func() *covertest.Path {
		return covertest.Start(-100, -100, 0).On().Straight(200).Off().Arc(10, math.Pi).On().Straight(200).Off()
	}
	_, c := timed(t, path(), covertest.Rig{Rate: 1, Defects: []covertest.Defect{covertest.OnlyWorking()}})
	assert.InDelta(t, math.Pi*10/2, c.Turning.Seconds(), 2)
	assert.Zero(t, c.Silent)
	assert.Equal(t, c.To.Sub(c.From), c.FieldTime())

	_, c = timed(t, path(), covertest.Rig{Rate: 1, Defects: []covertest.Defect{covertest.Silence(40, 20)}})
	assert.InDelta(t, 20, c.Silent.Seconds(), 2)
	assert.Equal(t, c.To.Sub(c.From), c.FieldTime()+c.Silent)
	assert.InEpsilon(t, 2, c.Speed(), 0.02, "the way across the silence and its time belong together")
}

// A night inside a pass, the bar in the ground, costs neither speed nor efficiency,
// whether the log falls silent for it, goes on, or writes a fix now and then.
func TestNightInsideAPass(t *testing.T) {
	path := func(night float64) *covertest.Path {
		p := covertest.Start(-100, -100, 0).On().Straight(200).Off().Arc(10, math.Pi).On().Straight(100)
		if night > 0 {
			p.Stand(night)
		}
		return p.Straight(100).Off().Straight(20)
	}
	_, day := timed(t, path(0), covertest.Rig{Rate: 1})
	require.InDelta(t, 200.0/(200+math.Pi*10/2), day.Efficiency(), 0.02)
	const night = 10 * 3600
	for name, defects := range map[string][]covertest.Defect{
		"log goes on":       nil,
		"log falls silent":  {covertest.Silence(170, night-10)},
		"a fix in 45 s":     {seldom(170, night-10, 45)},
		"a fix in a minute": {seldom(170, night-10, 60)},
		"a fix in an hour":  {seldom(170, night-10, 3600)},
	} {
		m, c := timed(t, path(night), covertest.Rig{Rate: 1, Defects: defects})
		require.Len(t, m.Passes, 2, name)
		assert.InDelta(t, day.Speed(), c.Speed(), 0.02*day.Speed(), name)
		assert.InDelta(t, day.Efficiency(), c.Efficiency(), 0.02, name)
		assert.InDelta(t, day.FieldTime().Seconds(), c.FieldTime().Seconds(), 5, name)
		assert.InDelta(t, night, (c.Parked + c.Silent).Seconds(), 5, name)
	}
}

// seldom leaves a fix in so many seconds of those in a stretch of time.
func seldom(from, seconds, every float64) covertest.Defect {
	return func(_ *rand.Rand, log []covertest.Sample) (out []covertest.Sample) {
		last := math.Inf(-1)
		for _, s := range log {
			within := s.Time > from && s.Time < from+seconds
			if !within || s.Time-last >= every {
				out, last = append(out, s), s.Time
			}
		}
		return out
	}
}

// A share of a whole is at most one because its parts are: no more ground is new than
// was swept, and no more time is work than is spent in the field.
func TestEfficiencyIsAShare(t *testing.T) {
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(seed, 15))
		p := covertest.Start(-150, -150, 0)
		for range 3 + r.IntN(8) {
			p.Open([]covertest.Mask{covertest.All, covertest.All, 1, 2, covertest.Shut}[r.IntN(5)])
			switch r.IntN(5) {
			case 0:
				p.Stand([]float64{5, 60, 400, 9000, 40000}[r.IntN(5)])
			case 1:
				p.Arc(3+20*r.Float64(), (r.Float64()-0.5)*4*math.Pi) // also tighter than half the bar
			default:
				p.Straight(20 + 100*r.Float64())
			}
		}
		p.On().Straight(30)
		s := covertest.NewScene("share", covertest.Rectangle(-300, -300, 300, 300))
		defects := []covertest.Defect{covertest.White(0.02 * float64(r.IntN(3))), covertest.Silence(60*r.Float64(), 30000*r.Float64())}
		s.Drive(covertest.Rig{Name: "drill", Implement: covertest.Mounted(10, 0, 2), Path: p, Speed: 2, Rate: 1, Defects: defects, Seed: seed})
		m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
		require.NoError(t, err, seed)
		for _, c := range pace.Clocks(m) {
			assert.LessOrEqual(t, c.New, c.Swept, seed)
			assert.GreaterOrEqual(t, c.Shut, 0.0, seed)
			assert.LessOrEqual(t, c.Working, c.FieldTime(), seed)
			assert.LessOrEqual(t, c.Efficiency(), 1+1e-12, seed) // two roundings of a float64
			assert.InDelta(t, c.Efficiency(), c.Working.Seconds()/c.FieldTime().Seconds()*c.New.SquareMetres()/(c.Swept.SquareMetres()+c.Shut), 1e-12, seed)
		}
	}
}

func TestNoClockNoTimes(t *testing.T) {
	s := covertest.Small(0, 1)
	s.Machines[0].Tracks[0].NoClock = true
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(t, err)
	assert.Empty(t, pace.Clocks(m))
	_, ok := pace.Finish(m)
	assert.False(t, ok)
}

// days is a made-up map of one machine whose passes took times of work and,
// after each but the last, of turning.
func days(width, speed float64, passes int, task, turn time.Duration) *coverage.Map {
	m := &coverage.Map{Machines: []machine.Machine{{Implement: machine.Implement{Width: plane.Metres(width)}}}}
	var now geo.Instant
	for i := range passes {
		p := coverage.Pass{Pass: work.Pass{Start: now, End: now + geo.Instant(task), Length: plane.DistanceOf(speed * task.Seconds())}}
		p.New = plane.Area(width * speed * task.Seconds() * float64(plane.SquareMetre))
		p.Swept = p.New
		p.During.Moving = task
		if i > 0 {
			p.Before.Moving, p.After = turn, m.Passes[i-1].End
		}
		m.Passes = append(m.Passes, p)
		now = p.End + geo.Instant(turn)
	}
	return m
}

// Capacities printed by extension services. C (ac/h) = mph × ft × E / 8.25.
func TestFieldCapacities(t *testing.T) {
	const ph, mmpff, ecourse = "Iowa State University Extension, PM 696", "Progressive Forage, Efficiency versus capacity",
		"Indian Agricultural Statistics Research Institute e-course"
	for _, c := range []struct {
		source           string
		mph, feet, share float64
		acres, within    float64
	}{
		{mmpff, 5, 30, 1, 18.2, 0.05}, {mmpff, 5, 30, 0.8, 14.5, 0.05}, {mmpff, 5, 30, 0.6, 10.9, 0.05},
		{ph, 5, 22.5, 0.65, 8.9, 0.05}, {ph, 5, 32.5, 0.65, 12.8, 0.05}, {ph, 5, 42.5, 0.63, 16.2, 0.05},
		{ph, 6, 37.5, 0.65, 17.7, 0.05}, {ph, 6, 42.5, 0.63, 19.5, 0.05}, {ph, 5, 57.5, 0.63, 22.0, 0.05},
		{ph, 6, 40, 0.7, 20.4, 0.05}, {ph, 12, 60, 0.68, 59.3, 0.05}, {ph, 12, 80, 0.68, 79.1, 0.05},
		{ecourse, 5 / 1.609344, 1 / quantity.Foot, 0.8, 0.4 * quantity.Hectare / quantity.Acre, 0.05 * quantity.Hectare / quantity.Acre},
		{ecourse, 4 / 1.609344, 0.9 / quantity.Foot, 0.7, 0.25 * quantity.Hectare / quantity.Acre, 0.005 * quantity.Hectare / quantity.Acre},
	} {
		work := time.Hour
		m := days(c.feet*quantity.Foot, c.mph*0.44704, 1, work, 0)
		m.Passes[0].During.Standing = time.Duration(float64(work) * (1/c.share - 1))
		clock := pace.Clocks(m)[0]
		assert.InDelta(t, c.acres, clock.Capacity()*3600/quantity.Acre, c.within, c.source)
		assert.InDelta(t, c.share, clock.Efficiency(), 1e-6, c.source)
		assert.InDelta(t, c.mph*c.feet/8.25, clock.Theoretical()*3600/quantity.Acre, 1e-3, c.source)
	}
}

// A square quarter section, 54 ft and 5 mph: 49 passes of 2640 ft take 4.900 h
// and 48 turns of 20 s another 0.2667 h, so of the time E = 0.94839 is work.
func TestTurnsCostEfficiency(t *testing.T) {
	pass := time.Duration(2640 / (5 * 88.0 / 60) * float64(time.Second))
	c := pace.Clocks(days(54*quantity.Foot, 5*0.44704, 49, pass, 20*time.Second))[0]
	assert.InDelta(t, 4.900, c.Working.Hours(), 0.0005)
	assert.InDelta(t, 0.2667, c.Turning.Hours(), 0.00005)
	assert.InDelta(t, 0.94839, c.Efficiency(), 0.000005)
}

// A pass elsewhere between two passes is left out of the map, and so is the
// road there and back.
func TestTimeElsewhereIsLeftOut(t *testing.T) {
	m := days(10, 2, 3, 100*time.Second, 20*time.Second)
	all := pace.Clocks(m)[0].Turning
	m.Passes = append(m.Passes[:1:1], m.Passes[2])
	assert.Equal(t, 40*time.Second, all)
	assert.Zero(t, pace.Clocks(m)[0].Turning)
}

// 62 ac left at 22.909 ac/h from 14:30:00 are worked at 17:12:23.
func TestForecast(t *testing.T) {
	work := time.Hour
	m := days(54*quantity.Foot, 5*0.44704, 6, work, 0)
	for i := range m.Passes {
		m.Passes[i].During.Standing = time.Duration(float64(work) * (1/0.7 - 1))
	}
	at := time.Date(2025, 9, 18, 14, 30, 0, 0, time.UTC)
	shift := geo.InstantOf(at) - m.Passes[5].End
	for i := range m.Passes {
		p := &m.Passes[i]
		p.Start, p.End = p.Start+shift, p.End+shift
		if i > 0 {
			p.After += shift
		}
	}
	m.Totals.Skip = plane.Area(60 * quantity.Acre * float64(plane.SquareMetre))
	m.Totals.Unlogged = plane.Area(2 * quantity.Acre * float64(plane.SquareMetre))
	f, ok := pace.Finish(m)
	require.True(t, ok)
	assert.InDelta(t, 22.909, f.Capacity*3600/quantity.Acre, 0.0005)
	assert.Equal(t, "17:12:23", f.Finish.Time().Round(time.Second).Format("15:04:05"))
	assert.InDelta(t, float64(f.Finish), float64(f.Early), float64(time.Second), "passes all alike: no spread")
	left := f.By(geo.InstantOf(at.Add(time.Hour)))
	assert.InDelta(t, 62-22.909, quantity.InAcres(left.SquareMetres()), 0.001)
	assert.Zero(t, f.By(f.Late+geo.Instant(time.Hour)))

	// A second machine of the same pace halves the time; one that went home
	// over half an hour before does not.
	twin := *m
	twin.Machines = append(twin.Machines, m.Machines[0])
	for _, p := range m.Passes {
		p.Machine = 1
		twin.Passes = append(twin.Passes, p)
	}
	both, _ := pace.Finish(&twin)
	assert.Equal(t, []int{0, 1}, both.Machines)
	assert.InEpsilon(t, f.Finish.Sub(f.Now).Seconds()/2, both.Finish.Sub(both.Now).Seconds(), 1e-6)
	twin.Passes = twin.Passes[:len(twin.Passes)-1]
	one, _ := pace.Finish(&twin)
	assert.Equal(t, []int{0}, one.Machines)
}

// The interval holds the truth nine times in ten, for a machine whose passes
// vary at random.
func TestForecastInterval(t *testing.T) {
	const trials, width, speed = 600, 10.0, 2.0
	held := 0
	seed := uint64(1)
	random := func() float64 { // a small generator of its own, so that the draw never changes
		seed = seed*6364136223846793005 + 1442695040888963407
		return float64(seed>>11) / (1 << 53)
	}
	for range trials {
		m := days(width, speed, 30, 100*time.Second, 0)
		draw := func() time.Duration { return time.Duration((10 + 60*random()) * float64(time.Second)) }
		for i := 1; i < len(m.Passes); i++ {
			m.Passes[i].Before.Moving = draw()
		}
		m.Totals.Skip = 20 * m.Passes[0].New
		f, ok := pace.Finish(m)
		require.True(t, ok)
		var took time.Duration
		for range 20 {
			took += 100*time.Second + draw()
		}
		if f.Early.Sub(f.Now) <= took && took <= f.Late.Sub(f.Now) {
			held++
		}
	}
	// 540 of 600 are expected, with a standard deviation of 7.
	assert.InDelta(t, 540, held, 30)
}

func TestForecastNeedsPassesForAnInterval(t *testing.T) {
	m := days(10, 2, 3, 100*time.Second, 20*time.Second)
	m.Totals.Skip = plane.SquareMetre
	f, ok := pace.Finish(m)
	require.True(t, ok)
	assert.Zero(t, f.Early)
	assert.Zero(t, f.Late)
	assert.Positive(t, f.Finish-f.Now)
}
