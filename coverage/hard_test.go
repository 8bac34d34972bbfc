package coverage_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/sweep"
	"lapwing/coverage/work"
	"lapwing/geo/plane"
)

// bench is a square field of 400 m and one machine with a bar of a width, for
// passes made by hand.
func bench(width plane.Length, sections int) (field.Field, []machine.Machine) {
	s := covertest.NewScene("bench", covertest.Rectangle(-200, -200, 200, 200))
	im := machine.Implement{Name: "bar", Width: width, Sections: machine.EqualSections(width, sections)}
	return s.Field, []machine.Machine{{Name: "a", Implement: im}}
}

// at is a pose in metres and degrees.
func at(x, y, heading float64) work.Pose {
	return work.Pose{Bar: plane.Point{X: plane.Metres(x), Y: plane.Metres(y)}, Heading: plane.Degrees(heading)}
}

// pass strings poses together, one a second.
func pass(poses ...work.Pose) work.Pass {
	for i := range poses {
		poses[i].Time = 0
		if i > 0 {
			poses[i].Along = poses[i-1].Along + poses[i-1].Bar.Distance(poses[i].Bar)
		}
	}
	return work.Pass{Poses: poses, Length: poses[len(poses)-1].Along}
}

// lay sweeps the passes and lays them, and checks what holds of every map.
func lay(t *testing.T, land field.Field, machines []machine.Machine, passes ...work.Pass) *coverage.Map {
	t.Helper()
	m := laid(t, land, machines, sweep.Sweep(machines, passes), field.Options{})
	closes(t, m)
	return m
}

// laid is the map of some ground.
func laid(tb testing.TB, land field.Field, machines []machine.Machine, ground sweep.Ground, opt field.Options) *coverage.Map {
	tb.Helper()
	m, err := coverage.Lay(land, machines, ground, opt)
	require.NoError(tb, err)
	return m
}

// A bar that turns on the spot covers the disc about its middle once, however
// often it goes round: the middle of the bar goes nowhere.
func TestTurnOnTheSpot(t *testing.T) {
	const width = 12.0
	for _, tc := range []struct {
		name  string
		turns float64
		step  float64 // degrees
	}{
		{"half a turn", 0.5, 2},
		{"half a turn to the left", -0.5, 2},
		{"three turns", 3, 2},
		{"a turn in few steps", 1, 15},
	} {
		t.Run(tc.name, func(t *testing.T) {
			field, machines := bench(12*plane.Metre, 4)
			var poses []work.Pose
			n := int(math.Round(math.Abs(tc.turns) * 360 / tc.step))
			for i := range n + 1 {
				poses = append(poses, at(10, 20, math.Copysign(float64(i)*tc.step, tc.turns)))
			}
			g := lay(t, field, machines, pass(poses...)).Totals
			// The bar's ends go from pose to pose straight, along a regular
			// polygon; poses left out may take 5 mm of its rim.
			corners := 360 / tc.step
			want := corners / 2 * width * width / 4 * math.Sin(2*math.Pi/corners)
			assert.InDelta(t, want, g.Covered.SquareMetres(), math.Pi*width*0.005+0.01)
			assert.Zero(t, g.Overlap)
		})
	}
}

// A bar that backs up over its own ground and goes on covers it once: less
// than two widths of travel lie between.
func TestBackingUp(t *testing.T) {
	field, machines := bench(8*plane.Metre, 1)
	g := lay(t, field, machines, pass(at(0, 0, 0), at(0, 50, 0), at(0, 44, 0), at(0, 80, 0))).Totals
	assert.Equal(t, 8*80*plane.SquareMetre, g.Covered)
	assert.Zero(t, g.Overlap)
}

// Swept backward all the way, ground is covered as swept forward.
func TestBackwardIsForward(t *testing.T) {
	field, machines := bench(9*plane.Metre, 3)
	forward := []work.Pose{at(-20, -50, 5), at(-15, 0, 3), at(-14, 40, -4), at(-20, 70, -10)}
	want := lay(t, field, machines, pass(slices.Clone(forward)...)).Totals
	backward := slices.Clone(forward)
	slices.Reverse(backward)
	got := lay(t, field, machines, pass(backward...)).Totals
	assert.Positive(t, want.Covered)
	assert.Equal(t, want, got)
	// Once each way is everything twice.
	both := lay(t, field, machines, pass(slices.Clone(forward)...), pass(backward...)).Totals
	assert.Equal(t, want.Covered, both.Overlap)
	assert.Equal(t, want.Covered, both.Covered)
}

