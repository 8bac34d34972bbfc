package coverage_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo"
)

// backingUp is a pass of 120 m north that goes back by so much half way, the
// product on all the time.
func backingUp(im machine.Implement, back float64, rate float64, defects ...covertest.Defect) *covertest.Scene {
	s := covertest.NewScene("back", covertest.Rectangle(-60, -80, 60, 100))
	return s.Drive(covertest.Rig{
		Name: "drill", Implement: im, Speed: 1.5, Rate: rate, Seed: 3, Heading: true, Defects: defects,
		Path: covertest.Start(0, -70, 0).Straight(30).On().Straight(60).Back(back).Straight(60 + back).Off().Straight(10),
	})
}

// What a logged heading may be: the machine's own, none, or the direction of
// travel.
var headings = map[string]func(track *machine.Track){
	"heading": func(*machine.Track) {},
	"none": func(t *machine.Track) {
		for i := range t.Fixes {
			t.Fixes[i].Heading = geo.Bearing(math.NaN())
		}
	},
	"course": func(t *machine.Track) {
		for i := range t.Fixes {
			a, b := t.Fixes[i], t.Fixes[min(i+1, len(t.Fixes)-1)]
			t.Fixes[i].Heading = 0
			if b.At.Lat < a.At.Lat {
				t.Fixes[i].Heading = 180
			}
		}
	},
}

// A machine that backs up with the product on meets its ground again: up to a
// width back that is the same visit, and farther back the ends of the way back
// are met after more than two widths of travel, all of it from two widths on.
func TestBacksUp(t *testing.T) {
	const width = 6
	for _, back := range []float64{3, 5.8, 8, 11, 16, 30} {
		twice := 0.0
		switch {
		case back > 2*width:
			twice = back
		case back > width:
			twice = 2 * (back - width)
		}
		for name, heading := range headings {
			for _, im := range []machine.Implement{covertest.Mounted(width, 2, 2), covertest.Towed(width, 1, 7, 2)} {
				for _, noise := range []float64{0, 0.02} {
					for _, rate := range []float64{1, 10} {
						s := backingUp(im, back, rate, covertest.White(noise))
						heading(&s.Machines[0].Tracks[0])
						m := measure(t, s.Field, s.Machines, field.Options{})
						why := fmt.Sprintf("%v m back, %s, towed %v, noise %v m, %v Hz", back, name, im.Towed, noise, rate)
						truth := covertest.Raster(s.Field, s.Trails, 0.1)
						assert.InDelta(t, twice*width, truth.Overlap(), 2, "the oracle: %s", why)
						// Where it changed gear is known to half a step either time, and
						// nearly so much is there or not at either end of what is met again.
						tol := 2 + 2*1.5/rate*width/2 + coveredShare*truth.Covered()
						assert.InDelta(t, truth.Overlap(), sq(m.Totals.Overlap), tol, "overlap: %s", why)
						assert.InDelta(t, truth.Covered(), sq(m.Totals.Covered), 2+2*1.5/rate*width, "covered: %s", why)
						assert.Equal(t, 1, countOf(m.Warnings, "backs up"), why)
					}
				}
			}
		}
	}
}
