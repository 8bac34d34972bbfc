package mend

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/cause"
	"lapwing/coverage/field"
	"lapwing/coverage/locate"
	"lapwing/coverage/machine"
	"lapwing/coverage/region"
	"lapwing/coverage/work"
	"lapwing/geo/plane"
)

// there is a run along a line, and back is one along it from its other end.
func there(a, b plane.Point) course {
	return course{[2]Lane{{Line: []plane.Point{a, b}, LineUp: a}, {Line: []plane.Point{b, a}, LineUp: b}}}
}

// Two runs north side by side and one that goes on from the first, for which the machine
// would come in line from the side:
//
//	   |C
//	   |
//	 A||B
//	.  ||      . the machine
func TestLegsBetweenRuns(t *testing.T) {
	c := there(at(10, 32), at(10, 36))
	c.ways[0].LineUp = at(14, 31)
	runs := []course{there(at(10, 10), at(10, 30)), there(at(20, 10), at(20, 30)), c}
	w := newWays(newGround(holed()), at(5, 10), runs)
	steep := math.Pi - math.Atan(0.5) // from north to down by one in two
	for _, row := range []struct {
		name           string
		from, to       int
		way            []plane.Point
		length, turned float64
	}{
		{"to the first, which it enters eastward", -1, 0, []plane.Point{at(5, 10), at(10, 10)}, 5, math.Pi / 2},
		{"across to the next, down", 0, 3, []plane.Point{at(10, 30), at(20, 30)}, 10, math.Pi},
		{"across and back to the next, up", 0, 2, []plane.Point{at(10, 30), at(20, 10)}, math.Hypot(10, 20), 2 * steep},
		{"straight on", 0, 4, []plane.Point{at(10, 30), at(10, 32)}, 2, 0},
		{"straight on downward", 5, 1, []plane.Point{at(10, 32), at(10, 30)}, 2, 0},
		{"by where to line up", -1, 4, []plane.Point{at(5, 10), at(14, 31), at(10, 32)}, math.Hypot(9, 21) + math.Hypot(4, 1),
			math.Atan2(9, 21) + 2*math.Atan(4)},
	} {
		l := w.leg(row.from, row.to)
		assert.Equal(t, row.way, l.Way, row.name)
		assert.InDelta(t, row.length, l.Length.Metres(), 1e-6, row.name)
		assert.InDelta(t, row.turned, float64(l.Turned), 1e-9, row.name)
		assert.Zero(t, l.Off, row.name)
		assert.False(t, l.Outside, row.name)
	}
	// What a way costs is its length, and an arc of 10 m for each turn.
	costs := w.costs(10 * plane.Metre)
	m := float64(plane.Metre)
	assert.Equal(t, 3, costs.n)
	assert.InDelta(t, 5+5*math.Pi, costs.start[0]/m, 1e-6)
	assert.InDelta(t, 10+10*math.Pi, costs.step[0][3]/m, 1e-6)
	assert.InDelta(t, 2, costs.step[0][4]/m, 1e-6)
	for i := range 6 {
		assert.True(t, math.IsInf(costs.step[i][i], 1), "no run follows itself")
		assert.True(t, math.IsInf(costs.step[i][i^1], 1), "nor its other way")
	}

	// The machine stands 3 m west of the field: it comes straight to it, and that is told.
	w = newWays(newGround(holed()), at(-3, 14), runs)
	l := w.leg(-1, 0)
	assert.Equal(t, []plane.Point{at(-3, 14), at(0, 14), at(10, 10)}, l.Way)
	assert.InDelta(t, 3, l.Off.Metres(), 1e-9)
	assert.InDelta(t, 3+math.Hypot(10, 4), l.Length.Metres(), 1e-6)
	l = w.leg(0, 3)
	assert.Equal(t, []plane.Point{at(10, 30), at(20, 30)}, l.Way, "once")
	assert.Zero(t, l.Off)
}

