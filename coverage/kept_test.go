package coverage_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/beside"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo/plane"
)

func anyPass(int) bool { return true }

// Lanes of a known lap: the lap is kept by who comes second, to the millimetre.
func TestKept(t *testing.T) {
	type kept struct{ along, left, right float64 } // m; NaN for none
	none := math.NaN()
	for _, c := range []struct {
		name, lanes string
		length      float64
		pass        int
		aimed       float64 // m
		want        kept
	}{
		{"who comes first keeps none", "0-10 9.9-19.9", 200, 1, 0, kept{0, none, none}},
		{"driven south, the first on the right", "0-10 9.9-19.9", 200, 2, 0, kept{200, none, 0.1}},
		{"driven north, the first on the left", "0-10 9.9-19.9 19.8-29.8", 200, 3, 0, kept{200, 0.1, none}},
		{"a gap", "0-10 10.25-20.25", 200, 2, 0, kept{200, none, -0.25}},
		{"edge to edge", "0-10 10-20", 200, 2, 0, kept{200, none, 0}},
		{"of another machine, the day after", "a0-10 b9.7-15.7", 200, 2, 0, kept{200, 0.3, none}},
		{"the last lane between two: the side aimed for counts", "0-10 19.4-29.4 9.9-19.9", 200, 3, 0.1, kept{200, 0.1, none}},
		{"or the other one", "0-10 19.4-29.4 9.9-19.9", 200, 3, 0.5, kept{200, none, 0.5}},
		{"too short a stretch", "0-10 9.9-19.9", 25, 2, 0, kept{0, none, none}},
		{"long enough", "0-10 9.9-19.9", 36, 2, 0, kept{28, none, 0.1}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := covertest.Lanes(c.lanes, c.length)
			m := measure(t, s.Field, s.Machines, field.Options{})
			k := m.Neighbourhood().Kept(c.pass-1, plane.Metres(c.aimed), anyPass)
			assert.InDelta(t, c.want.along, k.Along.Metres(), 14, "a lane bends where the machine comes from another")
			for _, side := range []struct {
				want float64
				got  beside.KeptSide
			}{{c.want.left, k.Left}, {c.want.right, k.Right}} {
				if math.IsNaN(side.want) {
					assert.Zero(t, side.got)
					continue
				}
				assert.InDelta(t, side.want, side.got.Mean.Metres(), lapError)
				assert.Equal(t, k.Along, side.got.Along)
				assert.InDelta(t, side.want, k.Mean.Metres(), lapError)
				assert.InDelta(t, 0, k.Spread.Metres(), lapError)
			}
		})
	}
}

// A neighbour that does not count, as the headland's to an interior pass, is none.
func TestKeptOfSomeNeighbours(t *testing.T) {
	s := covertest.Lanes("0-10 9.9-19.9", 200)
	m := measure(t, s.Field, s.Machines, field.Options{})
	assert.Zero(t, m.Neighbourhood().Kept(1, 0, func(other int) bool { return other != 0 }))
}

// weaving moves what is logged east of x by a wave along the field.
func weaving(x, height, long float64) covertest.Defect {
	return func(_ *rand.Rand, log []covertest.Sample) []covertest.Sample {
		for i := range log {
			if log[i].Antenna.X > x {
				log[i].Antenna.X += height * math.Sin(2*math.Pi*log[i].Antenna.Y/long)
			}
		}
		return log
	}
}

// A bar that weaves by a sine of height a beside a straight one keeps its mean, and the
// middle 68.27 % of a sine's values lie within a sin(0.6827 π / 2), by the arcsine
// distribution, whose quantile function is a sin(π (p - 1/2)).
func TestKeptWeaving(t *testing.T) {
	const height, long, length = 0.2, 80.0, 400.0
	width := 10 * plane.Metre
	s := covertest.NewScene("weaving", covertest.Rectangle(0, 0, 19.9, length))
	s.Drive(covertest.Rig{
		Name: "drill", Implement: machine.Implement{Width: width, Sections: machine.EqualSections(width, 1)}, Speed: 2, Rate: 2,
		Path: covertest.NewPath(0).
			Jump(covertest.Stance{XY: covertest.XY{X: 5, Y: -40}}).Straight(40).On().Straight(length).Off().Straight(40).
			Jump(covertest.Stance{XY: covertest.XY{X: 14.9, Y: length + 40}, Heading: math.Pi}).Straight(40).On().Straight(length).Off().Straight(40),
		Defects: []covertest.Defect{weaving(10, height, long)},
	})
	m := measure(t, s.Field, s.Machines, field.Options{})
	require.Len(t, m.Passes, 2)
	k := m.Neighbourhood().Kept(1, 0, anyPass)
	assert.InDelta(t, length, k.Along.Metres(), 1)
	assert.InDelta(t, 0.1, k.Mean.Metres(), 0.002)
	// Forty looks along five waves stand eight to a wave: the quantile is one of theirs.
	assert.InDelta(t, height*math.Sin(0.682689*math.Pi/2), k.Spread.Metres(), 0.2*height)
	assert.InDelta(t, 240, k.Apart, 10, "seconds, in the middle: 240 m and back, at 2 m/s")
}

// A bar that hangs to one side leaves a gap on the one and laps on the other; that is no
// unsteadiness of who steers it.
func TestKeptByABarThatHangs(t *testing.T) {
	width, offset := 10*plane.Metre, 25*plane.Centimetre
	s := covertest.NewScene("hangs", covertest.Rectangle(0, 0, 20, 200))
	path := covertest.NewPath(0)
	for i, x := range []float64{5, 15, 25} {
		at := covertest.Stance{XY: covertest.XY{X: x}}
		if i%2 == 1 {
			at = covertest.Stance{XY: covertest.XY{X: x, Y: 200}, Heading: math.Pi}
		}
		path.Jump(at).On().Straight(200).Off().Stand(60)
	}
	s.Drive(covertest.Rig{
		Name: "drill", Implement: machine.Implement{Width: width, Sections: machine.EqualSections(width, 1)}, Speed: 2, Rate: 2, Heading: true, Path: path,
	})
	s.Machines[0].Implement.Offset = offset
	m := measure(t, s.Field, s.Machines, field.Options{})
	require.Len(t, m.Passes, 3)
	n := m.Neighbourhood()
	second, third := n.Kept(1, 0, anyPass), n.Kept(2, 0, anyPass)
	// North the bar hangs east, south it hangs west: passes 1 and 2 lap by two offsets,
	// passes 2 and 3 are as far apart.
	assert.InDelta(t, 0.5, second.Right.Mean.Metres(), lapError)
	assert.InDelta(t, -0.5, third.Left.Mean.Metres(), lapError)
	assert.InDelta(t, 0, second.Spread.Metres()+third.Spread.Metres(), lapError)
}
