package agronomy

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/quantity"
	"lapwing/coverage/region"
	"lapwing/coverage/track"
	"lapwing/coverage/work"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// straightPass is a pass of a 10 m bar north from the origin, 2 m/s, that
// worked in a state from each 100 m to the next.
func straightPass(id int, x float64, swept float64, states ...machine.StateID) coverage.Pass {
	p := coverage.Pass{ID: id, PassAreas: region.PassAreas{Swept: squareMetres(swept)}}
	for i := range len(states) + 1 {
		at := float64(100 * i)
		pose := work.Pose{
			Time: geo.Instant(time.Duration(50*i+1000*id) * time.Second), Along: plane.DistanceOf(at),
			Bar: plane.Point{X: plane.Metres(x), Y: plane.Metres(at)},
		}
		if i < len(states) {
			pose.State = states[i]
		}
		p.Poses = append(p.Poses, pose)
	}
	return p
}

// A quarter of the way from a place to one 30 m east and 40 m north of it, 20 s later.
func TestMarkAt(t *testing.T) {
	p := &coverage.Pass{ID: 3}
	p.Poses = []work.Pose{
		{Time: geo.Instant(100 * time.Second), Along: plane.DistanceOf(200), Bar: plane.Point{X: 10 * plane.Metre, Y: -20 * plane.Metre}},
		{Time: geo.Instant(120 * time.Second), Along: plane.DistanceOf(250), Bar: plane.Point{X: 40 * plane.Metre, Y: 20 * plane.Metre}},
	}
	assert.Equal(t, PassPlace{
		Pass: 3, Along: plane.DistanceOf(212.5), Time: geo.Instant(105 * time.Second),
		At: plane.Point{X: plane.Metres(17.5), Y: -10 * plane.Metre},
	}, markAt(p, 1, 0.25))
}

// What was worked since the last fill: at a time that is given, after a long stop, and
// after a change of log that took as long; a log that goes on at once is none. Passes of
// 100 and 200 m of a 10 m bar, of which each 100 m takes 50 s, at 1000 and 2000 s.
func TestSinceFill(t *testing.T) {
	second := func(s int) geo.Instant { return geo.Instant(time.Duration(s) * time.Second) }
	for _, c := range []struct {
		name string
		at   []geo.Instant
		want float64
		set  func(first, second *coverage.Pass)
	}{
		{"never", nil, 3000, nil},
		{"at the start of the second pass", []geo.Instant{second(2000)}, 2000, nil},
		{"between them", []geo.Instant{second(1500)}, 2000, nil},
		{"on the second", []geo.Instant{second(2050)}, 1000, nil},
		{"after all", []geo.Instant{second(2500)}, 0, nil},
		{"a long stop", nil, 2000, func(_, p *coverage.Pass) { p.Before.Stops = []track.Stop{{Stood: track.LongStop}} }},
		{"a long silence", nil, 2000, func(_, p *coverage.Pass) { p.Before.Silent = track.LongStop }},
		{"another log", nil, 2000, func(_, p *coverage.Pass) { p.Track, p.After = 1, 0 }},
		{"another log at once", nil, 3000, func(q, p *coverage.Pass) { q.End, p.Track, p.After = p.Start-second(60), 1, 0 }},
	} {
		m := &coverage.Map{Machines: []machine.Machine{{Name: "drill", Implement: machine.Implement{Width: 10 * plane.Metre}}},
			Passes: []coverage.Pass{straightPass(1, 0, 1000, 0), straightPass(2, 10, 2000, 0, 0)}}
		for i := range m.Passes {
			q := &m.Passes[i]
			q.Start, q.End, q.States = q.Poses[0].Time, q.Poses[len(q.Poses)-1].Time, []machine.State{nil}
		}
		m.Passes[1].After = m.Passes[0].End
		if c.set != nil {
			c.set(&m.Passes[0], &m.Passes[1])
			if m.Passes[1].Track == 0 {
				m.Passes[1].After = m.Passes[0].End
			}
		}
		p := product(t, "", "", "1 L/m2", "")
		tank := 1500 * quantity.Litre // it is less than was worked, and goes on to be told
		p.Tank, p.Fill = &tank, 1
		assert.InDelta(t, c.want, SinceFill(m, &p, 0, c.at), 1e-6, c.name)
	}
	assert.Zero(t, SinceFill(&coverage.Map{}, &Product{}, 0, nil), "no tank")
}