// Between two parts of a field there is no way over it: a road is needed, which is taken to
// be three times as long.
func TestLegByRoad(t *testing.T) {
	g := newGround([]plane.Polygon{{Shell: ring(0, 0, 100, 0, 100, 100, 0, 100)}, {Shell: ring(200, 0, 300, 0, 300, 100, 200, 100)}})
	w := newWays(g, at(10, 5), []course{there(at(10, 10), at(10, 30)), there(at(210, 10), at(210, 30))})
	l := w.leg(0, 3)
	assert.True(t, l.Outside)
	assert.Equal(t, []plane.Point{at(10, 30), at(210, 30)}, l.Way)
	assert.InDelta(t, 200, l.Length.Metres(), 1e-9)
	assert.False(t, w.leg(-1, 0).Outside)
	costs := w.costs(10 * plane.Metre)
	assert.InDelta(t, 600+10*math.Pi, costs.step[0][3]/float64(plane.Metre), 1e-6)
	assert.InDelta(t, 5, costs.start[0]/float64(plane.Metre), 1e-6)
}

// A machine goes straight on where it turns by less than 20 degrees and the ground between
// is free.
func TestStraightOnByHand(t *testing.T) {
	w := newWays(newGround(holed()), at(5, 5), nil)
	north := there(at(10, 10), at(10, 30)).ways[0]
	for degrees, want := range map[float64]bool{0: true, 19: true, -19: true, 21: false, -21: false, 180: false} {
		sin, cos := math.Sincos(degrees * math.Pi / 180)
		next := there(at(10+5*sin, 30+5*cos), at(10+9*sin, 30+9*cos)).ways[0]
		l, ok := w.straightOn(&north, &next)
		assert.Equal(t, want, ok, degrees)
		assert.InDelta(t, 5, l.Length.Metres(), 1e-3)
	}
	east := there(at(20, 50), at(30, 50)).ways[0]
	for x, want := range map[float64]bool{35: true, 70: false} {
		next := there(at(x, 50), at(x+4, 50)).ways[0]
		_, ok := w.straightOn(&east, &next)
		assert.Equal(t, want, ok, "from 40 to 60 there is the hole")
	}
}

// At 2 m/s, with turns of 8 m: 100 m of way, half a radian of arc and a run of 196 m are 150 s, and to
// set in takes half a minute. By road 100 m are 300.
func TestTimesOfADrive(t *testing.T) {
	stop := func(place int, outside bool) Stop {
		return Stop{Leg{Length: plane.DistanceOf(100), Worked: plane.DistanceOf(30), Turned: 0.5, Outside: outside}, Lane{Place: place, Length: plane.DistanceOf(196)}}
	}
	p := &Plan{Radius: 8 * plane.Metre, Stops: []Stop{stop(0, false), stop(1, true), stop(0, false)}}
	near := func(want, got time.Duration) {
		t.Helper()
		assert.InDelta(t, want.Seconds(), got.Seconds(), 1e-6)
	}
	near(180*time.Second, p.StopTime(0, 2))
	near(280*time.Second, p.StopTime(1, 2))
	near(105*time.Second, p.StopTime(2, 4))
	near(360*time.Second, p.PlaceTime(0, 2))
	near(280*time.Second, p.PlaceTime(1, 2))
	near(640*time.Second, p.Time(2))
	assert.InDelta(t, 300, p.Travel().Metres(), 1e-9)
	assert.InDelta(t, 90, p.Worked().Metres(), 1e-9)
	assert.InDelta(t, 588, p.Work().Metres(), 1e-9)
}

