package coverage_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// Units of the published figures, in metres and square metres.
const (
	foot       = 0.3048
	squareFoot = foot * foot
	acre       = 43560 * squareFoot
)

// A hand writes a track fix by fix, as exactly as a float64 of degrees can.
type hand struct {
	frame geo.Frame
	track machine.Track
	now   float64 // seconds
}

func newHand(f field.Field) *hand {
	return &hand{frame: f.Frame, track: machine.Track{File: "hand.csv", WorkingLogged: true, States: []machine.State{nil}}}
}

// fix adds a fix so many seconds after the last one.
func (h *hand) fix(after, x, y float64, working bool, state machine.StateID) {
	h.now += after
	f := machine.Fix{Working: working, State: state, Line: int32(len(h.track.Fixes) + 2)}
	f.Time = geo.Instant(math.Round(h.now * 1e9))
	f.At = h.frame.FromMetres(x, y)
	f.Heading, f.Speed = geo.Bearing(math.NaN()), math.NaN()
	h.track.Fixes = append(h.track.Fixes, f)
}

// pass works straight from one place to another, with a lifted fix before and
// after. The first working fix is at the one and the last at the other.
func (h *hand) pass(x0, y0, x1, y1 float64) {
	const step = 4.0 // m, at most; 2 s at 2 m/s
	d := math.Hypot(x1-x0, y1-y0)
	n := math.Ceil(d / step)
	at := func(k float64) (float64, float64) { return x0 + k/n*(x1-x0), y0 + k/n*(y1-y0) }
	x, y := at(-1)
	h.fix(600, x, y, false, 0) // time enough to have come from anywhere
	for k := 0.0; k <= n; k++ {
		x, y := at(k)
		h.fix(d/n/2, x, y, true, 0)
	}
	x, y = at(n + 1)
	h.fix(d/n/2, x, y, false, 0)
}

func (h *hand) machine(im machine.Implement) machine.Logged {
	return machine.Logged{Machine: machine.Machine{Name: "drill", Implement: im}, Tracks: []machine.Track{h.track}}
}

// rectangle is a field of a width east and a length north, its south-west
// corner on 0, 0.
func rectangle(width, length float64) field.Field {
	return covertest.NewScene("rectangle", covertest.Rectangle(0, 0, width, length)).Field
}

// measure measures and checks that the identities hold.
func measure(t *testing.T, field field.Field, machines []machine.Logged, opt field.Options) *coverage.Map {
	t.Helper()
	m, err := coverage.Measure(field, machines, opt)
	require.NoError(t, err)
	closes(t, m)
	return m
}

// sq is an area in square metres.
func sq(a plane.Area) float64 { return a.SquareMetres() }

// gridError is how far an area may be off because corners are rounded to half
// a tick, for so many metres of outline.
func gridError(outline float64) float64 { return outline * 0.5 * plane.Tick.Metres() }