// 1 L/m² from a tank of 1500 L: a fill goes 1500 m². The first pass sweeps
// 1000 m² and then 500 m² with half the bar; the second 2000 m².
func TestTanks(t *testing.T) {
	m := &coverage.Map{
		Machines: []machine.Machine{{
			Name:      "drill",
			Implement: machine.Implement{Width: 10 * plane.Metre},
		}, {Name: "idle"}},
		Passes: []coverage.Pass{straightPass(1, 0, 1500, 0, 1), straightPass(2, 10, 2000, 0, 0)},
	}
	for i := range m.Passes {
		m.Passes[i].States = []machine.State{nil, {{Left: 0, Right: 5 * plane.Metre}}}
	}
	p := product(t, "", "", "1 L/m2", "")
	tank := 1500 * quantity.Litre
	p.Tank, p.Fill = &tank, 1
	ledgers := tanksOf(m, &p, carriers(m.Machines, &p), nil)
	require.Len(t, ledgers, 1, "the idle machine swept nothing")
	l := ledgers[0]
	assert.InDelta(t, 1500, l.FillArea, 1e-9)
	require.Len(t, l.Fills, 3)

	first, second, third := l.Fills[0], l.Fills[1], l.Fills[2]
	assert.InDelta(t, 1500, first.Area, 1e-6)
	assert.InDelta(t, 0, first.Left, 1e-9)
	assert.Equal(t, 1, first.To.Pass)
	assert.InDelta(t, 200e4, float64(first.To.Along), 1)
	assert.Equal(t, 2, second.To.Pass)
	assert.InDelta(t, 150e4, float64(second.To.Along), 1)
	assert.Equal(t, plane.Point{X: 10 * plane.Metre, Y: 150 * plane.Metre}, second.To.At)
	assert.InDelta(t, 2075, time.Duration(second.To.Time).Seconds(), 1e-6)
	assert.InDelta(t, 500, third.Area, 1e-6)
	assert.InDelta(t, 1.0, third.Left, 1e-9) // m³

	sum := 0.0
	for _, f := range l.Fills {
		sum += f.Area
	}
	assert.InDelta(t, 3500, sum, 1e-6, "all that was swept")

	p.Tank = nil
	assert.Empty(t, tanksOf(m, &p, carriers(m.Machines, &p), nil))
}

// dryField is one machine that sweeps 1000 m² in each of six passes, 50 s long
// and 1000 s from start to start, without a stop; its tank goes 2500 m².
func dryField(t *testing.T) (*coverage.Map, Product) {
	t.Helper()
	m := &coverage.Map{Machines: []machine.Machine{{Name: "drill", Implement: machine.Implement{Width: 10 * plane.Metre}}}}
	for i := range 6 {
		p := straightPass(i+1, 10*float64(i), 1000, 0)
		p.Start, p.End = p.Poses[0].Time, p.Poses[1].Time
		if i > 0 {
			p.After = m.Passes[i-1].End
		}
		m.Passes = append(m.Passes, p)
	}
	p := product(t, "", "", "1 L/m2", "")
	tank := 2500 * quantity.Litre
	p.Tank, p.Fill = &tank, 1
	return m, p
}

func TestTankRunsDryBetweenReportedTimes(t *testing.T) {
	m, p := dryField(t)
	// Filled at the start, half way along the fourth pass, and no more.
	p.FilledAt = []geo.Instant{m.Passes[0].Start, m.Passes[3].Start + geo.Instant(25*time.Second)}
	l := tanksOf(m, &p, carriers(m.Machines, &p), nil)[0]
	assert.Equal(t, ByTimes, l.DryBy)
	assert.Equal(t, 3, l.Expected)
	assert.Equal(t, 2, l.Reported)
	require.Len(t, l.Fills, 2)
	// A pose stands at each end of a pass, so a fill within it begins at its end.
	assert.InDelta(t, 3000, l.Fills[0].Area, 1000)
	assert.InDelta(t, 6000, l.Fills[0].Area+l.Fills[1].Area, 1e-6)
	require.NotEmpty(t, l.Dry)
	assert.Equal(t, 3, l.Dry[0].From.Pass)
	assert.InDelta(t, 50e4, float64(l.Dry[0].From.Along), 1)
	assert.InDelta(t, l.Fills[0].Area-2500, l.Dry[0].Area, 1e-6)
	assert.Zero(t, l.Fills[0].Left)

	// A fill in time and none is dry.
	p.FilledAt = []geo.Instant{m.Passes[0].Start, m.Passes[2].Start, m.Passes[4].Start}
	l = tanksOf(m, &p, carriers(m.Machines, &p), nil)[0]
	assert.Empty(t, l.Dry)
	require.Len(t, l.Fills, 3)
	assert.InDelta(t, 0.5, l.Fills[0].Left, 1e-9) // m³
}

// A fill that goes 2000 m² instead of 1950 is within what tanks are read to, and
// one that goes 3000 m² is not.
func TestTankSlack(t *testing.T) {
	m, p := dryField(t)
	tank := 1950 * quantity.Litre
	p.Tank = &tank
	p.FilledAt = []geo.Instant{m.Passes[0].Start, m.Passes[2].Start, m.Passes[4].Start}
	assert.Empty(t, tanksOf(m, &p, carriers(m.Machines, &p), nil)[0].Dry)
	p.FilledAt = []geo.Instant{m.Passes[0].Start, m.Passes[3].Start}
	l := tanksOf(m, &p, carriers(m.Machines, &p), nil)[0]
	require.Len(t, l.Dry, 2)
	assert.InDelta(t, 1050, l.Dry[0].Area, 1e-6)
	assert.Zero(t, l.Fills[0].Left)
}