// A drive to a strip of 4 m by 50 m and to a speck that must be mended; another speck is small,
// and along what lies outside the field there is no line.
func TestPlacesOfADrive(t *testing.T) {
	box := func(x, y, wide, long float64) plane.Polygon {
		return plane.Polygon{Shell: ring(x, y, x+wide, y, x+wide, y+long, x, y+long)}
	}
	m := &coverage.Map{
		Field:    field.Field{Boundary: []plane.Polygon{{Shell: ring(-50, -50, 150, -50, 150, 150, -50, 150)}}},
		Machines: []machine.Machine{{Implement: machine.Implement{Width: 10 * plane.Metre, Sections: machine.EqualSections(10*plane.Metre, 5)}}},
	}
	for i, shape := range []plane.Polygon{box(0, 0, 4, 50), box(400, 0, 4, 40), box(60, 0, 3, 3), box(90, 0, 3, 3)} {
		m.Regions = append(m.Regions, region.Region{Kind: region.Skip, Shape: shape, Area: shape.Area()})
		b := shape.Shell.Bounds()
		m.Skips = append(m.Skips, cause.Skip{Region: i, Area: shape.Area(), Width: plane.Distance(b.Max.X - b.Min.X), At: plane.Point{X: (b.Min.X + b.Max.X) / 2, Y: (b.Min.Y + b.Max.Y) / 2}})
	}
	p := New(m, Options{Skips: []int{3, 0, 1, 2}, Must: []int{3}, Start: at(2, -20)})
	assert.Equal(t, []int{2}, p.Small)
	assert.Equal(t, []int{1}, p.Left)
	assert.Equal(t, [][]int{{0}, {3}}, p.Places)
	require.Len(t, p.Stops, 2)
	assert.True(t, p.Shortest)
	for i, want := range [][]int{{0}, {3}} {
		r := &p.Stops[i].Run
		assert.Equal(t, want, r.Skips)
		assert.Equal(t, want, p.Places[r.Place])
		assert.Equal(t, 1, r.Of)
	}
	assert.Equal(t, []bool{false, true, true, false, false}, oneOf(p.Stops[0].Run.Open), "4 m are two sections of 2 m")
	assert.Equal(t, p.StopTime(1, 3), p.PlaceTime(1, 3))
	// It enters the strip from the south: 20 m on from where it stands. From its north end it is
	// 94 m and more to the speck.
	assert.Equal(t, "south", p.Stops[0].Run.Enter)
	assert.Greater(t, p.Stops[1].Leg.Length.Metres(), 75.0)
	assert.InDelta(t, p.Stops[0].Leg.Length.Metres()+p.Stops[1].Leg.Length.Metres(), p.Travel().Metres(), 1e-9)

	// Turns of half the bar, of 25 ft at least, or as they are told.
	assert.Equal(t, plane.Length(76200), p.Radius)
	assert.Equal(t, 5*plane.Metre, New(m, Options{Radius: 5 * plane.Metre}).Radius)
	m.Machines[0].Implement.Width = 24 * plane.Metre
	assert.Equal(t, 12*plane.Metre, New(m, Options{}).Radius)
	assert.Empty(t, New(m, Options{Skips: []int{0, 2, 3}, All: true}).Small)
}

// oneOf is a pattern of open sections with that of its mirror image that opens more to the left.
func oneOf(open []bool) []bool {
	for i := range open {
		if mirror := open[len(open)-1-i]; open[i] != mirror {
			if open[i] {
				return open
			}
			out := make([]bool, len(open))
			for k := range open {
				out[k] = open[len(open)-1-k]
			}
			return out
		}
	}
	return open
}

// What is worth a drive: 20 m² and 30 cm; and runs that go over no more than their skip fills
// by 15 in a hundred.
func TestWorthADrive(t *testing.T) {
	assert.True(t, (&patch{area: 20 * plane.SquareMetre, width: plane.DistanceOf(0.3)}).worth())
	assert.False(t, (&patch{area: 20*plane.SquareMetre - 1, width: plane.DistanceOf(0.3)}).worth())
	assert.False(t, (&patch{area: 20 * plane.SquareMetre, width: plane.DistanceOf(0.2999)}).worth())
	over := func(metres float64) course {
		return course{[2]Lane{{Length: plane.DistanceOf(metres), Need: plane.DistanceOf(2)}}}
	}
	for area, want := range map[plane.Area]bool{31 * plane.SquareMetre: true, 29 * plane.SquareMetre: false} {
		assert.Equal(t, want, (&laid{patch: patch{area: area}, courses: []course{over(40), over(60)}}).fills(), "of 200 m²")
	}
}

