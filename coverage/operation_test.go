package coverage_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo"
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
		{"more along than across", 30, 0.65, 7, 0.4, 0, 1},
		{"the same width", 12, heading, 7, 0.4, 0, 0},
		{"nearly the same width", 13, heading, 7, 0.4, 0, 0},
		{"the same day", 30, heading, 0, 0.4, 0, 0},
		{"the same direction", 30, 0, 7, 0.4, 0, 0},
		{"nearly the same direction", 30, 0.4, 7, 0.4, 0, 0},
		{"the same rate", 30, heading, 7, 1, 0, 0},
		{"nearly the same rate", 30, heading, 7, 0.8, 0, 0},
		{"other ground", 30, heading, 7, 0.4, 180, 0},
	} {
		testLikelyOther(t, c.name, c.width, 0, c.heading, c.days, c.rate, c.ground, c.want)
		testLikelyOther(t, c.name+", all turned", c.width, 0.5, c.heading+0.5, c.days, c.rate, c.ground, c.want)
	}
}

// testLikelyOther lets a drill go one way and a sprayer another.
func testLikelyOther(t *testing.T, name string, width, drill, heading float64, days int, rate float32, ground float64, want int) {
	s := covertest.NewScene(name, covertest.Rectangle(-100, -100, 100, 300))
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
	drive("drill", 12, drill, 0, 0, 1)
	drive("sprayer", width, heading, ground, days, rate)
	m := measure(t, s.Field, s.Machines, field.Options{})
	assert.Equal(t, want, countOf(m.Warnings, "likely another operation"), name)
	one := measure(t, s.Field, []machine.Logged{s.Machines[1]}, field.Options{})
	assert.Zero(t, countOf(one.Warnings, "likely another operation"), name)
}

// crew are machines that drive over a field of 200 m by 200 m, each by itself.
type crew struct {
	*covertest.Scene
}

// drives adds a machine that goes to and fro on so many metres from south to north or, if
// across, from west to east, on a day of May. Its rates are the shares of what it should put
// down, part after part of its log; without any the log does not tell.
func (c *crew) drives(name string, width float64, across bool, gone float64, day int, rate ...float32) {
	p := covertest.Start(width/2, -1, 0).Straight(1)
	if across {
		p = covertest.Start(-1, 200-width/2, math.Pi/2).Straight(1)
	}
	for turn, at := math.Pi, 0.0; at+width <= gone; turn, at = -turn, at+width {
		p.On().Straight(200).Off().Arc(width/2, turn)
	}
	c.Drive(covertest.Rig{Name: name, Implement: covertest.Mounted(width, 0, 1), Speed: 2, Rate: 1, Heading: true, Path: p,
		Begin: time.Date(2025, 5, day, 9, 0, 0, 0, time.UTC)})
	log := &c.Machines[len(c.Machines)-1].Tracks[0]
	if len(rate) == 0 {
		return
	}
	rates := make([]float32, len(log.Fixes))
	for i := range rates {
		rates[i] = rate[i*len(rate)/len(rates)]
		log.Fixes[i].Row = int32(i)
	}
	log.Rates = [][]float32{rates}
}

// others are the warnings of other operations, by what is told of the machine.
func (c *crew) others(t *testing.T) (out []field.Warning) {
	for _, w := range measure(t, c.Field, c.Machines, field.Options{}).Warnings {
		if strings.Contains(w.Text, "likely another operation") {
			out = append(out, w)
		}
	}
	return out
}

func newCrew() *crew { return &crew{covertest.NewScene("crew", covertest.Rectangle(0, 0, 200, 200))} }

// Of two that each work mostly on ground of the other and unlike it, the one that did less is told of: its name, its
// width, its file and whether its rate is another.
func TestWhichOperationIsOther(t *testing.T) {
	c := newCrew()
	c.drives("small", 10, false, 120, 1, 1)
	c.drives("large", 20, true, 200, 8, 0.5)
	got := c.others(t)
	require.Len(t, got, 1)
	assert.Contains(t, got[0].Text, `machine "small" works 10.0 m wide, unlike the others, on other days, in another direction, at another rate and over`)
	assert.Equal(t, "small.csv", got[0].File)

	c = newCrew()
	c.drives("large", 10, false, 200, 1)
	c.drives("small", 20, true, 120, 8)
	got = c.others(t)
	require.Len(t, got, 1)
	assert.Contains(t, got[0].Text, `machine "small" works 20.0 m wide, unlike the others, on other days, in another direction and over`)
	assert.Equal(t, "small.csv", got[0].File)
}

