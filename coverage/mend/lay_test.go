package mend

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/locate"
	"lapwing/coverage/machine"
	"lapwing/geo/plane"
)

func spots(metres ...float64) (out []locate.Offset) {
	for i := 0; i < len(metres); i += 2 {
		out = append(out, locate.Offset{Along: plane.DistanceOf(metres[i]), Across: plane.DistanceOf(metres[i+1])})
	}
	return out
}

// A foot of 9 m by 2 m at the end of a skip of 40 m by 3 m is 18 m² of 138: too much to be left
// out, so that of its 2 m only those are that make 8 in a hundred, 11 m² or 1.2 m.
func TestPartOfAFoot(t *testing.T) {
	for name, ring := range map[string][]locate.Offset{
		"on the right": spots(0, 0, 40, 0, 40, 3, 9, 3, 9, 5, 0, 5),
		"on the left":  spots(0, 0, 0, -5, 9, -5, 9, -3, 40, -3, 40, 0),
	} {
		s := profileOf([][]locate.Offset{ring}).strip()
		assert.InDelta(t, 3.8, s.need().Metres(), 0.05, name)
		assert.InDelta(t, 11.04, s.misses/float64(plane.Metre)/float64(plane.Metre), 0.15, name)
	}
	// A wedge that narrows evenly from 4 m to nothing over 20 m, in its middle half as wide.
	p := profileOf([][]locate.Offset{spots(10, 0, 30, 0, 10, 4)})
	assert.InDelta(t, 2, p.right[40].Metres(), 1e-9, "at the beginning of the slice behind the middle")
	assert.InDelta(t, 4, p.right[0].Metres(), 1e-9)
	assert.InDelta(t, 0, p.left[40].Metres(), 1e-9)
}

// Of guides the one that makes fewer lanes is kept, of as many the one that works and misses
// less ground by more than two in a hundred, whichever is tried first.
func TestTheBetterGuideIsKept(t *testing.T) {
	g := newGround([]plane.Polygon{{Shell: ring(-50, -50, 150, -50, 150, 150, -50, 150)}})
	im := &machine.Implement{Width: 10 * plane.Metre, Sections: machine.EqualSections(10*plane.Metre, 5)}
	strip := patch{skips: []int{7}, shells: []plane.Ring{ring(20, 10, 24, 10, 24, 60, 20, 60)}}
	sin, cos := math.Sincos(5 * math.Pi / 180)
	north, slanted, nearly, east := straight(at(22, 35), 0, 1), straight(at(22, 35), sin, cos), straight(at(22, 35), 1e-5, 1), straight(at(22, 35), 1, 0)
	cost := func(out *laid) float64 { return out.cost / float64(plane.Metre) / float64(plane.Metre) }
	for name, guides := range map[string][]*guide{
		"alone": {north}, "before one across": {north, east}, "behind one across": {east, north},
		"before a slanted one": {north, slanted}, "behind a slanted one": {slanted, north}, "last of all": {east, slanted, north}, "amid": {slanted, north, east},
	} {
		out := &laid{patch: strip}
		for _, guide := range guides {
			g.try(out, guide, im)
		}
		require.Len(t, out.courses, 1, name)
		assert.InDelta(t, 200, cost(out), 0.01, "50 m with 4 m open, %s", name)
		for k, heading := range []float64{0, 180} {
			r := &out.courses[0].ways[k]
			assert.InDelta(t, heading, float64(r.Heading), 1e-6, name)
			assert.Equal(t, []int{7}, r.Skips)
			assert.Equal(t, [2]int{1, 1}, [2]int{r.Lane, r.Of})
		}
	}
	out := &laid{patch: strip}
	g.try(out, nearly, im)
	first := out.courses[0].ways[0].Line[0]
	g.try(out, north, im)
	assert.Equal(t, first, out.courses[0].ways[0].Line[0], "no better by rounding alone")

	// Of a skip of 40 m by 3 m with a foot of 3 m by 2 m the foot is missed: 40 m with 4 m open, and
	// four times 6 m².
	out = &laid{patch: patch{shells: []plane.Ring{ring(0, 0, 5, 0, 5, 3, 3, 3, 3, 40, 0, 40)}}}
	g.try(out, straight(at(0, 0), 0, 1), im)
	assert.InDelta(t, 184, cost(out), 3)

	// A skip of 20 m by 80 m is two lanes, which miss its foot of 6 m² by half.
	lanes := lanesOf(straight(at(0, 0), 0, 1), []plane.Ring{ring(0, 0, 22, 0, 22, 3, 20, 3, 20, 80, 0, 80)}, im)
	require.Len(t, lanes, 2)
	for i := range lanes {
		assert.InDelta(t, 3, lanes[i].misses/float64(plane.Metre)/float64(plane.Metre), 0.4)
	}
}

// A bar that reaches 6 m to the left and 2 m to the right, in two sections of 4 m: the left end is
// outside where that side lies beyond the boundary, and 3 cm outside count as on the ground.
func TestSticksOutOfAnUnevenBar(t *testing.T) {
	const m = plane.Metre
	g := newGround(holed())
	im := &machine.Implement{Width: 8 * m, Sections: []machine.Section{{Left: -6 * m, Right: -2 * m}, {Left: -2 * m, Right: 2 * m}}}
	for name, c := range map[string]struct {
		line []plane.Point
		want float64
	}{
		"north along the west side":               {[]plane.Point{at(3, 10), at(3, 90)}, 1.0 / 3},
		"south along the west side":               {[]plane.Point{at(3, 90), at(3, 10)}, 0},
		"east along the south side":               {[]plane.Point{at(10, 3), at(90, 3)}, 0},
		"west along the south side":               {[]plane.Point{at(90, 3), at(10, 3)}, 1.0 / 3},
		"up by 3 in 4, past the west side":        {[]plane.Point{at(1, 20), at(25, 38)}, 0},
		"3 cm outside on the left":                {[]plane.Point{at(5.97, 10), at(5.97, 90)}, 0},
		"10 cm outside on the left":               {[]plane.Point{at(5.9, 10), at(5.9, 90)}, 1.0 / 3},
		"3 cm outside on the right":               {[]plane.Point{at(98.03, 10), at(98.03, 90)}, 0},
		"10 cm outside on the right":              {[]plane.Point{at(98.1, 10), at(98.1, 90)}, 1.0 / 3},
		"its second half along the hole":          {[]plane.Point{at(39, 20), at(39, 60)}, 0.5 / 3},
		"a place alone, which is no way to go on": {[]plane.Point{at(3, 10)}, 0},
	} {
		assert.InDelta(t, c.want, g.sticksOut(c.line, im), 1e-12, name)
	}
}

// Of up to twelve runs no other order is better, and that is told; of more it is not.
func TestTwelveRunsAreOrderedForSure(t *testing.T) {
	for n, want := range map[int]bool{1: true, 12: true, 13: false} {
		x := make([]float64, n)
		for i := range x {
			x[i] = 100 * float64(i)
		}
		_, shortest := pointCosts(x, make([]float64, n), -100, 0).order()
		assert.Equal(t, want, shortest, n)
	}
}
