package coverage_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/covertest"
	"lapwing/coverage/field"
	"lapwing/coverage/machine"
)

// delayed is a pass north along x = 0 by a mounted bar of 10 m in four
// sections, switched on 80 m before the origin and off 20 m past it.
func delayed(on, off time.Duration, rate float64, between func(*covertest.Path) *covertest.Path) *covertest.Scene {
	im := covertest.Mounted(10, 1, 4)
	im.OnDelay, im.OffDelay = on, off
	s := covertest.NewScene("delay", covertest.Rectangle(-20, -200, 20, 200))
	path := covertest.Start(0, -100, 0).Straight(20).On()
	return s.Drive(covertest.Rig{Name: "drill", Implement: im, Speed: 2, Rate: rate,
		Path: between(path).Off().Straight(40)})
}

// A pass begins on-delay late and ends off-delay late, whichever is longer.
// Where switches fall on fixes, its length is that of the log's, one step
// less at the end, with the difference of the delays.
func TestGroundDelay(t *testing.T) {
	const speed, rate = 2, 10
	for _, c := range []struct{ on, off time.Duration }{
		{time.Second, time.Second},
		{600 * time.Millisecond, 250 * time.Millisecond}, // falls between fixes
		{130 * time.Millisecond, 1700 * time.Millisecond},
		{0, 900 * time.Millisecond},
		{900 * time.Millisecond, 0},
	} {
		s := delayed(c.on, c.off, rate, func(p *covertest.Path) *covertest.Path { return p.Straight(100) })
		m := measure(t, s.Field, s.Machines, field.Options{})
		why := fmt.Sprint(c)
		require.Len(t, m.Passes, 1, why)
		p := m.Passes[0]
		first, last := p.Poses[0], p.Poses[len(p.Poses)-1]
		// The bar is where the antenna says; the last working fix is a step early.
		assert.InDelta(t, -80+speed*c.on.Seconds(), first.Bar.Y.Metres(), 1e-3, why)
		assert.InDelta(t, 20-speed/float64(rate)+speed*c.off.Seconds(), last.Bar.Y.Metres(), 1e-3, why)
		assert.Equal(t, c.off-c.on+50*time.Second-100*time.Millisecond, p.End.Sub(p.Start), why)
		truth := covertest.Raster(s.Field, s.Trails, 0.1)
		assert.InDelta(t, truth.Covered(), sq(m.Totals.Covered), 10*speed/float64(rate)+10*0.1, why)
	}
}

// Sections that open and shut at different times are each late by the delay:
// the ground by depth is what the bar truly left.
func TestGroundDelayOfSections(t *testing.T) {
	const rate = 5
	for _, c := range []struct{ on, off time.Duration }{
		{time.Second, time.Second},
		{1500 * time.Millisecond, 500 * time.Millisecond},
		{300 * time.Millisecond, 2200 * time.Millisecond},
	} {
		s := delayed(c.on, c.off, rate, func(p *covertest.Path) *covertest.Path {
			return p.Straight(30).Open(0b1001).Straight(20).Open(0b0001).Straight(4).Open(0b0110).Straight(20).On().Straight(20)
		})
		m := measure(t, s.Field, s.Machines, field.Options{})
		truth := covertest.Raster(s.Field, s.Trails, 0.05)
		// The last fix at work is a step early.
		assert.InDelta(t, truth.Covered(), sq(m.Totals.Covered), 10*2/float64(rate)+2, fmt.Sprint(c))
		assert.Zero(t, m.Totals.Overlap, fmt.Sprint(c))
		// Where nothing is on the ground between two sections, a pass ends.
		assert.Equal(t, len(s.Trails), len(m.Passes), fmt.Sprint(c))
	}
}