func TestTankRunsDryByCount(t *testing.T) {
	m, p := dryField(t)
	for fills, dry := range map[int]float64{1: 3500, 2: 1000, 3: 0, 4: 0} {
		p.Fills = fills
		l := tanksOf(m, &p, carriers(m.Machines, &p), nil)[0]
		assert.Equal(t, ByCount, l.DryBy)
		assert.Equal(t, fills, l.Reported)
		assert.Equal(t, 3, l.Expected)
		if dry == 0 {
			assert.Empty(t, l.Dry)
			continue
		}
		require.Len(t, l.Dry, 1)
		assert.InDelta(t, dry, l.Dry[0].Area, 1e-6)
		assert.Equal(t, l.Fills[fills].From, l.Dry[0].From)
	}
	// Two fills for 5 % more than two fills' ground: within what tanks are read to.
	m.Passes = m.Passes[:5]
	m.Passes[4].Swept = squareMetres(1200)
	p.Fills = 2
	assert.Empty(t, tanksOf(m, &p, carriers(m.Machines, &p), nil)[0].Dry)
}

// Nobody said anything, and the log shows no stop to fill at.
func TestTankRunsDryWithoutAStop(t *testing.T) {
	m, p := dryField(t)
	l := tanksOf(m, &p, carriers(m.Machines, &p), nil)[0]
	assert.Equal(t, ByStops, l.DryBy)
	assert.Zero(t, l.Reported)
	require.Len(t, l.Dry, 1)
	assert.InDelta(t, 3500, l.Dry[0].Area, 1e-6)
	assert.Len(t, l.Fills, 3, "as expected")

	stop := []track.Stop{{From: m.Passes[1].End, Stood: 5 * time.Minute}}
	m.Passes[2].Before.Stops = stop
	m.Passes[4].Before.Silent = 4 * time.Minute
	assert.Empty(t, tanksOf(m, &p, carriers(m.Machines, &p), nil)[0].Dry, "filled at the stop, and in the silence")
	m.Passes[4].Before.Silent = time.Minute
	require.Len(t, tanksOf(m, &p, carriers(m.Machines, &p), nil)[0].Dry, 1)
	assert.InDelta(t, 1500, tanksOf(m, &p, carriers(m.Machines, &p), nil)[0].Dry[0].Area, 1e-6)

	for i := range m.Passes {
		m.Passes[i].NoClock = true
	}
	assert.Empty(t, tanksOf(m, &p, carriers(m.Machines, &p), nil)[0].Dry, "without a clock nobody can tell")
	assert.Empty(t, tanksOf(m, &p, carriers(m.Machines, &p), nil)[0].DryBy)
}

// A 1000 gal tank at the filling limit of 85 % (Administrative Rules of
// Montana 4.12.712), ammonia at 60 F (0.02597 ft³/lb), 82 % N: at 100 lb N/ac
// it goes 35.87 ac, so a 160 ac field takes 5 fills; with the full volume it
// would seem 42.2 ac and 4.
func TestAmmoniaFillsForAQuarterSection(t *testing.T) {
	ground := 160 * quantity.Acre
	for _, c := range []struct {
		fill  float64
		acres float64
		fills int
	}{{0.85, 35.87, 5}, {1, 42.2, 4}} {
		tank, warmth := 1000*quantity.Gallon, (60-32)/1.8+273.15
		p := Product{Analysis: &Analysis{N: 0.82}, Tank: &tank, Fill: c.fill, Temperature: &warmth}
		v, err := quantity.Read("100 lb N/ac", quantity.Rate)
		require.NoError(t, err)
		require.NoError(t, p.SetRate(v, Seed{}))
		m := &coverage.Map{
			Machines: []machine.Machine{{Implement: machine.Implement{Width: 10 * plane.Metre}}},
			Passes:   []coverage.Pass{straightPass(1, 0, ground, 0)},
		}
		l := tanksOf(m, &p, carriers(m.Machines, &p), nil)[0]
		assert.InEpsilon(t, c.acres, quantity.InAcres(l.FillArea), 0.002)
		assert.Len(t, l.Fills, c.fills)
		assert.InDelta(t, c.fill*1000*quantity.Gallon, l.Filled, 1e-9)
	}
}

func TestTankWithoutDensityIsSaid(t *testing.T) {
	p := product(t, "82-0-0", "", "100 lb/ac", "")
	p.Name = "ammonia"
	tank := 3.0
	p.Tank, p.Fill = &tank, 0.85
	a := Reckon(pieces(), []Product{p}, nil)
	assert.Empty(t, a.Accounts[0].Tanks)
	assert.Equal(t, []field.Warning{{Text: "product ammonia: there is a tank but neither density nor, for ammonia, temperature, so how far a fill goes is not known"}}, a.Unsaid)
}
