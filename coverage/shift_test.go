package coverage_test

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/geo/plane"
)

// offered returns the shift that the warnings offer, and whether they do.
func offered(t *testing.T, m *coverage.Map) (x, y float64, is bool) {
	for _, w := range m.Warnings {
		found := regexp.MustCompile(`shift: \{east: (\S+) m, north: (\S+) m\}`).FindStringSubmatch(w.Text)
		if found == nil {
			continue
		}
		require.False(t, is, "told once")
		var err error
		x, err = strconv.ParseFloat(found[1], 64)
		require.NoError(t, err)
		y, err = strconv.ParseFloat(found[2], 64)
		require.NoError(t, err)
		is = true
	}
	return
}

// Moving the tracks and the boundary with them is nothing; the tracks alone,
// it is ground out on one side and open on the other.
func TestShiftMovesTheTracks(t *testing.T) {
	s := barley(5, covertest.White(0.02))
	want := measure(t, s.Field, s.Machines, field.Options{}).Totals
	by := plane.Point{X: 2 * plane.Metre, Y: -plane.Metre}
	m := measure(t, s.Field, s.Machines, field.Options{Shift: by})
	// 2 m past the east side and 1 m past the south, 200 and 240 m long.
	assert.InDelta(t, sq(want.OverReach)+2*200+1*240, sq(m.Totals.OverReach), 10)
	moved := s.Field
	shell := slices.Clone(moved.Boundary[0].Shell)
	for i := range shell {
		shell[i] = shell[i].Add(by)
	}
	moved.Boundary = []plane.Polygon{{Shell: shell}}
	got := measure(t, moved, s.Machines, field.Options{Shift: by}).Totals
	assert.InDelta(t, sq(want.Covered), sq(got.Covered), 0.1)
	assert.InDelta(t, sq(want.Overlap), sq(got.Overlap), 0.1)
}

// A log shifted from its boundary is told, by how much and which way, whatever
// the log's noise; it is not moved by itself.
func TestLikelyShift(t *testing.T) {
	for _, c := range []struct{ x, y float64 }{{0.8, -0.3}, {-1.5, 0}, {0, 2.5}, {0.4, 0.4}, {-3, -2}} {
		for name, s := range map[string]*covertest.Scene{
			"exact": barley(5),
			"noise": barley(5, covertest.White(0.02), covertest.Drift(0.05, 600)),
			"hole":  covertest.Small(0.02, 3),
		} {
			shift := plane.Point{X: plane.Metres(c.x), Y: plane.Metres(c.y)}
			m := measure(t, s.Field, s.Machines, field.Options{Shift: shift})
			x, y, is := offered(t, m)
			why := fmt.Sprint(name, c)
			require.True(t, is, why)
			// What is offered is what the job says less what is too much: nothing.
			assert.InDelta(t, 0, x, 0.15, why)
			assert.InDelta(t, 0, y, 0.15, why)
			again := measure(t, s.Field, s.Machines, field.Options{Shift: plane.Point{X: plane.Metres(x), Y: plane.Metres(y)}})
			_, _, still := offered(t, again)
			assert.False(t, still, why)
		}
	}
}

// Whatever else leaves the edge open or reaches over it is no shift.
func TestNoLikelyShift(t *testing.T) {
	scenes := map[string]*covertest.Scene{
		"exact":       barley(5),
		"hole":        covertest.Small(0.02, 3),
		"drift":       barley(5, covertest.Drift(0.1, 600)),
		"no headland": covertest.NewScene("plain", covertest.Rectangle(-60, -60, 60, 60)),
		"half":        covertest.NewScene("half", covertest.Rectangle(-60, -60, 60, 60)),
		"small shift": barley(5),
	}
	opts := map[string]field.Options{"small shift": {Shift: plane.Point{X: plane.Metres(0.15)}}}
	plain := covertest.NewPath(5)
	plain.Lines(covertest.Lines{Ground: covertest.Rectangle(-60, -60, 60, 60), Width: 6, RunIn: 3})
	scenes["no headland"].Drive(covertest.Rig{Name: "drill", Implement: covertest.Mounted(6, 0, 1), Path: plain, Speed: 2, Rate: 5})
	// Worked beyond the east side only; the west has not been got to.
	half := covertest.NewPath(5)
	half.Lines(covertest.Lines{Ground: covertest.Rectangle(0, -60, 63, 60), Width: 6, RunIn: 3})
	scenes["half"].Drive(covertest.Rig{Name: "drill", Implement: covertest.Mounted(6, 0, 1), Path: half, Speed: 2, Rate: 5})
	for name, s := range scenes {
		m := measure(t, s.Field, s.Machines, opts[name])
		x, y, is := offered(t, m)
		assert.False(t, is, "%s: %v %v", name, x, y)
	}
}

// A stand-off all round is no shift, and does not hide one.
func TestShiftAndStandOff(t *testing.T) {
	for _, c := range []struct {
		inset float64 // m the boundary is drawn outside of the worked ground
		shift float64
		want  bool
	}{{0.5, 0, false}, {-0.5, 0, false}, {0.3, 1, true}, {-0.3, 1, true}} {
		s := barley(5, covertest.White(0.02))
		s.Field = covertest.NewScene("barley", covertest.Rectangle(-120, -100, 120, 100).Inset(-c.inset)).Field
		m := measure(t, s.Field, s.Machines, field.Options{Shift: plane.Point{Y: plane.Metres(c.shift)}})
		x, y, is := offered(t, m)
		assert.Equal(t, c.want, is, "%+v", c)
		if is {
			assert.InDelta(t, 0, math.Hypot(x, y), 0.15, "%+v", c)
		}
	}
}
