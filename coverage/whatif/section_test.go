package whatif_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/sweep"
	"lapwing/coverage/whatif"
	"lapwing/coverage/work"
)

const foot = 0.3048

// angled is one pass of a 54 ft bar that runs onto a headland pass it meets at
// an angle, until its last corner is across, and begins so.
func angled(t *testing.T, theta float64, openers int) *coverage.Map {
	t.Helper()
	w, long := 54*foot, 300.0
	s := covertest.NewScene("angled", covertest.Rectangle(-long, -100, long, 100+w))
	im := covertest.Mounted(w, 0, 1)
	im.Openers = openers
	path := covertest.Start(-long, 100+w/2, math.Pi/2).On().Straight(2 * long).Off().Stand(60)
	// It meets the headland's edge, y = 100, at theta; the bar's centre crosses
	// there at x = 0, its last corner w / (2 tan theta) later.
	heading := math.Pi/2 - theta
	run := 120.0
	extra := w / 2 / math.Tan(theta)
	x, y := -run*math.Sin(heading), 100-run*math.Cos(heading)
	path.Jump(covertest.Stance{XY: covertest.XY{X: x, Y: y}, Heading: heading}).On().Straight(run + extra).Off()
	s.Drive(covertest.Rig{Name: "drill", Implement: im, Path: path, Speed: 2, Rate: 5})
	return laid(t, s, s.Passes())
}

// laid is the map of some passes of a scene.
func laid(tb testing.TB, s *covertest.Scene, passes []work.Pass) *coverage.Map {
	tb.Helper()
	machines := machine.Machines(s.Machines)
	m, err := coverage.Lay(s.Field, machines, sweep.Sweep(machines, passes), field.Options{})
	require.NoError(tb, err)
	return m
}

// A swath that meets the headland at an angle theta and leaves no skip laps
// it by a triangle of w² / (2 tan theta); with n equal sections by a part in n
// of that (plain geometry).
func TestSectionsAtAngle(t *testing.T) {
	for _, degrees := range []float64{75, 60, 45, 30} {
		theta := degrees * math.Pi / 180
		m := angled(t, theta, 64)
		w := 54 * foot
		whole := w * w / (2 * math.Tan(theta))
		runs := whatif.Sections(m, whatif.Switching{})
		require.Equal(t, []int{0, 1, 2, 4, 8, 16, 32, 64}, sectionsOf(runs))
		assert.InEpsilon(t, whole, m.Totals.Excess.SquareMetres(), 0.01, "as driven, %v degrees", degrees)
		assert.InDelta(t, (m.Totals.Swept - m.Totals.Covered).SquareMetres(), runs[0].Wasted[0], 1e-6, "as driven")
		runs = runs[1:]
		for _, r := range runs {
			// A hair of 1 cm at either end of the bar, and the grid.
			assert.InDelta(t, whole/float64(r.Sections), r.Wasted[0], 0.004*whole, "%d sections at %v degrees", r.Sections, degrees)
		}
	}
}

func sectionsOf(runs []whatif.SectionTrial) []int {
	var out []int
	for _, r := range runs {
		out = append(out, r.Sections)
	}
	return out
}

// Opening early and shutting late by a second at 2 m/s laps 2 m more.
func TestSectionsSwitching(t *testing.T) {
	m := angled(t, math.Pi/4, 4)
	plain, slow := whatif.Sections(m, whatif.Switching{}), whatif.Sections(m, whatif.Switching{On: 0.5, Off: 1})
	last := len(plain) - 1
	w := 54 * foot
	// The last section cannot shut later than the bar was lifted.
	assert.InDelta(t, 2*w, slow[last].Wasted[0]-plain[last].Wasted[0], 2*w/4*1.05)
	assert.LessOrEqual(t, slow[1].Wasted[0], plain[1].Wasted[0]+2*w)
}

// A round that closes upon itself, about a pond, is new all the way: with any
// number of sections it is worked once, but for its end that laps its start.
func TestSectionsRound(t *testing.T) {
	pond := covertest.Disc(covertest.XY{}, 20, 12)
	s := covertest.NewScene("pond", covertest.Rectangle(-60, -60, 60, 60), pond)
	im := covertest.Mounted(6, 0, 1)
	im.Openers = 16
	s.Drive(covertest.Rig{Name: "drill", Implement: im, Path: covertest.NewPath(5).HoleRound(pond, 3), Speed: 2, Rate: 5})
	m := laid(t, s, s.Passes())
	for _, r := range whatif.Sections(m, whatif.Switching{})[1:] {
		assert.InEpsilon(t, m.Totals.Covered.SquareMetres(), r.Swept[0], 0.01, "%d sections", r.Sections)
	}
}

// More sections never waste more, and the smaller the field the more they
// save of it: published savings rise with the perimeter-to-area ratio (median
// overlap cut by 7 sections of a sprayer 3.0 % of the field at 0.01 per m,
// 9.7 % at 0.02, 13.5 % at 0.03 and more: Larson et al., Precision
// Agriculture, doi 10.1007/s11119-015-9404-y).
func TestSectionsTrend(t *testing.T) {
	var before float64
	for _, half := range []float64{200, 100, 60} { // m: 0.01, 0.02 and 0.033 per m
		s := covertest.NewScene(fmt.Sprint(half), covertest.Rectangle(-half, -half, half, half))
		ground := covertest.Rectangle(-half, -half, half, half)
		const w = 16.0
		path := covertest.NewPath(9).SquareRound(ground, w, 8)
		path.Lines(covertest.Lines{Ground: ground.Inset(w), Heading: 0.6, Width: w, Spacing: w, RunIn: 5, Ends: covertest.LastCorner})
		im := covertest.Mounted(w, 2, 1)
		im.Openers = 64
		s.Drive(covertest.Rig{Name: "drill", Implement: im, Path: path, Speed: 2.5, Rate: 5})
		m := laid(t, s, s.Passes())
		runs := whatif.Sections(m, whatif.Switching{})[1:]
		for k := 1; k < len(runs); k++ {
			assert.LessOrEqual(t, runs[k].Wasted[0], runs[k-1].Wasted[0]+0.01)
		}
		saved := (runs[0].Wasted[0] - runs[3].Wasted[0]) / m.Totals.Field.SquareMetres()
		assert.Greater(t, saved, before, "half a side %v m", half)
		before = saved
		t.Logf("perimeter to area %.3f per m: 8 sections save %.1f %%", m.Field.Perimeter().Metres()/m.Totals.Field.SquareMetres(), 100*saved)
	}
}

// A bar's own sections come first, as wide as they are: two of one and three
// quarters of the bar lap a headland that they meet at an angle by as much as their
// own triangles.
func TestOwnSections(t *testing.T) {
	m := angled(t, math.Pi/4, 64)
	im := &m.Machines[0].Implement
	im.Sections = machine.SectionsByWeight(im.Width, []float64{1, 3})
	runs := whatif.Sections(m, whatif.Switching{})
	require.Equal(t, []int{0, 2, 4, 8, 16, 32, 64}, sectionsOf(runs), "no coarser bar than today's")
	require.Equal(t, whatif.OwnSections, runs[1].Bar)
	w := 54 * foot
	whole := w * w / 2
	assert.InDelta(t, whole*(1.0/16+9.0/16), runs[1].Wasted[0], 0.004*whole)
	assert.InDelta(t, whole, runs[0].Wasted[0], 0.01*whole, "as driven the whole bar laps")
}
