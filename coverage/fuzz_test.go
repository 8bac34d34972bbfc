package coverage_test

import (
	"math"
	"testing"

	"lapwing/coverage"
	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/plane"
)

// logOf makes a log of any bytes, six a fix: where it went from the fix before,
// in steps of a decimetre, when, what worked, and one in a few that is odd.
// Small steps make it stand, turn on the spot and lie on itself; the larger of
// them are jumps.
func logOf(frame geo.Frame, bytes []byte) machine.Track {
	t := machine.Track{File: "fuzz.csv", WorkingLogged: true, States: []machine.State{nil, {},
		{{Left: -3 * plane.Metre, Right: 0}}, {{Left: -3 * plane.Metre, Right: -plane.Metre}, {Left: plane.Metre, Right: 3 * plane.Metre}}}}
	var x, y, now float64
	for ; len(bytes) >= 6 && len(t.Fixes) < 300; bytes = bytes[6:] {
		x += float64(int8(bytes[0])) / 10
		y += float64(int8(bytes[1])) / 10
		now += float64(int8(bytes[2])) / 4
		odd := bytes[4]
		f := machine.Fix{Working: bytes[3]&1 == 1, State: machine.StateID(bytes[3] >> 1 % 4), Line: int32(len(t.Fixes) + 2)}
		f.Time = geo.Instant(now * 1e9)
		f.At = frame.FromMetres(x, y)
		f.Heading, f.Speed = geo.Bearing(math.NaN()), float64(bytes[5])/20
		switch odd {
		case 1:
			f.At = geo.LonLat{}
		case 2:
			f.At.Lat = math.NaN()
		case 3:
			f.At = frame.FromMetres(x*1e4, y*1e4)
		case 4:
			f.Quality = geo.NoFix
		case 5:
			f.Time = math.MinInt64
		case 6:
			f.Time = math.MaxInt64
		case 7:
			t.Breaks = append(t.Breaks, len(t.Fixes))
		case 8, 9, 10, 11:
			f.Heading = geo.Bearing(bytes[5]) * 360 / 256
		case 12:
			now += 1000
		}
		t.Fixes = append(t.Fixes, f)
	}
	return t
}

// Whatever a log says, it is measured, and the parts make the field to the tick.
func FuzzMeasure(f *testing.F) {
	line := make([]byte, 0, 600)
	for range 100 {
		line = append(line, 10, 0, 2, 1, 0, 0)
	}
	f.Add(line, byte(0))
	f.Add(append(line, line[:60]...), byte(1))
	f.Add([]byte("\x14\x00\x04\x01\x00\x00\xec\x00\x04\x01\x00\x00\x14\x00\x04\x01\x00\x00\x00\x14\x04\x03\x00\x00"), byte(6))
	f.Add([]byte("\x7f\x7f\x04\x01\x00\x00\x80\x80\x04\x01\x03\x00\x01\x01\x04\x01\x07\x00\x01\x00\x80\x05\x05\x00\x01\x00\x04\x05\x06\x00"), byte(63))
	f.Fuzz(func(t *testing.T, bytes []byte, how byte) {
		land := covertest.NewScene("fuzz", covertest.Rectangle(-20, -20, 20, 20), covertest.Rectangle(-5, -5, 3, 4)).Field
		track := logOf(land.Frame, bytes)
		im := machine.Implement{Width: 6 * plane.Metre, Sections: machine.EqualSections(6*plane.Metre, 6), AntennaToHitch: plane.Metre}
		if how&1 != 0 {
			im.Towed, im.HitchToBar = true, 3*plane.Metre
		}
		if how&2 != 0 {
			im.OnDelay, im.OffDelay = 1e9, 2e9
		}
		track.NoClock = how&4 != 0
		track.WorkingLogged = how&8 == 0
		opt := field.Options{Rounds: int(how >> 6)}
		if how&16 != 0 {
			land = field.Field{Name: "worked", Worked: true}
		}
		machines := []machine.Logged{{Machine: machine.Machine{Name: "a", Implement: im}, Tracks: []machine.Track{track}}}
		if n := len(track.Fixes); how&32 != 0 && n > 1 {
			second := track
			track.Fixes, track.Breaks = track.Fixes[:n/2], nil
			second.Fixes, second.Breaks, second.File = second.Fixes[n/2:], nil, "later.csv"
			machines[0].Tracks = []machine.Track{track, second}
		}
		m, err := coverage.Measure(land, machines, opt)
		if err != nil {
			return // no fix has a position
		}
		closes(t, m)
	})
}
