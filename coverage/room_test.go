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
	"lapwing/geo"
	"lapwing/geo/plane"
)

// corners drives a bar through the corners of a square, a kilometre before each
// and after, so far out in metres.
func corners(frame geo.Frame, out float64) machine.Track {
	t := machine.Track{File: "far.csv", WorkingLogged: true, States: []machine.State{nil, {}}}
	now := geo.Instant(0)
	for corner := range 4 {
		sin, cos := math.Sincos(math.Pi / 2 * float64(corner))
		for at := -1000.0; at <= 1000; at += 10 {
			x, y := out+min(at, 0), -out+max(at, 0)
			t.Fixes = append(t.Fixes, machine.Fix{Working: at < 1000, Fix: geo.Fix{
				Time: now, At: frame.FromMetres(x*cos-y*sin, x*sin+y*cos), Heading: geo.Bearing(math.NaN()), Speed: math.NaN(),
			}})
			now += 1e9
		}
		now += 24 * 3600e9
	}
	return t
}

// The largest field, worked by the largest bar with the deepest headland there
// may be, is still on the grid; what is larger is refused in one line.
func TestRoom(t *testing.T) {
	const out = 48_990
	s := covertest.NewScene("largest", covertest.Rectangle(-out, -out, out, out), covertest.Rectangle(-out+200, -out+200, -out+900, out-200))
	for _, c := range []struct {
		name   string
		change func(*machine.Implement, *field.Options)
		want   string
	}{
		{"a bar of a kilometre", func(im *machine.Implement, _ *field.Options) {
			im.Width, im.Offset, im.AntennaToHitch = plane.Kilometre, 200*plane.Metre, -300*plane.Metre
		}, ""},
		{"towed", func(im *machine.Implement, o *field.Options) {
			im.Width, im.Towed, im.HitchToBar = 100*plane.Metre, true, 800*plane.Metre
			im.Cart = &machine.Cart{HitchToAxle: 50 * plane.Metre, AxleToHitch: -50 * plane.Metre}
			o.Rounds = 10
		}, ""},
		{"wider", func(im *machine.Implement, _ *field.Options) { im.Width = 3 * plane.Kilometre },
			`machine "a": found a bar that reaches 1500 m from the antenna, want 1000 m at most`},
		{"farther off", func(im *machine.Implement, _ *field.Options) {
			im.Width, im.Offset, im.AntennaRight = 12*plane.Metre, -500*plane.Metre, -600*plane.Metre
		}, `machine "a": found a bar that reaches 1106 m from the antenna, want 1000 m at most`},
		{"deeper", func(im *machine.Implement, o *field.Options) { im.Width, o.Rounds = 12*plane.Metre, 84 },
			`headland: found 84 rounds that are 1008 m deep, want 1000 m at most`},
	} {
		t.Run(c.name, func(t *testing.T) {
			im, opt := machine.Implement{}, field.Options{}
			c.change(&im, &opt)
			im.Sections = machine.EqualSections(im.Width, 3)
			machines := []machine.Logged{{Machine: machine.Machine{Name: "a", Implement: im}, Tracks: []machine.Track{corners(s.Field.Frame, out)}}}
			m, err := coverage.Measure(s.Field, machines, opt)
			if c.want != "" {
				require.EqualError(t, err, c.want)
				return
			}
			require.NoError(t, err)
			closes(t, m)
			assert.Positive(t, m.Totals.Covered)
			for _, swath := range m.Swaths {
				for _, ring := range swath.Rings {
					b := ring.Bounds()
					assert.LessOrEqual(t, max(-b.Min.X, -b.Min.Y, b.Max.X, b.Max.Y), plane.Reach)
				}
			}
		})
	}
}

// A boundary that reaches much farther than the machines went costs nothing:
// where work has to be worked out from the motion, too.
func TestFarBoundary(t *testing.T) {
	frame := covertest.NewScene("near", covertest.Rectangle(-1, -1, 1, 1)).Field.Frame
	log := machine.Track{File: "day.csv", States: []machine.State{nil, {}}}
	for pass := range 6 {
		for i := range 100 {
			x := -100 + 2*float64(i)
			if pass%2 == 1 {
				x = -x
			}
			log.Fixes = append(log.Fixes, machine.Fix{Fix: geo.Fix{
				Time: geo.Instant(pass*160+i) * 1e9, At: frame.FromMetres(x, 6*float64(pass)), Heading: geo.Bearing(math.NaN()), Speed: math.NaN(),
			}})
		}
	}
	covered := func(out float64) plane.Area {
		s := covertest.NewScene("far", covertest.Rectangle(-out, -out, out, out))
		im := machine.Implement{Width: 6 * plane.Metre, Sections: machine.EqualSections(6*plane.Metre, 1)}
		m, err := coverage.Measure(s.Field, []machine.Logged{{Machine: machine.Machine{Name: "a", Implement: im}, Tracks: []machine.Track{log}}}, field.Options{})
		require.NoError(t, err)
		closes(t, m)
		return m.Totals.Covered
	}
	near := covered(400)
	assert.InDelta(t, 6*6*198, near.SquareMetres(), 6*6*10)
	assert.Equal(t, near, covered(40_000))
}
