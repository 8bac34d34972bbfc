package work

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage/machine"
	"lapwing/coverage/stance"
	"lapwing/coverage/track"
	"lapwing/geo/plane"
)

// straight is a log of so many fixes, metres apart on one straight way, and its one leg.
func straight(fixes int, apart float64, im *machine.Implement) (*unstated, leg) {
	l := &unstated{splitter: &splitter{Walk: &stance.Walk{Path: &track.Path{Fixes: make([]track.Fix, fixes)}}}, im: im}
	steps := min(mostSteps, int(apart/sampleStep))
	samples := make([]sample, fixes*steps)
	for i := range samples {
		samples[i].step = apart / float64(steps)
	}
	return l, leg{by: l, samples: samples}
}

// Whatever a log is likely to be, where it was worked is found to the decimetre, and along
// the bar to two. What no machine drives is looked at more coarsely: a bitmap takes 6.25 MB
// and 50 kB a fix at most, 8 cells a byte, and a leg 10 million looks and 36,000 a fix.
func TestFineness(t *testing.T) {
	for _, c := range []struct {
		name   string
		fixes  int
		apart  float64 // m
		width  plane.Length
		likely bool
	}{
		{"a bar of 36 m, a fix in 10 s at 10 m/s", 2000, 100, 36 * plane.Metre, true},
		{"the same of a tracker, a fix in 20 s, fifty minutes", 150, 200, 36 * plane.Metre, true},
		{"a bar of a kilometre", 2000, 20, plane.Kilometre, false},
		{"a bar of a kilometre, few fixes that leap", 20, 200, plane.Kilometre, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			im := &machine.Implement{Width: c.width}
			l, r := straight(c.fixes, c.apart, im)
			in := inferrer{machines: []machine.Machine{{Implement: *im}}}
			in.fineness([]*unstated{l}, []*leg{&r}, nil, plane.Empty(), 0)
			if c.likely {
				assert.LessOrEqual(t, in.grain.Side(), 10*plane.Centimetre)
				assert.LessOrEqual(t, in.every, 20*plane.Centimetre)
				return
			}
			side := in.grain.Side().Metres()
			bytes := r.way() * c.width.Metres() / (side * side) / 8
			looks := float64(len(r.samples)) * float64(c.width/in.every)
			assert.LessOrEqual(t, bytes, 6.25e6+50e3*float64(c.fixes))
			assert.LessOrEqual(t, looks, 10e6+36e3*float64(c.fixes))
		})
	}
}