// Four sections of 3 m over a strip from 1 m left of a guide: the fewest that reach over it, the
// middle of the bar before its ends, and over the strip's middle before flush with its sides.
func TestChoicesByHand(t *testing.T) {
	im := &machine.Implement{Width: 12 * plane.Metre, RowSpacing: 15 * plane.Centimetre, Sections: machine.EqualSections(12*plane.Metre, 4)}
	type pick struct {
		first, last int
		centre      float64
		flush       bool
	}
	for right, want := range map[float64][]pick{
		2:    {{1, 1, 2, false}, {2, 2, -1, false}, {0, 0, 5, false}, {3, 3, -4, false}},
		2.15: {{1, 1, 2.075, false}, {2, 2, -0.925, false}, {0, 0, 5.075, false}, {3, 3, -3.925, false}},
		1.5: {{1, 1, 1.75, false}, {2, 2, -1.25, false}, {0, 0, 4.75, false}, {3, 3, -4.25, false},
			{1, 1, 1.5, true}, {2, 2, -1, true}, {1, 1, 2, true}, {2, 2, -1.5, true}, {0, 0, 4.5, true}, {3, 3, -4, true}, {0, 0, 5, true}, {3, 3, -4.5, true}},
		2.5: {{1, 2, 0.75, false}, {0, 1, 3.75, false}, {2, 3, -2.25, false},
			{1, 2, 2, true}, {1, 2, -0.5, true}, {0, 1, 2.5, true}, {2, 3, -1, true}, {0, 1, 5, true}, {2, 3, -3.5, true}},
		11:   {{0, 3, 5, false}},
		11.1: {{0, 3, 5.05, false}},
		30:   {{0, 3, 14.5, false}},
	} {
		s := strip{left: plane.DistanceOf(-1), right: plane.DistanceOf(right)}
		got := s.choices(im)
		if !assert.Len(t, got, len(want), right) {
			continue
		}
		for i, c := range got {
			assert.Equal(t, [2]int{want[i].first, want[i].last}, [2]int{c.first, c.last}, "%v m, choice %d", right, i)
			assert.InDelta(t, want[i].centre, c.centre.Metres(), 1e-9, "%v m, choice %d", right, i)
			assert.Equal(t, want[i].flush, c.flush)
			assert.Equal(t, plane.Length(c.last-c.first+1)*3*plane.Metre, c.width)
		}
	}
}

// A strip beside a guide of 100 m, seen from its other end.
func TestReversedByHand(t *testing.T) {
	s := strip{guide: straight(at(0, 0), 0, 1), from: plane.DistanceOf(10), to: plane.DistanceOf(61), left: plane.DistanceOf(-1), right: plane.DistanceOf(2), misses: 5}
	b := s.reversed()
	for i, want := range []float64{39, 90, -2, 1} {
		assert.InDelta(t, want, []plane.Distance{b.from, b.to, b.left, b.right}[i].Metres(), 1e-9)
	}
	assert.Equal(t, 5.0, b.misses)
	x, y, sin, cos := b.guide.at(locate.Offset{Along: plane.DistanceOf(39), Across: plane.DistanceOf(-2)})
	assert.InDelta(t, 2, x/float64(plane.Metre), 1e-9, "left of the way back is right of the way there")
	assert.InDelta(t, 61, y/float64(plane.Metre), 1e-9)
	assert.InDelta(t, 0, sin, 1e-12)
	assert.InDelta(t, -1, cos, 1e-12)
}

