package whatif

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/cause"
	"lapwing/coverage/covertest"
	"lapwing/coverage/region"
	"lapwing/coverage/work"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// A skip is certain from nineteen runs of twenty on, and likely in more than half.
func TestCertaintyOf(t *testing.T) {
	for share, want := range map[float64]Certainty{1: Certain, 0.95: Certain, 0.945: Likely, 0.51: Likely, 0.5: WithinError, 0: WithinError} {
		assert.Equal(t, want, CertaintyOf(share), "%v", share)
	}
}

// A field may cost twenty times what laying it may; one that took all of it is measured
// as often again, one that took half twice as often, and none less than the fewest.
func TestRunsOn(t *testing.T) {
	for _, c := range []struct{ found, most, asked, want int }{
		{0, 1000, 200, 200}, {1, 1000, 200, 200}, {100, 1000, 200, 200}, {200, 1000, 200, 100}, {500, 1000, 200, 40}, {1000, 1000, 200, 20}, {5000, 1000, 200, 20}, {1000, 1000, 7, 7},
	} {
		m := &coverage.Map{Crossings: region.Crossings{Found: c.found, Most: c.most}}
		assert.Equal(t, c.want, runsOn(m, c.asked), "%+v", c)
	}
}

// Errors that are level have no mean and differ from one another as before; those given
// stay as they were.
func TestLevel(t *testing.T) {
	e := []plane.Vector{{X: 1, Y: -2}, {X: 4, Y: 6}, {X: -2, Y: 5}}
	before := slices.Clone(e)
	for i, got := range level(e) {
		assert.InDelta(t, []float64{0, 3, -3}[i], got.X, 1e-9)
		assert.InDelta(t, []float64{-5, 3, 2}[i], got.Y, 1e-9)
	}
	assert.Equal(t, before, e)
}

// A pass that was shown a metre too far east is moved a metre west, at each of its nodes.
func TestBack(t *testing.T) {
	n := nodesOf(timed(7, 14), []ReceiverError{{}})
	e := make([]plane.Vector, n.count)
	for k := range e {
		e[k] = plane.Vector{X: float64(k), Y: -10 * float64(k)}
	}
	moves := n.back(e)
	require.Len(t, moves, 2)
	at := 0
	for i, nodes := range []int{2, 3} {
		require.Len(t, moves[i], nodes)
		for _, move := range moves[i] {
			assert.InDelta(t, -float64(at), move.East.Metres(), 1e-9)
			assert.InDelta(t, 10*float64(at), move.North.Metres(), 1e-9)
			at++
		}
	}
}

func area(m2 float64) plane.Area { return plane.Area(m2 * float64(plane.SquareMetre)) }

// trial is one that found so much of each quantity.
func trial(skip, overlap, excess, overReach, wasted float64, left ...float64) Trial {
	return Trial{Ground: region.Totals{Skip: area(skip), Overlap: area(overlap), Excess: area(excess), OverReach: area(overReach)},
		Wasted: []plane.Area{area(wasted)}, Left: left}
}

// Runs tell by how much a field is unlike what was measured. Half the runs once, half again:
// by so much as these come out larger on the whole, those are too large, but never by more
// than half. What is not worked yet is no skip.
func TestRead(t *testing.T) {
	m := &coverage.Map{Skips: []cause.Skip{{}, {Doubt: 0.5}, {}}}
	m.Totals.Skip, m.Totals.Remainder, m.Totals.Overlap, m.Totals.Excess, m.Totals.OverReach = area(700), area(600), area(50), area(80), area(10)
	still := trial(1000, 200, 300, 30, 400, 1, 1)
	var runs trials
	for range 20 {
		runs.once = append(runs.once, trial(1040, 220, 330, 25, 440, 0.5, 0.3))
		runs.again = append(runs.again, trial(1070, 215, 930, 31, 443, 0, 0))
	}
	for i := range 5 {
		runs.once[i].Left[0] = 0.01 // slivers
	}
	h := &HowSure{Errors: []ReceiverError{ErrorOf(geo.Fixed)}, Looked: []int{0, 1}}
	h.read(m, Options{Groups: [][]bool{{true}}}, []int{0, 1}, still, runs)
	for _, c := range []struct {
		name string
		in   Interval
		want float64
	}{
		{"skip", h.Skip, 100 + 40 - 30},
		{"overlap", h.Overlap, 50 + 20 + 5},
		{"excess, which again is larger by much", h.Excess, (80 + 30) / 2.0},
		{"over-reach, below nothing", h.OverReach, 10 - 5 - 2.5},
		{"wasted", h.Wasted[0], 400 + 40 - 3},
	} {
		for _, got := range []float64{c.in.Low, c.in.Middle, c.in.High} {
			assert.InDelta(t, c.want, got, 1e-6, c.name)
		}
	}
	require.Len(t, h.Skips, 2)
	assert.InDelta(t, 0.75, h.Skips[0], 1e-9)
	assert.InDelta(t, 0.5, h.Skips[1], 1e-9, "half of it was likely worked after all")
	assert.Equal(t, map[int]float64{0: h.Skips[0], 1: h.Skips[1]}, h.Shares())
}

