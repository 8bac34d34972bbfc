package covertest

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/machine"
	"lapwing/geo/plane"
)

// ringArea sums the rings of all trails, in square metres.
func ringArea(trails []Trail) float64 {
	var a plane.Area
	for _, t := range trails {
		for _, r := range t.Rings() {
			a += r.Area()
		}
	}
	return a.SquareMetres()
}

// A swath on an arc is width × radius × angle while half the width is less
// than the radius (Pappus of Alexandria, second theorem): R 60 ft, w 54 ft, a
// half turn is 10,178.760 ft². The chords of the trail take off at most
// trailBow along both ends, the grid half a tick at random.
func TestArcSwath(t *testing.T) {
	rig := Rig{
		Name: "a", Implement: Mounted(54*foot, 0, 1), Speed: 2, Rate: 1,
		Path: Start(0, 0, 0).On().Arc(60*foot, -math.Pi).Off(),
	}
	trails := rig.Trails()
	require.Len(t, trails, 1)
	ends := math.Pi * (60 + 54) * foot
	assert.InDelta(t, 10178.760*foot*foot, ringArea(trails), trailBow*ends+0.002)
	// The chords are short of the arc by their angle squared over 24.
	assert.InDelta(t, math.Pi*60*foot, trails[0].Length(), 1e-3)
}

// Where a swath meets the headland at angle theta, running until the last
// corner has crossed works w² / (2 tan theta) beyond, per end; with n sections
// an nth of it; stopping at the first corner leaves as much out; at the centre
// the two are even. Plain geometry; the figures are for w = 54 ft, in ft².
func TestAngledEnds(t *testing.T) {
	const w = 54 * foot
	for _, c := range []struct {
		degrees  float64
		sections int
		rule     EndRule
		want     float64
	}{
		{75, 1, LastCorner, 390.670},
		{60, 1, LastCorner, 841.777},
		{45, 1, LastCorner, 1458},
		{30, 1, LastCorner, 2525.330},
		{45, 4, LastCorner, 364.5},
		{45, 9, LastCorner, 162},
		{45, 1, FirstCorner, -1458},
		{30, 1, FirstCorner, -2525.330},
		{45, 9, FirstCorner, -162},
		{30, 1, Centre, 0},
		{45, 4, Centre, 0},
	} {
		rise := w / math.Tan(c.degrees*math.Pi/180)
		ground := Shape{{0, 0}, {w, rise}, {w, 200 + rise}, {0, 200}}
		for _, heading := range []float64{0, math.Pi} {
			imp := Mounted(w, 0, c.sections)
			lines := Lines{Ground: ground, Width: w, Ends: c.rule, Heading: heading}
			if c.sections > 1 {
				lines.Sections = imp.Sections
			}
			rig := Rig{Name: "a", Implement: imp, Speed: 2, Rate: 1, Path: NewPath(10).Lines(lines)}
			got := (ringArea(rig.Trails()) - ground.Area()) / 2 / (foot * foot)
			// Ends are on the grid: half a tick at either end of the width.
			assert.InDelta(t, c.want, got, 0.02, "%+v", c)
		}
	}
}

// A bar that turns about a place on itself sweeps a sector on either side,
// backward on one: all rings are anticlockwise and none cancels another.
func TestPivot(t *testing.T) {
	rig := Rig{
		Name: "a", Implement: Mounted(10, 0, 1), Speed: 1, Rate: 1,
		Path: Start(0, 0, 0).On().Arc(2, math.Pi/2).Off(),
	}
	trails := rig.Trails()
	for _, r := range trails[0].Rings() {
		require.Positive(t, r.Area())
	}
	// Sectors of 7 m and of 3 m radius, a quarter each.
	want := math.Pi / 4 * (7*7 + 3*3)
	assert.InDelta(t, want, ringArea(trails), 0.02)
	field := NewScene("", Rectangle(-20, -20, 20, 20)).Field
	assert.InDelta(t, want, Raster(field, trails, 0.05).Covered(), 0.5)
}

func TestGrounded(t *testing.T) {
	imp := Mounted(6, 0, 2)
	imp.OnDelay, imp.OffDelay = time.Second, 3*time.Second
	got := grounded([]change{{0, 0b11}, {10, 0b01}, {20, 0b11}, {21, Shut}}, imp)
	// The right section shuts at 13, opens at 21 and shuts at 24.
	assert.Equal(t, []change{{1, 0b11}, {13, 0b01}, {21, 0b11}, {24, Shut}}, got)
	imp.OffDelay = 0
	got = grounded([]change{{0, 0b11}, {10, 0b01}, {20, 0b11}, {20.5, Shut}}, imp)
	assert.Equal(t, []change{{1, 0b11}, {10, 0b01}, {20.5, Shut}}, got, "a section open for less than the delay never works")
}

// A towed bar works where the path says so, though the machine is far ahead.
func TestTowedWorksInPlace(t *testing.T) {
	rig := Rig{
		Name: "a", Implement: Towed(6, 2, 7, 1), Speed: 2, Rate: 10,
		Path: Start(0, 0, 0).Straight(20).On().Straight(50).Off(),
	}
	trails := rig.Trails()
	require.Len(t, trails, 1)
	first, last := trails[0].Poses[0], trails[0].Poses[len(trails[0].Poses)-1]
	assert.InDelta(t, 20, first.Y, 1e-6)
	assert.InDelta(t, 70, last.Y, 1e-6)
	fixes := rig.Machine(NewScene("", Rectangle(0, 0, 1, 1)).Field.Frame).Tracks[0].Fixes
	for _, f := range fixes {
		at := f.Time.Sub(fixes[0].Time).Seconds()
		assert.Equal(t, at >= 14.5-1e-6 && at < 39.5-1e-6, f.Working, "at %v s", at)
	}
}

func TestLanes(t *testing.T) {
	s := Lanes("0-12: 0-5 6-11 b4-7", 100)
	require.Len(t, s.Machines, 2)
	d := Raster(s.Field, s.Trails, 0.1)
	want := []float64{1 * 100, 9 * 100, 2 * 100} // 5-6 is b's; 11-12 skipped
	require.Len(t, d.Inside, 3)
	for k := range want {
		assert.InDelta(t, want[k], d.Inside[k], 1e-6)
	}
	passes := s.Passes()
	require.Len(t, passes, 3)
	assert.Equal(t, []machine.State{nil}, passes[0].States)
	assert.Equal(t, plane.Point{X: 25000, Y: 0}, passes[0].Poses[0].Bar)
	assert.Panics(t, func() { Lanes("5-0", 100) })
	assert.Panics(t, func() { Lanes("0-5 6-12", 100) })
}

// Round and round is one pass, its laps those of the spacing.
func TestRoundAndRound(t *testing.T) {
	imp := Mounted(6, 0, 1)
	rig := Rig{
		Name: "a", Implement: imp, Speed: 2, Rate: 1,
		Path: NewPath(8).RoundAndRound(Rectangle(0, 0, 100, 80), 5.5, 4, 20, 3),
	}
	trails := rig.Trails()
	require.Len(t, trails, 1)
	// Three rings, each corner short by (2 - pi/2) r, and the bends' slant.
	var want float64
	for k := range 3 {
		want += 2*(100-11*float64(k)+80-11*float64(k)) - 4*(2-math.Pi/2)*4
	}
	assert.InDelta(t, want, trails[0].Length(), 4)
}