// The lines that a run may follow: the long axis, the direction of the pass that the skip lies
// along, and four of the passes beside it that are long enough; and the rings of the boundary
// within a metre.
func TestGuidesOfAPatch(t *testing.T) {
	m := &coverage.Map{Field: field.Field{Boundary: holed()}}
	for i := range 6 {
		var p coverage.Pass
		for k := range 3 {
			d := 10 * float64(k)
			p.Poses = append(p.Poses, work.Pose{Along: plane.DistanceOf(d), Bar: at(float64(i), d), Heading: plane.Angle(0.1 * float64(k))})
		}
		m.Passes = append(m.Passes, p)
	}
	m.Passes[1].Poses = m.Passes[1].Poses[:1] // too short to guide
	p := &patch{shells: []plane.Ring{ring(20, 10, 24, 10, 24, 30, 20, 30)}, passes: []int{1, 2, 3, 4, 5, 6}, main: &cause.Skip{At: at(1, 11)}}
	assert.Len(t, guides(m, p), 1+3)
	p.passes = []int{1, 3, 4, 5, 6}
	assert.Len(t, guides(m, p), 1+4)
	p.main.Place.Pass = 1
	all := guides(m, p)
	require.Len(t, all, 2+4)
	sin, cos := all[1].direction(0)
	assert.InDelta(t, math.Sin(0.1), sin, 1e-12, "as it went at 10 m")
	assert.InDelta(t, math.Cos(0.1), cos, 1e-12)
	_, _, ok := heading(&coverage.Pass{}, at(0, 0))
	assert.False(t, ok)

	assert.Empty(t, edges(m, p))
	for x, want := range map[float64]int{1.1: 0, 0.9: 1, -0.9: 1, -1.1: 0} {
		p.shells = []plane.Ring{ring(x, 20, x+4, 20, x+4, 30, x, 30)}
		if x < 0 {
			p.shells = []plane.Ring{ring(x-4, 20, x, 20, x, 30, x-4, 30)}
		}
		assert.Len(t, edges(m, p), want, x)
	}
	p.shells = []plane.Ring{ring(0.5, 20, 39.5, 20, 39.5, 50, 0.5, 50)}
	assert.Len(t, edges(m, p), 2, "the outer ring and the hole")
}

// Beside slanted edges a way is on the ground on their one side only.
func TestSeesBesideSlantedEdges(t *testing.T) {
	for name, c := range map[string]struct {
		field plane.Ring
		way   [4]float64
		want  bool
	}{
		"inside, below an edge that falls":       {ring(0, 0, 100, 0, 0, 100), [4]float64{42, 50, 48, 50}, true},
		"outside, above an edge that falls":      {ring(0, 0, 100, 0, 0, 100), [4]float64{52, 50, 56, 50}, false},
		"outside, far above an edge that falls":  {ring(0, 0, 100, 0, 0, 100), [4]float64{88, 48, 92, 52}, false},
		"inside, right of an edge that rises":    {ring(0, 0, 100, 0, 100, 100), [4]float64{54, 50, 60, 50}, true},
		"outside, left of an edge that rises":    {ring(0, 0, 100, 0, 100, 100), [4]float64{40, 50, 46, 50}, false},
		"inside, far from the middle of the map": {ring(1000, 500, 1100, 500, 1000, 600), [4]float64{1020, 572, 1026, 572}, true},
		"outside there":                          {ring(1000, 500, 1100, 500, 1000, 600), [4]float64{1030, 572, 1036, 572}, false},
		"inside, by a flat edge":                 {ring(0, 0, 100, 0, 0, 20), [4]float64{20, 15, 24, 15}, true},
		"outside, by a flat edge":                {ring(0, 0, 100, 0, 0, 20), [4]float64{26, 15, 30, 15}, false},
	} {
		g := newGround([]plane.Polygon{{Shell: c.field}})
		assert.Equal(t, c.want, g.sees(at(c.way[0], c.way[1]), at(c.way[2], c.way[3])), name)
		assert.Equal(t, c.want, g.sees(at(c.way[2], c.way[3]), at(c.way[0], c.way[1])), name+", back")
	}
}

// A corner that leaves the side of a hole by 10 cm is none to drive round; those of a triangle are.
func TestCornersOfASimpleOutline(t *testing.T) {
	shell := ring(0, 0, 100, 0, 100, 100, 0, 100)
	ragged := newGround([]plane.Polygon{{Shell: shell, Holes: []plane.Ring{ring(40, 40, 39.9, 50, 40, 60, 60, 60, 60, 40)}}})
	assert.Len(t, ragged.corners, 4)
	narrow := newGround([]plane.Polygon{{Shell: shell, Holes: []plane.Ring{ring(40, 40, 50, 40.4, 60, 40)}}})
	assert.Len(t, narrow.corners, 3)
}

