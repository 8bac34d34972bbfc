package coverage_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
)

// A sprayer that goes over the drill's ground a week later, across and with a wider bar,
// is likely another operation. Take away any one of that, and it may be of the same.
func TestLikelyOtherOperation(t *testing.T) {
	const heading = math.Pi / 2
	for _, c := range []struct {
		name           string
		width, heading float64
		days           int
		rate           float32
		ground         float64 // m north of the drill's
		want           int
	}{
		{"another operation", 30, heading, 7, 0.4, 0, 1},
		{"no rate told", 30, heading, 7, float32(math.NaN()), 0, 1},
		{"aslant", 30, heading - 0.7, 7, 0.4, 0, 1},
		{"the same width", 12, heading, 7, 0.4, 0, 0},
		{"nearly the same width", 13, heading, 7, 0.4, 0, 0},
		{"the same day", 30, heading, 0, 0.4, 0, 0},
		{"the same direction", 30, 0, 7, 0.4, 0, 0},
		{"nearly the same direction", 30, 0.4, 7, 0.4, 0, 0},
		{"the same rate", 30, heading, 7, 1, 0, 0},
		{"nearly the same rate", 30, heading, 7, 0.8, 0, 0},
		{"other ground", 30, heading, 7, 0.4, 180, 0},
	} {
		s := covertest.NewScene(c.name, covertest.Rectangle(-100, -100, 100, 300))
		drive := func(name string, width, heading, north float64, days int, rate float32) {
			// From the left of the middle to its right, over 150 m, to and fro.
			sin, cos := math.Sincos(heading)
			p := covertest.Start(-80*sin-75*cos, north-80*cos+75*sin, heading)
			for turn, gone := math.Pi, 0.0; gone < 150; turn, gone = -turn, gone+width {
				p.On().Straight(160).Off().Arc(width/2, turn)
			}
			s.Drive(covertest.Rig{Name: name, Implement: covertest.Mounted(width, 0, 1), Speed: 2, Rate: 1, Heading: true, Path: p,
				Begin: time.Date(2025, 5, 1+days, 9, 0, 0, 0, time.UTC)})
			log := &s.Machines[len(s.Machines)-1].Tracks[0]
			rates := make([]float32, len(log.Fixes))
			for i := range rates {
				rates[i] = rate
				log.Fixes[i].Row = int32(i)
			}
			log.Rates = [][]float32{rates}
		}
		drive("drill", 12, 0, 0, 0, 1)
		drive("sprayer", c.width, c.heading, c.ground, c.days, c.rate)
		m := measure(t, s.Field, s.Machines, field.Options{})
		assert.Equal(t, c.want, countOf(m.Warnings, "likely another operation"), c.name)
		one := measure(t, s.Field, []machine.Logged{s.Machines[1]}, field.Options{})
		assert.Zero(t, countOf(one.Warnings, "likely another operation"), c.name)
	}
}
