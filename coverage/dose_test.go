package coverage_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/quantity"
	"lapwing/coverage/sweep"
	"lapwing/coverage/work"
	"lapwing/geo/plane"
)

// arcDose is the dose of a bar w ft wide that goes a third of the way round,
// its centre R ft out, to the left or right, with a pose every half degree.
func arcDose(t *testing.T, radius, width float64, side float64) sweep.Dose {
	t.Helper()
	r, w := radius*quantity.Foot, plane.Metres(width*quantity.Foot)
	p := work.Pass{}
	for i := range 241 {
		a := float64(i) / 2 * math.Pi / 180
		pose := work.Pose{
			Bar:     plane.Point{X: plane.Metres(side * r * (1 - math.Cos(a))), Y: plane.Metres(r * math.Sin(a))},
			Heading: plane.Angle(side * a),
		}
		if i > 0 {
			pose.Along = p.Poses[i-1].Along + p.Poses[i-1].Bar.Distance(pose.Bar)
		}
		p.Poses = append(p.Poses, pose)
	}
	driven := machine.Machine{Implement: machine.Implement{Width: w, Sections: machine.EqualSections(w, 1)}}
	g := sweep.Sweep([]machine.Machine{driven}, []work.Pass{p})
	require.Len(t, g.Swaths, 1)
	return g.Swaths[0].Dose
}

// R. Bergman, Iowa State University Extension, "Turn Compensation", 5 Mar
// 2021: a 120 ft boom that goes round a 40 ft circle at 10 mph and 10 gal/ac
// has its inner end at about 2.5 mph and nearly 40 gal/ac. The other rows, and
// the outer ends, are rate = target × R / (R ∓ w/2).
func TestRatesAtTheEndsInATurn(t *testing.T) {
	for _, c := range []struct{ radius, width, inner, outer float64 }{
		{80, 120, 4.000, 0.5714},
		{60, 54, 1.8182, 0.6897},
		{100, 60, 1.4286, 0.7692},
		{200, 90, 1.2903, 0.8163},
		{30, 54, 10.000, 0.5263},
	} {
		for _, side := range []float64{-1, 1} {
			d := arcDose(t, c.radius, c.width, side)
			// A chord of the path as thinned is off its arc by 5 mm at most,
			// which is 1 % of the inner end's way where that is shortest.
			assert.InEpsilon(t, c.inner, d.Most, 0.01, c)
			assert.InEpsilon(t, c.outer, d.Least, 0.001, c)
			assert.Zero(t, d.Reversing)
		}
	}
}

// The ground at each class of rate in a steady turn, by rings: at rate f the
// part is R / f from the middle. At R 60 ft and w 54 ft, 5.45 ft of the inner
// 27 and 6.67 of the outer are within 10 %.
func TestClassesOfRateInATurn(t *testing.T) {
	const radius, half = 60.0, 27.0
	for _, side := range []float64{-1, 1} {
		d := arcDose(t, radius, 2*half, side)
		edge := radius + half
		for i, got := range d.Ground {
			inner := radius - half
			if i < len(sweep.DoseBounds) {
				inner = max(radius-half, min(radius+half, radius/sweep.DoseBounds[i]))
			}
			want := (edge*edge - inner*inner) / (4 * radius * half) // share of the ring
			edge = inner
			assert.InDelta(t, want, got/d.Total(), 0.001, i)
		}
		assert.InDelta(t, (6.6667+5.4545+(6.6667*6.6667-5.4545*5.4545)/120)/54, d.Ground[sweep.OnTarget]/d.Total(), 0.001)
	}
}

// What is too thin without is too thick within: over the ground, the mean is
// the target. (Over the parts of the bar it is 1.077 at R 60 ft, w 54 ft.)
func TestMeanDoseIsTheTarget(t *testing.T) {
	for _, c := range [][2]float64{{80, 120}, {60, 54}, {30, 54}, {1000, 54}} {
		d := arcDose(t, c[0], c[1], 1)
		assert.InEpsilon(t, 1, d.Product/d.Total(), 1e-9, c)
	}
	s := covertest.QuarterSection(1, 0.02, 1)
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(t, err)
	d := m.Dose()
	assert.InEpsilon(t, 1, d.Product/d.Total(), 1e-9)
	assert.Zero(t, d.Reversing)
	assert.Less(t, d.OffTarget(), 0.002*d.Total(), "straight passes, with noise")
}