// Corners that lie within a centimetre are one, and a pass of a metre is a guide.
func TestCornersOfGuides(t *testing.T) {
	g := alongRing(ring(0, 0, 100, 0, 100, 0.005, 100, 100, 50, 100, 49.995, 100, 0, 100), at(90, 80))
	for i := 1; i < len(g.along); i++ {
		assert.Greater(t, (g.along[i] - g.along[i-1]).Metres(), 0.01)
	}
	p := &coverage.Pass{}
	p.Poses = []work.Pose{{Bar: at(0, 0)}, {Along: plane.DistanceOf(1), Bar: at(0, 1)}}
	short := bordering(p)
	if assert.NotNil(t, short) {
		assert.InDelta(t, 1, short.along[1].Metres(), 1e-9)
	}
	// Of three stretches of 100 m the middle one is seen no farther than to its ends.
	m := float64(plane.Metre)
	three := newGuide([]float64{0, 100 * m, 100 * m, 200 * m}, []float64{0, 0, 100 * m, 100 * m})
	for y, want := range map[float64][2]float64{120: {200, 20}, -30: {100, 30}, 40: {140, 0}} {
		s, off := three.see(1, 100*m, y*m)
		assert.InDelta(t, want[0], s.Along.Metres(), 1e-9)
		assert.InDelta(t, want[1], off.Metres(), 1e-9)
	}
}

// The axis of a strip that lies between two of the directions that are tried first.
func TestLongAxisBetweenDirections(t *testing.T) {
	for _, degrees := range []float64{31.1, 28.7, 120.9, -0.7} {
		s, c := math.Sincos(degrees * math.Pi / 180)
		p := func(along, across float64) plane.Point { return at(along*s+across*c, along*c-across*s) }
		sin, cos := longAxis(plane.Ring{p(0, 0), p(0, 4), p(1000, 4), p(1000, 0)})
		assert.InDelta(t, s, sin, 1e-4, degrees)
		assert.InDelta(t, c, cos, 1e-4, degrees)
	}
}

// Lines that only touch, whichever end does, cross nowhere; and a line that goes up by 4 in 3,
// by 3 in 4, and by 4 in 3 again turns by as much each time.
func TestTouchingAndTurning(t *testing.T) {
	for _, c := range [][8]float64{{0, 0, 10, 0, 7, 3, 3, 0}, {0, 0, 10, 0, 3, 0, 7, 3}, {0, 0, 10, 0, 0, -1, 0, 3}, {0, 0, 10, 0, 10, -1, 10, 3}, {0, 0, 10, 0, 2, 0, 5, 0}} {
		_, cross := crossing(at(c[0], c[1]), at(c[2], c[3]), at(c[4], c[5]), at(c[6], c[7]))
		assert.False(t, cross, c)
	}
	got := turnedAt([]plane.Point{at(0, 0), at(3, 4), at(7, 7), at(10, 11)})
	for i, want := range []float64{0, math.Atan2(7, 24), 2 * math.Atan2(7, 24)} {
		assert.InDelta(t, want, got[i], 1e-9)
	}
}

