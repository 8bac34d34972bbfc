package whatif

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/locate"
	"lapwing/coverage/machine"
	"lapwing/coverage/work"
	"lapwing/geo/plane"
)

func metres(m float64) plane.Distance { return plane.DistanceOf(m) }

func stretches(ends ...float64) (out []work.Stretch) {
	for i := 0; i < len(ends); i += 2 {
		out = append(out, work.Stretch{From: metres(ends[i]), To: metres(ends[i+1])})
	}
	return out
}

// isStretches checks stretches to the millimetre.
func isStretches(t *testing.T, want, got []work.Stretch, message ...any) {
	t.Helper()
	require.Len(t, got, len(want), message...)
	for i := range want {
		assert.InDelta(t, want[i].From.Metres(), got[i].From.Metres(), 1e-3, message...)
		assert.InDelta(t, want[i].To.Metres(), got[i].To.Metres(), 1e-3, message...)
	}
}

func ring(corners ...[2]float64) (out []locate.Offset) {
	for _, c := range corners {
		out = append(out, locate.Offset{Along: metres(c[0]), Across: metres(c[1])})
	}
	return out
}

// Lines over the bar cross a ring where plane geometry says, and what lies in two rings is
// in none.
func TestScan(t *testing.T) {
	// A slant from 10 m at the left end of a bar of 8 m to 26 m at its right, and 100 m.
	slant := ring([2]float64{10, -4}, [2]float64{100, -4}, [2]float64{100, 4}, [2]float64{26, 4})
	hole := ring([2]float64{40, -1}, [2]float64{50, -1}, [2]float64{50, 1}, [2]float64{40, 1})
	for _, turned := range []bool{false, true} { // rings turn either way
		if turned {
			slant = ring([2]float64{26, 4}, [2]float64{100, 4}, [2]float64{100, -4}, [2]float64{10, -4})
		}
		lines := newScan(metres(8), 4, [][]locate.Offset{slant, hole})
		require.Len(t, lines, 5)
		isStretches(t, stretches(10.02, 100), lines[0], "a hair within the end")
		isStretches(t, stretches(14, 100), lines[1])
		isStretches(t, stretches(18, 40, 50, 100), lines[2])
		isStretches(t, stretches(22, 100), lines[3])
		isStretches(t, stretches(25.98, 100), lines[4])
	}
	// A corner on a line is crossed once where the ring goes on to the other side.
	bent := ring([2]float64{9, -3}, [2]float64{50, -3}, [2]float64{50, 3}, [2]float64{18, 3}, [2]float64{12, 0})
	lines := newScan(metres(8), 4, [][]locate.Offset{bent})
	isStretches(t, stretches(10, 50), lines[1])
	isStretches(t, stretches(12, 50), lines[2])
	isStretches(t, stretches(16, 50), lines[3])
	assert.Empty(t, lines[0])
}

// A section works where any of its lines has new ground, from so much before to so much
// after, within the swath; pieces that then touch are one.
func TestScanOver(t *testing.T) {
	s := scan{stretches(10, 20, 60, 70), stretches(15, 25), stretches(40, 50), nil}
	over := func(first, last int, before, after, least, most float64) []work.Stretch {
		return s.over(first, last, metres(before), metres(after), metres(least), metres(most))
	}
	isStretches(t, stretches(10, 20, 60, 70), over(0, 0, 0, 0, 0, 100))
	isStretches(t, stretches(10, 25, 60, 70), over(0, 1, 0, 0, 0, 100))
	isStretches(t, stretches(10, 25, 40, 50, 60, 70), over(0, 3, 0, 0, 0, 100))
	isStretches(t, stretches(8, 26, 38, 51, 58, 71), over(0, 2, 2, 1, 0, 100))
	isStretches(t, stretches(12, 25, 40, 50, 60, 64), over(0, 2, 0, 0, 12, 64))
	isStretches(t, stretches(40, 50), over(0, 2, 0, 0, 25, 60))
	isStretches(t, stretches(5, 75), over(0, 2, 5, 10, 0, 75), "what touches is one")
	isStretches(t, stretches(10, 30), scan{stretches(10, 30), stretches(15, 20)}.over(0, 1, 0, 0, 0, metres(100)), "one within another")
	assert.Empty(t, over(3, 3, 1, 1, 0, 100))
}

