package work

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/coverage/stance"
	"lapwing/coverage/track"
	"lapwing/geo"
	"lapwing/geo/parallel"
	"lapwing/geo/plane"
)

// Passes of a rigid bar, found in stretches side by side, are those that are found on the
// way from the first fix to the last.
func TestPassesInStretches(t *testing.T) {
	const n = 5 * parallel.AtOnce
	random := rand.New(rand.NewPCG(1, 2))
	frame := geo.NewFrame(geo.LonLat{Lon: 9, Lat: 55})
	fixes := make([]machine.Fix, n)
	at := geo.InstantOf(time.Date(2026, 5, 4, 6, 0, 0, 0, time.UTC))
	x, y, heading, works := 0.0, 0.0, 0.0, false
	for i := range fixes {
		at += geo.Instant(100 * time.Millisecond)
		switch random.IntN(40) {
		case 0: // a switch, noted when it happens
			works = !works
			at -= geo.Instant(60 * time.Millisecond)
		case 1: // silent for a while
			if random.IntN(20) == 0 {
				at += geo.Instant(20 * time.Second)
			}
		}
		heading += 0.02 * math.Sin(float64(i)/150)
		if i/500%7 != 3 { // else it stands
			x, y = x+0.25*math.Sin(heading), y+0.25*math.Cos(heading)
		}
		place := frame.FromMetres(math.Remainder(x, 2000), math.Remainder(y, 2000))
		fixes[i] = machine.Fix{Fix: geo.Fix{Time: at, At: place, Heading: geo.Bearing(math.NaN()), Speed: math.NaN(), Row: int32(i)}, Working: works}
	}
	im := machine.Implement{Width: 6 * plane.Metre}
	logged := []machine.Logged{{Machine: machine.Machine{Name: "drill", Implement: im},
		Tracks: []machine.Track{{File: "log", Fixes: fixes, WorkingLogged: true}}}}
	split := func(passes func(s *splitter, working []bool)) *splitter {
		logs := track.Clean(&field.Field{Frame: frame}, logged, &field.Options{})
		require.Len(t, logs, 1)
		s := newSplitter(&logs[0], &im, stance.Follow(logs, machine.Machines(logged))[0][0])
		working := make([]bool, len(s.Fixes))
		for i := range working {
			working[i] = s.Fixes[i].Working
		}
		passes(s, working)
		return s
	}
	want := split(func(s *splitter, working []bool) { s.passesWithin(working, 0, len(working)) })
	got := split(func(s *splitter, working []bool) {
		require.Greater(t, len(s.cuts(working)), 4)
		s.passesOf(working, &im)
	})
	require.Greater(t, len(want.passes), 100)
	assert.Equal(t, want.passes, got.passes)
	assert.Equal(t, []int{want.alone, want.guessed, want.backed}, []int{got.alone, got.guessed, got.backed})
}