// Skips that touch are mended in one go where that takes fewer runs and works no more ground:
//
//	||   1 m and 1 m wide: one run    |   8 m and 8 m: two runs    +--   round a corner: two runs
//	||                                                             |
func TestTouchingSkipsInOneGo(t *testing.T) {
	for name, c := range map[string]struct {
		shells []plane.Ring
		want   [][]int // the skips of each stop, whichever comes first
	}{
		"side by side, narrow": {[]plane.Ring{ring(0, 0, 1, 0, 1, 100, 0, 100), ring(1, 0, 2, 0, 2, 100, 1, 100)}, [][]int{{0, 1}}},
		"side by side, wide":   {[]plane.Ring{ring(0, 0, 8, 0, 8, 100, 0, 100), ring(8, 0, 16, 0, 16, 100, 8, 100)}, [][]int{{0}, {1}}},
		"behind each other":    {[]plane.Ring{ring(0, 0, 2, 0, 2, 60, 0, 60), ring(0, 60, 2, 60, 2, 100, 0, 100)}, [][]int{{0, 1}}},
		"round a corner":       {[]plane.Ring{ring(0, 0, 2, 0, 2, 100, 0, 100), ring(2, 98, 2, 100, 100, 100, 100, 98).Reversed()}, [][]int{{0}, {1}}},
	} {
		m := &coverage.Map{
			Field:    field.Field{Boundary: []plane.Polygon{{Shell: ring(-50, -50, 150, -50, 150, 150, -50, 150)}}},
			Machines: []machine.Machine{{Implement: machine.Implement{Width: 10 * plane.Metre, Sections: machine.EqualSections(10*plane.Metre, 5)}}},
		}
		for i, shell := range c.shells {
			shape := plane.Polygon{Shell: shell}
			m.Regions = append(m.Regions, region.Region{Kind: region.Skip, Shape: shape, Area: shape.Area()})
			m.Skips = append(m.Skips, cause.Skip{Region: i, Area: shape.Area(), Width: plane.DistanceOf(1), At: shell[0]})
		}
		if name == "round a corner" { // they share the short edge alone
			m.Regions[0].Shape.Shell = ring(0, 0, 2, 0, 2, 98, 2, 100, 0, 100)
		}
		p := New(m, Options{Skips: []int{0, 1}, All: true, Start: at(1, -10)})
		var got [][]int
		for i := range p.Stops {
			got = append(got, p.Stops[i].Run.Skips)
		}
		assert.ElementsMatch(t, c.want, got, name)
		assert.Equal(t, [][]int{{0, 1}}, p.Places, name)
	}
}

// A line that goes round the corners of a hole is not made simpler through it.
func TestLineRoundAHoleIsNotCut(t *testing.T) {
	g := newGround(holed())
	round := []plane.Point{at(40.01, 30), at(40, 40), at(40, 60), at(40.01, 70)}
	on, lost := g.onGround(round)
	assert.Equal(t, round, on)
	assert.Zero(t, lost)
}

// From 0 to 1 it is shorter by way of both corners than straight to the second, and shorter
// still over a place to stop at, which is no corner to go round:
//
//	0 --1-- 3 --1-- 4 --1-- 1      0 --10-- 4      0 --½-- 2 --½-- 1
func TestShortestWayByHand(t *testing.T) {
	w := &travel{places: []plane.Point{at(0, 0), at(1, 0), at(2, 0), at(3, 0), at(4, 0)}, asked: 3, reach: make([][]plane.Distance, 5)}
	for i := range w.reach {
		w.reach[i] = make([]plane.Distance, 5)
		for k := range w.reach[i] {
			w.reach[i][k] = plane.Distance(math.Inf(1))
		}
	}
	for _, c := range []struct {
		a, b int
		long plane.Distance
	}{{0, 3, 1}, {3, 4, 1}, {4, 1, 1}, {0, 4, 10}, {0, 2, 0.5}, {2, 1, 0.5}} {
		w.reach[c.a][c.b], w.reach[c.b][c.a] = c.long, c.long
	}
	far, before := w.from(0)
	assert.Equal(t, []plane.Distance{0, 3, 0.5, 1, 2}, far)
	assert.Equal(t, []plane.Point{at(0, 0), at(3, 0), at(4, 0), at(1, 0)}, w.way(0, 1, before))
	assert.True(t, w.joined())
	w.reach[4][1], w.reach[2][1] = plane.Distance(math.Inf(1)), plane.Distance(math.Inf(1))
	_, before = w.from(0)
	assert.Nil(t, w.way(0, 1, before))
	assert.False(t, w.joined())
}