// A wing that swings backward while the bar's middle goes forward: its quads
// run the wrong way, or cross themselves.
func TestWingSwingsBackward(t *testing.T) {
	field, machines := bench(20*plane.Metre, 5)
	for _, turn := range []float64{1, -1} {
		var poses []work.Pose
		heading, x, y := 0.0, 0.0, 0.0
		for range 61 {
			poses = append(poses, at(x, y, heading))
			heading += 6 * turn // a metre's radius: the inner wing sweeps back 8 m of its 10
			x, y = x+0.105*math.Sin(heading*math.Pi/180), y+0.105*math.Cos(heading*math.Pi/180)
		}
		g := lay(t, field, machines, pass(poses...)).Totals
		// A whole turn of a bar of half width 10 m, whose middle goes round a
		// circle of 1 m: its outer end goes round one of 11 m. Within 5 mm of the
		// rim, and the chord of the steps: 11 m × (1 - cos 3°) = 15 mm.
		assert.InDelta(t, math.Pi*11*11, g.Covered.SquareMetres(), 2*math.Pi*11*0.021)
	}
}

// A swath wider than the field covers all of it, and what is outside is
// over-reach.
func TestSwathWiderThanTheField(t *testing.T) {
	field, machines := bench(500*plane.Metre, 1)
	g := lay(t, field, machines, pass(at(10, -220, 0), at(10, 230, 0))).Totals
	assert.Equal(t, 400*400*plane.SquareMetre, g.Field)
	assert.Equal(t, g.Field, g.Covered)
	assert.Zero(t, g.Skip)
	assert.Equal(t, (500*450-400*400)*plane.SquareMetre, g.OverReach)
}

// Round and round inward without lifting, so that each round laps the last.
func TestSpiralInward(t *testing.T) {
	field, machines := bench(6*plane.Metre, 2)
	var poses []work.Pose
	for i := range 1200 {
		a := float64(i) * 3 // degrees
		r := 100 - 5*a/360
		sin, cos := math.Sincos(a * math.Pi / 180)
		poses = append(poses, at(r*sin, r*cos, a+90))
	}
	g := lay(t, field, machines, pass(poses...)).Totals
	// Ten rounds 5 m apart, 6 m wide: 1 m of each but the first laps the last.
	// The way of all is 2 π × 75 m × 10. The first nine, from a radius of 100 m
	// to 55 m, have 1 m of overlap 2.5 m inside their middle; either edge of it
	// may be 5 mm off.
	assert.InDelta(t, 2*math.Pi*75*10*6, g.Swept.SquareMetres(), 30)
	assert.InDelta(t, 2*math.Pi*75*9*1, g.Overlap.SquareMetres(), 2*math.Pi*75*9*0.005)
}

// Hundreds of passes along the very same line.
func TestSamePassAgainAndAgain(t *testing.T) {
	field, machines := bench(6*plane.Metre, 1)
	passes := make([]work.Pass, 300)
	for i := range passes {
		passes[i] = pass(at(-100.0001, -150, 7), at(20, 120, 9))
	}
	once := lay(t, field, machines, passes[0]).Totals
	g := lay(t, field, machines, passes...).Totals
	assert.Equal(t, once.Covered, g.Covered)
	assert.Equal(t, once.Covered, g.Overlap)
	assert.Equal(t, 300*once.Swept, g.Swept)
	assert.Equal(t, once.Covered, g.ByDepth[300])
}

// Whatever poses a pass has, the parts of the field add up, and moving all by
// whole ticks changes nothing.
func TestWildPasses(t *testing.T) {
	for seed := range uint64(200) {
		rng := rand.New(rand.NewPCG(seed, 51))
		field, machines := bench(plane.Length(10_000+rng.IntN(300_000)), 1+rng.IntN(5))
		size := []float64{0.01, 1, 30, 250}[seed%4]
		var passes, moved []work.Pass
		by := plane.Point{X: plane.Length(rng.IntN(1_000_001) - 500_000), Y: plane.Length(rng.IntN(1_000_001) - 500_000)}
		for range 1 + rng.IntN(4) {
			var poses []work.Pose
			for range 2 + rng.IntN(12) {
				poses = append(poses, at(size*(rng.Float64()-0.5), size*(rng.Float64()-0.5), 360*rng.Float64()))
			}
			passes = append(passes, pass(poses...))
			poses = slices.Clone(poses)
			for i := range poses {
				poses[i].Bar = poses[i].Bar.Add(by)
			}
			moved = append(moved, pass(poses...))
		}
		want := lay(t, field, machines, passes...).Totals
		require.False(t, t.Failed(), "seed %d", seed)

		shell := slices.Clone(field.Boundary[0].Shell)
		for i := range shell {
			shell[i] = shell[i].Add(by)
		}
		field.Boundary = []plane.Polygon{{Shell: shell}}
		require.Equal(t, want, lay(t, field, machines, moved...).Totals, "seed %d, moved by %v", seed, by)
	}
}
