package live

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage/field"
	"lapwing/geo"
)

// What a machine can drive is followed, and what it cannot is a jump of its position. Fast
// tractors do 60 km/h on the road, and no machine of a farm 140 (common practice, no
// source); a position that falls back from one kind of fix to another jumps by a metre or
// two.
func TestJumps(t *testing.T) {
	const kmh = 1 / 3.6 // m/s
	begun := time.Date(2026, 5, 4, 8, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		name   string
		every  time.Duration
		step   float64 // m between fixes
		aside  float64 // m that fixes lie aside
		fixes  int     // that do
		follow bool
	}{
		{name: "on the road", every: time.Second, step: 60 * kmh, fixes: 1, follow: true},
		{name: "on the road, ten fixes a second", every: time.Second / 10, step: 6 * kmh, fixes: 1, follow: true},
		{name: "another kind of fix", every: time.Second / 10, step: 0.3, aside: 2.5, fixes: 1, follow: true},
		{name: "faster than any machine", every: time.Second, step: 2, aside: 140 * kmh, fixes: 1},
		{name: "a reflected signal", every: time.Second / 10, step: 0.3, aside: 5, fixes: 1},
		{name: "a signal reflected for longer", every: time.Second / 10, step: 0.3, aside: 40, fixes: 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			m, at := &mach{}, 0
			next := func(aside float64) bool {
				f := fix{x: float64(at) * c.step, y: aside, time: geo.InstantOf(begun.Add(time.Duration(at) * c.every))}
				at++
				follow, _ := m.take(f, &field.Options{})
				if follow {
					m.last = f
				}
				return follow
			}
			for range 10 {
				assert.True(t, next(0))
			}
			for range c.fixes {
				assert.Equal(t, c.follow, next(c.aside))
			}
			assert.True(t, next(0), "back on its way")
		})
	}
}