// An odd run is one once. Where the receiver steered all are.
func TestTrials(t *testing.T) {
	for runs, again := range map[int]int{1: 0, 2: 1, 7: 3, 200: 100} {
		both, steered := newTrials(false, runs), newTrials(true, runs)
		assert.Equal(t, [2]int{runs - again, again}, [2]int{len(both.once), len(both.again)})
		assert.Equal(t, [2]int{runs, 0}, [2]int{len(steered.once), len(steered.again)})
	}
}

// The nth of n values is the share n / (n + 1): of nineteen the first and the last are the
// ends, of nine or one the ends are as far as any lies, and between two ranks it is linear.
func TestIntervalOfFew(t *testing.T) {
	whole := reach{-1, 0, 1}
	values := func(n int) (out []float64) {
		for i := range n {
			out = append(out, float64(10*(n-i)))
		}
		return out
	}
	assert.Equal(t, Interval{10, 100, 190}, intervalOf(values(19), whole))
	assert.Equal(t, Interval{10, 50, 90}, intervalOf(values(9), whole))
	assert.Equal(t, Interval{10, 15, 20}, intervalOf(values(2), whole))
	assert.Equal(t, Interval{10, 10, 10}, intervalOf(values(1), whole))
	got := intervalOf(values(29), whole) // the ends lie at ranks 1.5 and 28.5
	assert.InDelta(t, 15, got.Low, 1e-9)
	assert.InDelta(t, 150, got.Middle, 1e-9)
	assert.InDelta(t, 285, got.High, 1e-9)
}

// As many skips are looked at as are asked for, the largest, and 50 where it is not said;
// ground not worked yet is none of them.
func TestSkipsLookedAt(t *testing.T) {
	s, passes := worked(t)
	var some []work.Pass
	for i := range passes[:len(passes)-4] {
		if i != 12 && i != 16 && i != 20 {
			some = append(some, passes[i])
		}
	}
	m := mapOf(t, s, some)
	var mistakes []int
	for i := range m.Skips {
		if m.Skips[i].Mistake() {
			mistakes = append(mistakes, i)
		}
	}
	require.Less(t, len(mistakes), len(m.Skips))
	require.Greater(t, len(mistakes), 2)
	one := func(o Options) *HowSure {
		o.Runs, o.Errors = 2, []ReceiverError{{}}
		return Sure(m, o)
	}
	assert.Equal(t, mistakes[:2], one(Options{MostSkips: 2}).Looked)
	assert.Equal(t, mistakes[:min(50, len(mistakes))], one(Options{}).Looked)
	many := *m
	many.Skips = slices.Repeat([]cause.Skip{m.Skips[mistakes[0]]}, 60)
	m = &many
	assert.Len(t, one(Options{}).Looked, 50)
}

// A boundary drawn around the worked ground moves with it: an error that hardly changes in
// the time of the work, as a drift over hours does, says nothing of it.
func TestDriftOfAWorkedBoundary(t *testing.T) {
	s, passes := worked(t)
	m := mapOf(t, s, passes)
	opt := Options{Runs: 20, Errors: []ReceiverError{{Drift: 1}}, Steering: ByReceiver}
	width := func(in Interval) float64 { return in.High - in.Low }
	drawn := Sure(m, opt)
	m.Field.Worked = true
	around := Sure(m, opt)
	assert.Less(t, width(around.OverReach), width(drawn.OverReach)/3)
	assert.Equal(t, 20, around.Runs)
}