// Sections double, but for what whole openers ask for, up to one for each; where nobody says
// how many openers there are, up to one that is a quarter of a metre wide or more.
func TestSectionCounts(t *testing.T) {
	for _, c := range []struct {
		openers int
		width   float64
		want    []int
	}{
		{1, 6, []int{1}},
		{8, 6, []int{1, 2, 4, 8}},
		{36, 6, []int{1, 2, 4, 9, 18, 36}},
		{15, 6, []int{1, 3, 15}},
		{7, 6, []int{1, 7}},
		{6, 6, []int{1, 2, 6}},
		{0, 4, []int{1, 2, 4, 8, 16}},
		{0, 3.99, []int{1, 2, 4, 8}},
		{0, 0.3, []int{1}},
	} {
		im := covertest.Mounted(c.width, 0, 1)
		im.Openers = c.openers
		m := &coverage.Map{Machines: []machine.Machine{{Implement: covertest.Mounted(0.4, 0, 1)}, {Implement: im}}}
		assert.Equal(t, c.want, sectionCounts(m), "%d openers of %v m", c.openers, c.width)
	}
}

// What each machine sweeps and wastes is its own: one that goes over the other's ground
// again with a bar of two sections wastes what lies under one of them where it does not
// shut, and 10 cm under the other. It
// takes its speed from its own time: switching a second late and early at 2 m/s makes
// every piece longer by 2 m at either end, as far as the bar was down.
func TestSectionsOfTwoMachines(t *testing.T) {
	t.Run("left", func(t *testing.T) { sectionsOfTwo(t, covertest.Start(11.9, 0, 0)) })
	t.Run("right", func(t *testing.T) { sectionsOfTwo(t, covertest.Start(11.9, 100, math.Pi)) })
}

// sectionsOfTwo lets the second machine drive 100 m.
func sectionsOfTwo(t *testing.T, path *covertest.Path) {
	s := covertest.NewScene("two machines", covertest.Rectangle(-1, 0, 19, 100))
	im := covertest.Mounted(12, 0, 1)
	im.Openers = 2
	s.Drive(covertest.Rig{Name: "first", Implement: im, Speed: 2, Rate: 1, Path: covertest.Start(6, 20, 0).On().Straight(60).Off().Straight(5)})
	s.Drive(covertest.Rig{Name: "second", Implement: im, Speed: 2, Rate: 1, Path: path.On().Straight(100).Off().Straight(5),
		Begin: time.Date(2025, 9, 18, 8, 0, 0, 0, time.UTC)})
	m := mapOf(t, s, s.Passes())
	require.Len(t, m.Passes, 2)
	trials := Sections(m, Switching{})
	require.Len(t, trials, 3)
	// The first is all new. Of the second one half was worked from 20 m to 80 m.
	for k, want := range [][4]float64{{720, 1200, 0, 366}, {720, 1200, 0, 366}, {720, 840, 0, 6}} {
		for i := range 2 {
			assert.InDelta(t, want[i], trials[k].Swept[i], 3, "%v, %d", trials[k].Bar, i)
			assert.InDelta(t, want[2+i], trials[k].Wasted[i], 3, "%v, %d", trials[k].Bar, i)
		}
	}
	for _, with := range []Switching{{On: 1}, {Off: 1}} {
		slow := Sections(m, with)
		assert.InDelta(t, 720, slow[2].Swept[0], 3, "lifted at once")
		assert.InDelta(t, 840+6*2, slow[2].Swept[1], 3, "%+v", with)
		assert.InDelta(t, 6+12, slow[2].Wasted[1], 3, "%+v", with)
		assert.InDelta(t, 366, slow[1].Wasted[1], 3, "%+v", with)
	}
	m.Passes[1].End = m.Passes[1].Start // without times there is no speed, and nothing laps
	assert.InDelta(t, 840, Sections(m, Switching{On: 1, Off: 1})[2].Swept[1], 3)
}