// What is on for a shorter time than the product takes longer to come than to
// go never reaches the ground; what is off for a shorter time than it takes
// longer to go than to come is never missed.
func TestGroundDelayOutlasts(t *testing.T) {
	short := delayed(2*time.Second, 500*time.Millisecond, 10, func(p *covertest.Path) *covertest.Path { return p.Straight(2.5) })
	m := measure(t, short.Field, short.Machines, field.Options{})
	assert.Empty(t, m.Passes)
	assert.Zero(t, m.Totals.Covered)

	brief := delayed(500*time.Millisecond, 2*time.Second, 10, func(p *covertest.Path) *covertest.Path {
		return p.Straight(50).Off().Straight(2.5).On().Straight(47.5)
	})
	m = measure(t, brief.Field, brief.Machines, field.Options{})
	assert.Len(t, m.Passes, 1)
	assert.Zero(t, m.Totals.Overlap)
	assert.InDelta(t, 10*(100+1.5*2-0.2), sq(m.Totals.Covered), 0.1)
}

// In turns and across silences too, and behind a tow: no delay is the same
// ground as none to speak of, to the tick but for poses put in.
func TestNoDelayIsNoDelay(t *testing.T) {
	for name, s := range map[string]*covertest.Scene{
		"small":   covertest.Small(0.02, 3),
		"barley":  barley(5, covertest.White(0.02)),
		"silence": one(5, covertest.White(0.02), covertest.Silence(60, 40)),
		"turn":    one(1, covertest.OnlyWorking()),
	} {
		want := measure(t, s.Field, s.Machines, field.Options{})
		s.Machines[0].Implement.OnDelay = 1 // a nanosecond: 2 nm
		s.Machines[0].Implement.OffDelay = 1
		got := measure(t, s.Field, s.Machines, field.Options{})
		assert.Len(t, got.Passes, len(want.Passes), name)
		assert.InDelta(t, sq(want.Totals.Covered), sq(got.Totals.Covered), 0.02, name)
		assert.InDelta(t, sq(want.Totals.Overlap), sq(got.Totals.Overlap), 0.02, name)
		assert.InDelta(t, sq(want.Totals.Unlogged), sq(got.Totals.Unlogged), 0.02, name)
	}
}

// A log that ends at work ends before the last product is on the ground: the
// ground after it is not known, and that is said.
func TestGroundDelayAtTheEndOfTheLog(t *testing.T) {
	s := one(5)
	fixes := s.Machines[0].Tracks[0].Fixes
	s.Machines[0].Tracks[0].Fixes = fixes[:len(fixes)/2]
	s.Machines[0].Implement.OffDelay = time.Second
	m := measure(t, s.Field, s.Machines, field.Options{})
	assert.Equal(t, 1, countOf(m.Warnings, "before the last product is on the ground"))
	p := m.Passes[0]
	assert.Equal(t, fixes[len(fixes)/2-1].Time, p.End)
}

// Where the log notes a switch when it happens, off its beat, the pass runs on
// to that fix; where it only comes with the next regular fix, it does not.
func TestSwitchOffNotedAtOnce(t *testing.T) {
	land := rectangle(40, 200)
	for _, c := range []struct {
		after, want float64 // s after the last working fix; m of pass
	}{{0.3, 100.6}, {0.7, 101.4}, {0.9, 100}, {1, 100}, {1.5, 100}} {
		h := newHand(land)
		y := 50.0
		h.fix(1, 20, y-2, false, 0)
		for range 51 {
			h.fix(1, 20, y, true, 0)
			y += 2
		}
		y -= 2
		h.fix(c.after, 20, y+2*c.after, false, 0)
		for k := range 10 {
			h.fix(1, 20, y+2*float64(k+1), false, 0)
		}
		m := measure(t, land, []machine.Logged{h.machine(covertest.Mounted(8, 0, 1))}, field.Options{})
		require.Len(t, m.Passes, 1)
		assert.InDelta(t, c.want, m.Passes[0].Length.Metres(), 1e-3, "after %v s", c.after)
	}
}