// Laps that are all alike to a centimetre were not driven by anything else than the
// receiver, if it errs by decimetres; laps as scattered as it errs were. It is of no matter
// where what steered is told.
func TestSteeredByReceiver(t *testing.T) {
	s, passes := worked(t)
	m := mapOf(t, s, passes)
	is := func(o Options) bool { o.Runs = 2; return Sure(m, o).ByReceiver }
	large, small := []ReceiverError{{ShortTerm: 0.5}}, []ReceiverError{{ShortTerm: 0.005}}
	assert.True(t, is(Options{Errors: large}))
	assert.False(t, is(Options{Errors: small}), "so small an error would not show")
	assert.False(t, is(Options{Errors: large, Steering: Otherwise}))
	assert.True(t, is(Options{Errors: small, Steering: ByReceiver}))
	n := nodesOf(m, large)
	off := n.back(n.draw(rand.New(rand.NewPCG(15, 16)), 2))
	for i := range passes {
		passes[i].Poses = slices.Clone(passes[i].Poses)
		for k := range passes[i].Poses {
			q := &passes[i].Poses[k]
			east, north := off[i].at(shareOf(n.passes[i].along, q.Along))
			q.Bar = q.Bar.Add(plane.Point{X: east.Length(), Y: north.Length()})
		}
	}
	m = mapOf(t, s, passes)
	assert.False(t, is(Options{Errors: large}))
}

// gapped is a field of 100 m by 20.4 m that two machines of 10 m work from end to end, with
// 40 cm left between.
func gapped(t *testing.T) *coverage.Map {
	s := covertest.NewScene("two", covertest.Rectangle(0, 0, 20.4, 100))
	for i, x := range []float64{5, 15.4} {
		s.Drive(covertest.Rig{Name: []string{"left", "right"}[i], Implement: covertest.Mounted(10, 0, 1), Speed: 2, Rate: 1,
			Path: covertest.Start(x, -1, 0).On().Straight(102).Off().Straight(5)})
	}
	m := mapOf(t, s, s.Passes())
	require.Len(t, m.Passes, 2)
	require.Len(t, m.Skips, 1)
	return m
}

// moved is a move of a pass as a whole, in metres, with knots at its ends.
func moved(east, north float64) Move {
	return Move{{plane.DistanceOf(east), plane.DistanceOf(north)}, {plane.DistanceOf(east), plane.DistanceOf(north)}}
}

// Rectangles moved by so many metres cover what plane geometry says. A skip goes along with
// half of what each pass beside it is moved by.
func TestReplayOfRectangles(t *testing.T) {
	m := gapped(t)
	var knots [][]plane.Distance
	for i := range m.Passes {
		knots = append(knots, []plane.Distance{0, m.Passes[i].Length})
	}
	r := NewReplay(m, knots, []int{0}, [][]bool{{true, false}, {true, true}, {false, false}})
	for _, c := range []struct {
		name                                 string
		moves                                []Move
		skip, overlap, overReach, left, both float64 // left and both: wasted by the left machine, and by both
		stays                                float64
	}{
		{"as measured", nil, 40, 0, 40, 20, 40, 1},
		{"not moved", []Move{nil, moved(0, 0)}, 40, 0, 40, 20, 40, 1},
		{"both alike, 20 cm to the east", []Move{moved(0.2, 0), moved(0.2, 0)}, 60, 0, 39.6 + 20.4, 20, 60.4, 1},
		{"the right one 20 cm to the left", []Move{nil, moved(-0.2, 0)}, 20 + 20, 0, 40, 20, 40, 0.5},
		{"the right one 60 cm to the left", []Move{nil, moved(-0.6, 0)}, 60, 20, 39.6, 20, 60, 0},
		{"the left one 40 cm to the right", []Move{moved(0.4, 0), nil}, 40, 0, 40, 20, 40, 0},
		{"the left one 1 m ahead", []Move{moved(0, 1), nil}, 40, 0, 40, 20, 40, 1},
	} {
		got := r.Run(c.moves)
		g := got.Ground
		assert.InDelta(t, c.skip, g.Skip.SquareMetres(), 0.1, c.name)
		assert.InDelta(t, c.overlap, g.Overlap.SquareMetres(), 0.1, c.name)
		assert.InDelta(t, c.overReach, g.OverReach.SquareMetres(), 0.5, c.name)
		assert.InDelta(t, c.left, got.Wasted[0].SquareMetres(), 0.5, c.name)
		assert.InDelta(t, c.both, got.Wasted[1].SquareMetres(), 0.8, c.name)
		assert.Zero(t, got.Wasted[2], c.name)
		assert.InDelta(t, c.stays, got.Left[0], 0.01, c.name)
	}
	// A pass that is turned about its start by 40 cm at its end leaves a triangle more, and
	// goes over the far edge by another.
	got := r.Run([]Move{nil, {{}, {East: plane.DistanceOf(0.4)}}})
	assert.InDelta(t, 60, got.Ground.Skip.SquareMetres(), 0.5)
	assert.InDelta(t, 60, got.Ground.OverReach.SquareMetres(), 0.8)
}