// Two drills, and a sprayer over the ground of both, are two operations: the
// sprayer is told of though it did most. A machine that never worked makes no difference.
func TestOtherOperationAmongThree(t *testing.T) {
	c := newCrew()
	c.drives("one", 10, false, 100, 1, 1)
	c.drives("sprayer", 20, true, 200, 8, 0.4)
	c.drives("two", 10, false, 120, 1, 1)
	c.drives("idle", 10, false, 0, 20)
	got := c.others(t)
	require.Len(t, got, 1)
	assert.Contains(t, got[0].Text, `"sprayer"`)

	c = newCrew()
	c.drives("one", 10, false, 100, 1, 1)
	c.drives("idle", 20, true, 0, 8, 0.4)
	assert.Empty(t, c.others(t))
}

// It must be on ground that others worked, half of it at least: what it worked twice itself
// is not theirs.
func TestOtherOperationOnGroundOfOthers(t *testing.T) {
	for gone, want := range map[float64]int{90: 0, 110: 1} { // m of 200 that the drill worked
		c := newCrew()
		c.drives("drill", 10, false, gone, 1, 1)
		c.drives("sprayer", 20, true, 200, 8, 0.4)
		c.drives("drill too", 10, false, 20, 2, 1)
		got := c.others(t)
		assert.Len(t, got, want, "%v m", gone)
	}
}

// The rate is the mean over the ground, as far as the log tells it: half the way at 1.4 and
// half at 0.4 is 0.9 of what it should be, and no other rate.
func TestOtherOperationByTheMeanRate(t *testing.T) {
	none := float32(math.NaN())
	for _, c := range []struct {
		drill float32
		rates []float32
		want  int
	}{
		{1, []float32{0.4}, 1}, {1, []float32{1.4, 0.4}, 0}, {1, []float32{0.4, none}, 1}, {1, []float32{none, 1}, 0}, {1, []float32{0.6, 0.2}, 1},
		{1, []float32{1.9, 1.9}, 1}, {1, []float32{1.2}, 0}, {2, []float32{1.6}, 0}, {0.5, []float32{0.3}, 1},
	} {
		s := newCrew()
		s.drives("drill", 10, false, 200, 1, c.drill)
		s.drives("sprayer", 20, true, 160, 8, c.rates...)
		assert.Len(t, s.others(t), c.want, "%v", c.rates)
	}
}

// A machine that goes nearly as much one way as the other has no direction, and none can be
// unlike it.
func TestOtherOperationNeedsADirection(t *testing.T) {
	c := newCrew()
	c.drives("drill", 10, false, 200, 1, 1)
	c.drives("sprayer", 20, true, 200, 8, 0.4)
	require.Len(t, c.others(t), 1)
	// The sprayer goes over it the other way as well.
	c.drives("sprayer", 20, false, 120, 8, 0.4)
	again := c.Machines[2]
	c.Machines = c.Machines[:2]
	c.Machines[1].Tracks = append(c.Machines[1].Tracks, again.Tracks...)
	assert.Empty(t, c.others(t))
}

// A pass that goes on past midnight is of both days.
func TestOtherOperationAtNight(t *testing.T) {
	for minutes, want := range map[int]int{-60: 1, -1: 0} { // before midnight, that the drill began; a pass takes 100 s
		c := newCrew()
		c.drives("drill", 10, false, 15, 1, 1)
		c.drives("sprayer", 20, true, 200, 2, 0.4)
		c.Machines[0].Tracks[0] = laterBy(c.Machines[0].Tracks[0], 15*time.Hour+time.Duration(minutes)*time.Minute)
		assert.Len(t, c.others(t), want, "%d minutes", minutes)
	}
}

// laterBy is a track some time later.
func laterBy(t machine.Track, by time.Duration) machine.Track {
	for i := range t.Fixes {
		t.Fixes[i].Time += geo.Instant(by)
	}
	return t
}
