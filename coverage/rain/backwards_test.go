package rain

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/pace"
	"lapwing/geo/plane"
)

// A farm is worked by one drill of 18 m: a headland round, then to and fro along the
// long side, with a fill every 6 ha. No two fields are alike in size or shape, no two
// days in speed, and no two fills in time.
type farm struct{ dice *rand.Rand }

// field drives one field, a trapezium, and returns what was logged there.
func (f farm) field(t *testing.T, name string, day float64) (Worked, field.Field) {
	t.Helper()
	const width = 18.0
	long, wide, slant := 300+500*f.dice.Float64(), 160+240*f.dice.Float64(), 150*f.dice.Float64()
	shape := covertest.Shape{{X: 0, Y: 0}, {X: wide, Y: 0}, {X: wide, Y: long - slant}, {X: 0, Y: long}}
	path := covertest.Start(wide/2, -30, math.Pi/2)
	path.Radius = 9
	path.Round(shape.Inset(width/2), 9, 0)
	inner := shape.Inset(width)
	west, east := inner[0].X, inner[1].X
	lines := int(math.Ceil((east - west) / width))
	sown := 0.0
	for k := range lines {
		x := west + (float64(k)+0.5)*(east-west)/float64(lines)
		from, to := inner[0].Y, long-width-slant*x/wide
		heading := 0.0
		if k%2 == 1 {
			from, to, heading = to, from, math.Pi
		}
		path.TurnTo(covertest.Stance{XY: covertest.XY{X: x, Y: from}, Heading: heading})
		path.On().Straight(math.Abs(to - from)).Off()
		if sown += math.Abs(to-from) * width; sown > 60_000 {
			sown = 0
			path.Stand(200 + 900*f.dice.Float64())
		}
	}
	path.Straight(20)
	s := covertest.NewScene(name, shape)
	s.Drive(covertest.Rig{Name: "drill", Implement: covertest.Mounted(width, 0, 1), Path: path, Speed: day, Rate: 1, Seed: f.dice.Uint64(),
		Defects: []covertest.Defect{covertest.White(0.02)}})
	m, err := coverage.Measure(s.Field, s.Machines, field.Options{Rounds: 1})
	require.NoError(t, err)
	return asWorked(m, s.Machines), s.Field
}

// asWorked is what summary.json says of a measured field.
func asWorked(m *coverage.Map, machines []machine.Logged) Worked {
	w := Worked{Name: m.Field.Name, Ground: GroundOf(&m.Field)}
	for _, c := range pace.Clocks(m) {
		s := Spent{Machine: machines[c.Machine].Name, Width: c.Width, New: c.New,
			Working: c.Working, Turning: c.Turning, Standing: c.Standing, Stopped: c.Stopped, Travelling: c.Travelling}
		for i := range m.Passes {
			s.Passes++
			s.Swept += m.Passes[i].Swept
		}
		w.By = append(w.By, s)
	}
	return w
}

// Logs of four days, two fields a day: the first two days tell the last two, nine times
// in ten within the interval.
func TestFirstHalfTellsTheSecond(t *testing.T) {
	held, told, off := 0, 0, 0.0
	for seed := range uint64(10) {
		f := farm{rand.New(rand.NewPCG(seed, 1605))}
		var before, after []Worked
		for day := range 4 {
			speed := 2.6 * math.Exp(0.06*f.dice.NormFloat64())
			for k := range 2 {
				w, _ := f.field(t, fmt.Sprintf("day %d, field %d", day+1, k+1), speed)
				if day < 2 {
					before = append(before, w)
				} else {
					after = append(after, w)
				}
			}
		}
		spread, paces := SpreadOf(before), Paces(before)
		require.False(t, spread.Judged)
		assert.Less(t, spread.Factor, 1.8, "an interval that says something")
		for _, w := range after {
			took, said := w.By[0].Total().Seconds(), paces[0].Alone(w.Ground).Seconds()
			told++
			off += math.Abs(math.Log(took / said))
			if took <= said*spread.Factor && took >= said/spread.Factor {
				held++
			}
		}
		t.Logf("farm %d: factor %.3f", seed, spread.Factor)
	}
	t.Logf("%d of %d held; off by %.1f %% on average", held, told, 100*off/float64(told))
	assert.GreaterOrEqual(t, held, told*85/100)
	assert.Less(t, off/float64(told), 0.15, "fills of 3 to 18 minutes alone make a tenth")
}

// A bar of twice the width takes half of the passes: a pace of turns by the pass tells
// that, one by the area would not.
func TestWidthCounts(t *testing.T) {
	p := Paces([]Worked{worked800x400("drill")})[0]
	p.Width *= 2
	assert.InDelta(t, 16_000+400+1800, p.Alone(ground(800, 400)).Seconds(), 0.001)
	assert.Equal(t, 20*plane.Metre, p.Width)
}
