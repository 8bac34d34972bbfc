package mend

import (
	"math"
	"testing"

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

// Lengths reckoned by hand on the field with a hole, of which a triangle in the corner is
// skipped and a square is not logged:
//
//	100 +----------------+
//	    |          +--+90|
//	    |          |? |  |
//	    |   +---+  +--+  |
//	    |   | # | 70     |
//	 30 |\  +---+        |
//	    |s \             |
//	  0 +----30----------+ 100
func TestWorkedOfAWay(t *testing.T) {
	m := &coverage.Map{Regions: []region.Region{
		{Kind: region.Skip, Shape: plane.Polygon{Shell: ring(0, 0, 30, 0, 0, 30)}},
		{Kind: region.Once, Shape: plane.Polygon{Shell: ring(30, 0, 100, 0, 100, 30)}},
		{Kind: region.Unlogged, Shape: plane.Polygon{Shell: ring(70, 70, 90, 70, 90, 90, 70, 90)}},
	}}
	m.Field = field.Field{Boundary: holed()}
	c := newCovered(m)
	for _, row := range []struct {
		name string
		way  []plane.Point
		want float64
	}{
		{"over worked ground", []plane.Point{at(40, 10), at(80, 40)}, 50},
		{"out of the skip, up by one in two", []plane.Point{at(0, 0), at(60, 30)}, 40 * math.Sqrt(1.25)},
		{"through the skip, falling by one in two", []plane.Point{at(0, 20), at(40, 0)}, 20 * math.Sqrt(1.25)},
		{"from corner to corner of the field's hole", []plane.Point{at(10, 90), at(90, 10)}, 60 * math.Sqrt2},
		{"through what is not logged", []plane.Point{at(60, 100), at(100, 60)}, 20 * math.Sqrt2},
		{"past all of it", []plane.Point{at(50, 65), at(65, 85)}, 25},
		{"out of the field", []plane.Point{at(50, 80), at(80, 120)}, 25},
		{"outside", []plane.Point{at(110, 0), at(140, 40)}, 0},
		{"within the skip", []plane.Point{at(3, 4), at(6, 8)}, 0},
		{"round a corner", []plane.Point{at(40, 10), at(80, 40), at(95, 60)}, 75},
		{"nowhere", []plane.Point{at(40, 10), at(40, 10)}, 0},
	} {
		assert.InDelta(t, row.want, c.length(row.way).Metres(), 0.001, row.name)
		for i, j := 0, len(row.way)-1; i < j; i, j = i+1, j-1 {
			row.way[i], row.way[j] = row.way[j], row.way[i]
		}
		assert.InDelta(t, row.want, c.length(row.way).Metres(), 0.001, row.name+", back")
	}
}

// A shortest way bends 1.5 m off a corner, away from it along the bend's middle; only
// where there is less room than that, a quarter of it. Corners that point out of the
// ground turn no way.
func TestBerthOfCorners(t *testing.T) {
	off := 1.5 / math.Sqrt2
	g := newGround(holed())
	require.Len(t, g.corners, 4, "those of the hole")
	for _, want := range []plane.Point{at(40-off, 40-off), at(40-off, 60+off), at(60+off, 60+off), at(60+off, 40-off)} {
		least := math.Inf(1)
		for _, c := range g.corners {
			least = min(least, c.Distance(want).Metres())
		}
		assert.InDelta(t, 0, least, 0.0002)
	}
	// A hole 50 cm from the boundary: the two corners beside it have a quarter of the berth.
	narrow := newGround([]plane.Polygon{{
		Shell: ring(0, 0, 100, 0, 100, 100, 0, 100),
		Holes: []plane.Ring{ring(40, 0.5, 40, 60, 60, 60, 60, 0.5)},
	}})
	off /= 4
	assert.InDelta(t, 0, nearestOf(narrow.corners, at(40-off, 0.5-off)), 0.0002)
	assert.InDelta(t, 0, nearestOf(narrow.corners, at(60+off, 0.5-off)), 0.0002)
}

// nearestOf returns how many metres the nearest of some places is from p.
func nearestOf(places []plane.Point, p plane.Point) float64 {
	least := math.Inf(1)
	for _, q := range places {
		least = min(least, q.Distance(p).Metres())
	}
	return least
}

func TestNearestOfTheBoundary(t *testing.T) {
	g := newGround(holed())
	for _, c := range []struct{ from, edge, corner plane.Point }{
		{at(30, 10), at(30, 0), at(0, 0)},
		{at(97, 20), at(100, 20), at(100, 0)},
		{at(50, 37), at(50, 40), at(40, 40)},
		{at(63, 66), at(60, 60), at(60, 60)},
		{at(2, 30), at(0, 30), at(0, 0)},
	} {
		assert.Equal(t, c.edge, g.nearestEdge(c.from))
		if c.from != at(50, 37) { // two are as near
			assert.Equal(t, c.corner, g.corner(c.from))
		}
	}
}

// Four skips: the first and the third share an edge, the third and the fourth too, the
// second lies by itself. What hangs together through another is one group.
//
//	+---+---+---+     +---+
//	| 0 | 2 | 3 |     | 1 |
//	+---+---+---+     +---+
func TestTogether(t *testing.T) {
	box := func(x float64) plane.Polygon { return plane.Polygon{Shell: ring(x, 0, x+10, 0, x+10, 10, x, 10)} }
	m := &coverage.Map{
		Regions: []region.Region{{Shape: box(0)}, {Shape: box(50)}, {Shape: box(10)}, {Shape: box(20)}},
		Skips: []cause.Skip{
			{Region: 0, Area: 3 * plane.SquareMetre, Width: 5, Passes: []int{4, 2}},
			{Region: 1, Area: 7 * plane.SquareMetre},
			{Region: 2, Area: 2 * plane.SquareMetre, Width: 9, Passes: []int{2, 7}},
			{Region: 3, Area: 1 * plane.SquareMetre, Width: 1},
		},
	}
	assert.Equal(t, [][]int{{0, 2, 3}, {1}}, together(m, []int{0, 1, 2, 3}))
	assert.Equal(t, [][]int{{0}, {1}, {3}}, together(m, []int{0, 1, 3}), "what joined them is not asked for")
	p := patchOf(m, []int{0, 2, 3})
	assert.Equal(t, 6*plane.SquareMetre, p.area)
	assert.Equal(t, plane.Distance(9), p.width, "the widest of them")
	assert.Equal(t, []int{4, 2, 7}, p.passes)
	assert.Len(t, p.points(), 12)
}

// A guide of two stretches with a right angle between them, east and then north:
//
//	          | 100 m on
//	o---------+
//	  100 m
func TestGuideRoundACorner(t *testing.T) {
	m := float64(plane.Metre)
	g := newGuide([]float64{0, 100 * m, 100 * m}, []float64{0, 0, 100 * m})
	assert.Equal(t, []plane.Distance{0, plane.DistanceOf(100), plane.DistanceOf(200)}, g.along)
	for _, c := range []struct {
		name          string
		along, across float64
		x, y, heading float64 // heading in degrees
	}{
		{"at its start", 0, 0, 0, 0, 90},
		{"before its start", -20, 5, -20, -5, 90},
		{"half-way on the first stretch", 50, -4, 50, 4, 90},
		{"half-way on the second", 150, 3, 103, 50, 0},
		{"past its end", 230, 2, 102, 130, 0},
		{"at the corner it looks along the middle of both", 100, 0, 100, 0, 45},
		{"a quarter before the corner it has turned by atan(1/3)", 75, 0, 75, 0, 90 - math.Atan(1.0/3)*180/math.Pi},
		{"a quarter after it, as much is left", 125, 0, 100, 25, math.Atan(1.0/3) * 180 / math.Pi},
	} {
		x, y, sin, cos := g.at(locate.Offset{Along: plane.DistanceOf(c.along), Across: plane.DistanceOf(c.across)})
		assert.InDelta(t, c.x, x/m, 1e-6, c.name)
		assert.InDelta(t, c.y, y/m, 1e-6, c.name)
		assert.InDelta(t, c.heading, math.Atan2(sin, cos)*180/math.Pi, 1e-6, c.name)
		assert.InDelta(t, 1, math.Hypot(sin, cos), 1e-12, c.name)
	}
	// Seen from its stretches: what is past an end goes on, what is past the corner does not.
	s, off := g.see(0, 30*m, -7*m)
	assert.InDelta(t, 30, s.Along.Metres(), 1e-9)
	assert.InDelta(t, 7, s.Across.Metres(), 1e-9, "to the right")
	assert.InDelta(t, 7, off.Metres(), 1e-9)
	s, off = g.see(0, 103*m, 4*m)
	assert.InDelta(t, 100, s.Along.Metres(), 1e-9)
	assert.InDelta(t, 5, off.Metres(), 1e-9, "from the corner")
	s, off = g.see(0, -20*m, 3*m)
	assert.InDelta(t, -20, s.Along.Metres(), 1e-9)
	assert.InDelta(t, 3, off.Metres(), 1e-9)
	s, off = g.see(1, 96*m, -3*m)
	assert.InDelta(t, 100, s.Along.Metres(), 1e-9)
	assert.InDelta(t, 5, off.Metres(), 1e-9)
	s, off = g.see(1, 96*m, 150*m)
	assert.InDelta(t, 250, s.Along.Metres(), 1e-9)
	assert.InDelta(t, 4, off.Metres(), 1e-9)

	// A ring that is gone round beside it is seen with its own sides.
	var least, most plane.Distance = math.MaxFloat64, 0
	for _, at := range g.follow(ring(20, -2, 60, -2, 60, -6, 20, -6), plane.DistanceOf(30)) {
		least, most = min(least, at.Along), max(most, at.Along)
		assert.GreaterOrEqual(t, at.Across.Metres(), 2-1e-9)
		assert.LessOrEqual(t, at.Across.Metres(), 6+1e-9)
	}
	assert.InDelta(t, 20, least.Metres(), 1e-9)
	assert.InDelta(t, 60, most.Metres(), 1e-9)
}

// A guide along the ring of a square goes all the way round it, from the corner that is
// farthest from the skip.
func TestGuideAlongARing(t *testing.T) {
	g := alongRing(ring(0, 0, 100, 0, 100, 100, 0, 100), at(90, 80))
	assert.Equal(t, [2]float64{0, 0}, [2]float64{g.x[0], g.y[0]})
	last := g.along[len(g.along)-1].Metres()
	assert.InDelta(t, 400, last, 2.1, "but the last two metres")
	x, y, _, _ := g.at(locate.Offset{Along: plane.DistanceOf(130)})
	assert.InDelta(t, 100, x/float64(plane.Metre), 1e-6)
	assert.InDelta(t, 30, y/float64(plane.Metre), 1e-6)
	x, y, _, _ = g.at(locate.Offset{Along: plane.DistanceOf(250), Across: plane.DistanceOf(-3)})
	assert.InDelta(t, 50, x/float64(plane.Metre), 1e-6)
	assert.InDelta(t, 97, y/float64(plane.Metre), 1e-6, "the field is on the left")
	for i := 1; i < len(g.along); i++ {
		assert.LessOrEqual(t, (g.along[i] - g.along[i-1]).Metres(), 2+1e-9)
	}
	assert.Nil(t, alongRing(plane.Ring{at(0, 0), at(0.001, 0), at(0, 0.001)}, at(5, 5)), "a speck is no guide")
}

// A straight guide goes through its place, in its direction and against it.
func TestStraightGuide(t *testing.T) {
	g := straight(at(10, 20), 0.6, 0.8)
	for _, c := range []struct{ along, across, x, y float64 }{{0, 0, 10, 20}, {50, 0, 40, 60}, {-50, 0, -20, -20}, {0, 5, 14, 17}} {
		x, y, sin, cos := g.at(locate.Offset{Along: plane.DistanceOf(c.along), Across: plane.DistanceOf(c.across)})
		assert.InDelta(t, c.x, x/float64(plane.Metre), 1e-6)
		assert.InDelta(t, c.y, y/float64(plane.Metre), 1e-6)
		assert.InDelta(t, 0.6, sin, 1e-9)
		assert.InDelta(t, 0.8, cos, 1e-9)
	}
}

// A pass whose poses are 40 cm apart guides with corners 1.2 m apart.
func TestGuideBordersAPass(t *testing.T) {
	p := &coverage.Pass{}
	for i := range 11 {
		d := 0.4 * float64(i)
		p.Poses = append(p.Poses, work.Pose{Along: plane.DistanceOf(d), Bar: at(0, d)})
	}
	g := bordering(p)
	require.NotNil(t, g)
	assert.Len(t, g.x, 4)
	assert.InDelta(t, 3.6, g.along[3].Metres(), 1e-9)
	p.Poses = p.Poses[:2]
	assert.Nil(t, bordering(p), "a pass of 40 cm guides nothing")
}

// A strip of 100 m by 4 m that lies 30 degrees east of north.
func TestLongAxis(t *testing.T) {
	s, c := math.Sincos(30 * math.Pi / 180)
	p := func(along, across float64) plane.Point { return at(along*s+across*c, along*c-across*s) }
	sin, cos := longAxis(plane.Ring{p(0, 0), p(0, 4), p(100, 4), p(100, 0)})
	assert.InDelta(t, s, sin, 1e-4)
	assert.InDelta(t, c, cos, 1e-4)
}

func TestCrossingByHand(t *testing.T) {
	p, cross := crossing(at(0, 0), at(10, 0), at(3, -1), at(7, 3))
	assert.True(t, cross)
	assert.Equal(t, at(4, 0), p, "up by one in one from 1 m below")
	p, cross = crossing(at(0, 0), at(12, 9), at(0, 5), at(8, 1))
	assert.True(t, cross)
	assert.Equal(t, at(4, 3), p, "where 3x/4 is 5 - x/2")
	_, cross = crossing(at(0, 0), at(10, 0), at(3, 0), at(7, 3))
	assert.False(t, cross, "it only touches")
	_, cross = crossing(at(0, 0), at(10, 0), at(3, 1), at(7, 3))
	assert.False(t, cross)
	_, cross = crossing(at(0, 0), at(10, 0), at(13, -1), at(13, 3))
	assert.False(t, cross, "past its end")
	_, cross = crossing(at(0, 0), at(10, 0), at(3, -4), at(3, -1))
	assert.False(t, cross, "short of it")
}

func TestWaysByHand(t *testing.T) {
	way := []plane.Point{at(0, 0), at(3, 4), at(3, 10), at(11, 10)}
	assert.InDelta(t, 5+6+8, lengthOf(way).Metres(), 1e-9)
	assert.Equal(t, at(3, 4), ahead(way, plane.DistanceOf(5)))
	assert.Equal(t, at(3, 10), ahead(way, plane.DistanceOf(5.001)))
	assert.Equal(t, at(11, 10), ahead(way, plane.DistanceOf(100)), "no farther than its end")

	// It leaves eastward, goes north, then west, and comes in line southward: three times a right angle.
	bends := []plane.Point{at(0, 0), at(0, 20), at(-10, 20)}
	assert.InDelta(t, 1.5*math.Pi, float64(turned(plane.Vector{X: 1}, plane.Vector{Y: -1}, bends)), 1e-12)
	assert.InDelta(t, 0.5*math.Pi, float64(turned(plane.Vector{Y: 2}, plane.Vector{X: -1}, bends)), 1e-12, "only at the bend")
	assert.InDelta(t, 0.5*math.Pi, float64(turned(plane.Vector{}, plane.Vector{}, bends)), 1e-12, "no directions to leave and to come in")
	assert.InDelta(t, 0.25*math.Pi, float64(turned(plane.Vector{X: 1}, plane.Vector{X: 3, Y: 3}, nil)), 1e-12, "on the spot")
	assert.InDelta(t, math.Pi/6, float64(turned(plane.Vector{X: 1}, plane.Vector{X: math.Sqrt(3), Y: -1}, nil)), 1e-12)
}

// The line 3 m to the right of a guide north has places two metres apart at most, and at
// 10, 20, 40, 80 and 160 cm from both ends.
func TestLineBesideAGuide(t *testing.T) {
	s := strip{guide: straight(at(0, 0), 0, 1), from: plane.DistanceOf(10), to: plane.DistanceOf(61)}
	line := s.line(plane.DistanceOf(3))
	assert.Equal(t, at(3, 10), line[0])
	assert.Equal(t, at(3, 61), line[len(line)-1])
	for i := 1; i < len(line); i++ {
		assert.Equal(t, plane.Metres(3), line[i].X)
		step := line[i].Y - line[i-1].Y
		assert.True(t, step > 0 && step <= plane.Metres(2), "%v", step)
	}
	for _, cm := range []float64{10, 20, 40, 80, 160} {
		assert.Contains(t, line, at(3, 10+cm/100))
		assert.Contains(t, line, at(3, 61-cm/100))
	}
	assert.Len(t, line, 10+27, "51 m in 26 steps, and what is closer at the ends")
	s.to = plane.DistanceOf(10.3)
	assert.Equal(t, []plane.Point{at(3, 10), at(3, 10.1), at(3, 10.2), at(3, 10.3)}, s.line(plane.DistanceOf(3)))
}

// A skip of 40 m by 3 m with a foot beside its end:
//
//	5 +-+                it is 3 m long: its 6 m² of 126 are left out
//	3 | +---------+
//	0 +-----------+ 40   12 m long, it is too much of it: the strip is 5 m wide
func TestStripWithoutAFoot(t *testing.T) {
	spot := func(along, across float64) locate.Offset {
		return locate.Offset{Along: plane.DistanceOf(along), Across: plane.DistanceOf(across)}
	}
	footed := func(foot float64) *profile {
		return profileOf([][]locate.Offset{{spot(0, 0), spot(40, 0), spot(40, 3), spot(foot, 3), spot(foot, 5), spot(0, 5)}})
	}
	p := footed(3)
	require.Len(t, p.left, 160)
	assert.InDelta(t, 0.25, p.slice.Metres(), 1e-9)
	assert.InDelta(t, 5, p.right[4].Metres(), 1e-9)
	assert.InDelta(t, 3, p.right[100].Metres(), 1e-9)
	assert.InDelta(t, 0, p.left[100].Metres(), 1e-9)
	s := p.strip()
	assert.InDelta(t, 0, s.from.Metres(), 1e-9)
	assert.InDelta(t, 40, s.to.Metres(), 1e-9)
	assert.InDelta(t, 0, s.left.Metres(), 0.02)
	assert.InDelta(t, 3, s.right.Metres(), 0.02, "to within a line of 400")
	assert.InDelta(t, 6, s.misses/float64(plane.Metre)/float64(plane.Metre), 0.6)

	s = footed(12).strip()
	assert.InDelta(t, 5, s.right.Metres(), 1e-9)
	assert.Zero(t, s.misses)

	// The same on the other side.
	s = profileOf([][]locate.Offset{{spot(0, 0), spot(40, 0), spot(40, -3), spot(3, -3), spot(3, -5), spot(0, -5)}}).strip()
	assert.InDelta(t, -3, s.left.Metres(), 0.02)
	assert.InDelta(t, 0, s.right.Metres(), 0.02)

	// A wedge that widens evenly from nothing to 4 m over 20 m, in its middle half as wide.
	p = profileOf([][]locate.Offset{{spot(10, 0), spot(30, 0), spot(30, 4)}})
	assert.InDelta(t, 2, p.right[40].Metres(), 0.06)
	assert.InDelta(t, 0.05, p.right[0].Metres(), 1e-9, "at the end of its first slice")
}

// East, north, then west: it has turned by a right angle after each bend.
func TestTurnedAtByHand(t *testing.T) {
	got := turnedAt([]plane.Point{at(0, 0), at(10, 0), at(10, 25), at(0, 25), at(0, 20)})
	for i, want := range []float64{0, 0.5, 1, 1.5} {
		assert.InDelta(t, want*math.Pi, got[i], 1e-12)
	}
	assert.Equal(t, []float64{0}, turnedAt([]plane.Point{at(0, 0)}))
}

// A line of 100 m that leaves the field 10 m before its end is driven without them; one that
// leaves it for more than a quarter is not.
func TestPartOnTheGround(t *testing.T) {
	g := newGround(holed())
	var line []plane.Point
	for x := -10.0; x <= 90; x += 5 {
		line = append(line, at(x, 10))
	}
	on, lost := g.onGround(line)
	assert.Equal(t, []plane.Point{at(0, 10), at(90, 10)}, on)
	assert.InDelta(t, 10, lost.Metres(), 1e-9)
	on, lost = g.onGround(line[:8]) // 10 m of 35
	assert.Nil(t, on)
	assert.Zero(t, lost)
}

// The machine comes in line 3 m before a line, the length of the hitch farther off with a
// towed bar, half as far where the ground ends, and on the line itself where it ends sooner.
func TestLineUpByHand(t *testing.T) {
	g := newGround(holed())
	mounted := &machine.Implement{HitchToBar: 5 * plane.Metre}
	towed := &machine.Implement{HitchToBar: 5 * plane.Metre, Towed: true}
	north := func(x, y float64) []plane.Point { return []plane.Point{at(x, y), at(x, y+10)} }
	assert.Equal(t, at(20, 17), g.lineUp(north(20, 20), mounted))
	assert.Equal(t, at(20, 12), g.lineUp(north(20, 20), towed))
	assert.Equal(t, at(20, 1), g.lineUp(north(20, 5), towed))
	assert.Equal(t, at(20, 2), g.lineUp(north(20, 2), towed))
	assert.Equal(t, at(12, 20), g.lineUp([]plane.Point{at(20, 20), at(30, 20)}, towed))
	assert.Equal(t, at(28, 20), g.lineUp([]plane.Point{at(20, 20), at(10, 20)}, towed))
}

// A bar of 12 m in two sections 3 m beside the boundary: of its ends and its middle one is
// outside, on whichever side the boundary lies.
func TestSticksOutByHand(t *testing.T) {
	g := newGround(holed())
	im := &machine.Implement{Width: 12 * plane.Metre, Sections: machine.EqualSections(12*plane.Metre, 2)}
	for name, line := range map[string][]plane.Point{
		"north along the west side": {at(3, 10), at(3, 90)},
		"south along the west side": {at(3, 90), at(3, 10)},
		"east along the south side": {at(10, 3), at(90, 3)},
		"north along the east side": {at(97, 10), at(97, 90)},
	} {
		assert.InDelta(t, 1.0/3, g.sticksOut(line, im), 1e-12, name)
	}
	assert.Zero(t, g.sticksOut([]plane.Point{at(20, 10), at(20, 90)}, im))
	// Half the way past the corner of the hole that the right end is over for 20 of 40 m.
	assert.InDelta(t, 0.5/3, g.sticksOut([]plane.Point{at(37, 30), at(37, 70)}, im), 1e-12)
}

// What two runs over a skip of 100 m² work again: 10 m by 6 m and 10 m by 9 m are 150 m²,
// of which the skip is two thirds of each.
func TestShareByHand(t *testing.T) {
	lane := func(width plane.Length) course {
		l := Lane{Length: plane.DistanceOf(10), OpenWidth: width}
		return course{ways: [2]Lane{l, l}}
	}
	cs := []course{lane(6 * plane.Metre), lane(9 * plane.Metre)}
	share(cs, 100*plane.SquareMetre)
	for k := range 2 {
		assert.InDelta(t, 20, cs[0].ways[k].Again.SquareMetres(), 1e-6)
		assert.InDelta(t, 30, cs[1].ways[k].Again.SquareMetres(), 1e-6)
	}
}

// A run north over a strip of 3 m with the middle two of four sections, 2 m of it lost: it
// is entered from the south, and misses what lies beside it and 2 m by 3 m.
func TestRunByHand(t *testing.T) {
	const m = plane.Metre
	im := &machine.Implement{Width: 12 * m, Sections: machine.EqualSections(12*m, 4)}
	s := strip{left: plane.DistanceOf(-1), right: plane.DistanceOf(2), misses: 5 * float64(m) * float64(m)}
	r := s.run([]plane.Point{at(20, 10), at(20, 40), at(20, 60)}, plane.DistanceOf(2), choice{first: 1, last: 2, width: 6 * m}, im)
	assert.Equal(t, "south", r.Enter)
	assert.Equal(t, 0.0, float64(r.Heading))
	assert.Equal(t, []bool{false, true, true, false}, r.Open)
	assert.Equal(t, -3*m, r.OpenLeft)
	assert.InDelta(t, 50, r.Length.Metres(), 1e-9)
	assert.InDelta(t, 5+2*3, r.Misses.SquareMetres(), 1e-6)
	assert.False(t, r.Bends)
	r = s.run([]plane.Point{at(20, 10), at(20, 40), at(60, 40)}, 0, choice{first: 0, last: 3, width: 12 * m}, im)
	assert.True(t, r.Bends)
	assert.Equal(t, "south-west", r.Enter, "the end it leaves by lies north-east of it")
}

// A patch is cut into as many lanes as the bar and a row beside it make: one of 12.1 m takes
// one of a bar of 12 m with rows 15 cm apart, one of 12.2 m takes two, one of 24.1 m too.
func TestLanesByHand(t *testing.T) {
	const m = plane.Metre
	im := &machine.Implement{Width: 12 * m, RowSpacing: 15 * plane.Centimetre, Sections: machine.EqualSections(12*m, 4)}
	for wide, want := range map[float64]int{3: 1, 12.1: 1, 12.2: 2, 24.1: 2, 24.3: 3} {
		lanes := lanesOf(straight(at(0, 0), 0, 1), []plane.Ring{ring(0, 0, wide, 0, wide, 80, 0, 80)}, im)
		if assert.Len(t, lanes, want, "%v m", wide) {
			for i, l := range lanes {
				assert.InDelta(t, wide*float64(i)/float64(want), l.left.Metres(), 1e-6)
				assert.InDelta(t, wide*float64(i+1)/float64(want), l.right.Metres(), 1e-6)
				assert.InDelta(t, 80, (l.to - l.from).Metres(), 1e-6)
			}
		}
	}
	assert.Nil(t, lanesOf(straight(at(0, 0), 0, 1), []plane.Ring{ring(0, 0, 700, 0, 700, 80, 0, 80)}, im), "59 lanes are no line along it")
}

// see returns where a place is as seen from a stretch of a guide, and how far off the stretch
// it is.
func (g *guide) see(k int, x, y float64) (locate.Offset, plane.Distance) {
	s, beyond := g.spot(k, x, y)
	return s, plane.Distance(math.Hypot(float64(s.Across), float64(beyond)))
}