// Where nothing overlaps, the ground by class is the ground swept.
func TestDoseGroundIsTheSwath(t *testing.T) {
	s := covertest.NewScene("wide", covertest.Rectangle(-200, -200, 200, 200))
	path := covertest.Start(0, -80, 0).On().Straight(60).Arc(25, 2).Straight(40).Off()
	s.Drive(covertest.Rig{Name: "bar", Implement: covertest.Mounted(16, 0, 4), Path: path, Speed: 2.5, Rate: 5, Heading: true})
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(t, err)
	d := m.Dose()
	// A turn taken in chords of 0.2 rad loses 1 - sin(0.2)/0.2 of its ground.
	assert.InEpsilon(t, m.Totals.Swept.SquareMetres(), d.Total(), 0.0067)
	assert.Greater(t, d.OffTarget(), 300.0)
	assert.InDelta(t, 25.0/(25+8), d.Least, 0.01)
	assert.InDelta(t, 25.0/(25-8), d.Most, 0.03)
}

// The quads of the picture are the ground of the figures.
func TestOffRatesDrawTheDose(t *testing.T) {
	s := covertest.NewScene("wide", covertest.Rectangle(-200, -200, 200, 200))
	path := covertest.Start(0, -80, 0).On().Straight(60).Arc(25, 2).Straight(40).Arc(6, -1.5).Straight(20).Off()
	s.Drive(covertest.Rig{Name: "bar", Implement: covertest.Mounted(16, 0, 4), Path: path, Speed: 2.5, Rate: 5, Heading: true})
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{})
	require.NoError(t, err)
	d := m.Dose()
	require.Positive(t, d.Reversing)
	var thin, thick, back float64
	for _, o := range m.OffRates() {
		for _, rings := range []struct {
			sum *float64
			of  []plane.Ring
		}{{&thin, o.Thin}, {&thick, o.Thick}, {&back, o.Back}} {
			for _, r := range rings.of {
				*rings.sum += math.Abs(float64(r.Area())) / float64(plane.SquareMetre)
			}
		}
	}
	// What a quad loses to the bow of a turn taken in chords of 0.2 rad, and
	// quads of a hundredth of a square metre that are not drawn.
	const within = 0.01
	assert.InEpsilon(t, d.Ground[0]+d.Ground[1]+d.Ground[2], thin, within)
	assert.InEpsilon(t, d.Ground[4]+d.Ground[5]+d.Ground[6], thick, within)
	assert.InEpsilon(t, d.Reversing, back, within)

	straight := covertest.NewScene("straight", covertest.Rectangle(-200, -200, 200, 200))
	straight.Drive(covertest.Rig{Name: "bar", Implement: covertest.Mounted(16, 0, 4), Path: covertest.Start(0, -80, 0).On().Straight(160).Off(), Speed: 2.5, Rate: 5, Heading: true})
	m, err = coverage.Measure(straight.Field, straight.Machines, field.Options{})
	require.NoError(t, err)
	assert.Empty(t, m.OffRates())
}

// The inner end of a bar half as long again as the turn's radius runs
// backward: no rate there, and none divided by zero.
func TestInnerEndReversing(t *testing.T) {
	for _, side := range []float64{-1, 1} {
		d := arcDose(t, 30, 90, side)
		third := 2 * math.Pi / 3
		want := third * 15 * 15 / 2 * quantity.Foot * quantity.Foot // the disc behind the turn's middle
		assert.InEpsilon(t, want, d.Reversing, 0.01)
		for _, v := range append(d.Ground[:], d.Least, d.Most) {
			assert.False(t, math.IsNaN(v) || math.IsInf(v, 0))
			assert.GreaterOrEqual(t, v, 0.0)
		}
		assert.InDelta(t, 30.0/75, d.Least, 0.001)
	}
}

// A straight pass is on target all over, backing up is not, and an idle map
// has no dose.
func TestDoseOfStraightAndBacking(t *testing.T) {
	w := 10 * plane.Metre
	driven := machine.Machine{Implement: machine.Implement{Width: w, Sections: machine.EqualSections(w, 2)}}
	along := func(ys ...float64) work.Pass {
		p := work.Pass{}
		for i, y := range ys {
			p.Poses = append(p.Poses, work.Pose{Bar: plane.Point{Y: plane.Metres(y)}, Along: plane.Distance(50*i) * plane.Distance(plane.Metre)})
		}
		return p
	}
	dose := func(p work.Pass) sweep.Dose {
		m := coverage.Map{Swaths: sweep.Sweep([]machine.Machine{driven}, []work.Pass{p}).Swaths}
		return m.Dose()
	}
	straight := dose(along(0, 50, 100))
	assert.Equal(t, 1000.0, straight.Ground[sweep.OnTarget])
	assert.Zero(t, straight.OffTarget())
	back := dose(along(0, -50))
	assert.Equal(t, 500.0, back.Reversing)
	assert.Equal(t, 500.0, back.OffTarget())
	none := (&coverage.Map{}).Dose()
	assert.Zero(t, none.Total())
	assert.Zero(t, none.Most)
}
