package track

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/field"
	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/parallel"
)

// A log is cleaned block by block. What happens where two blocks meet is what would have
// happened within one: a fix left out there passes a break on to the next, and a stand
// goes on.
func TestWhereBlocksMeet(t *testing.T) {
	const block = parallel.AtOnce
	frame := geo.NewFrame(geo.LonLat{Lon: 9, Lat: 55})
	x := 0.0
	fixes := make([]machine.Fix, 4*block)
	for i := range fixes {
		if i < 2*block-50 || i >= 2*block+50 {
			x += 0.3
		}
		fixes[i].Fix = geo.Fix{Time: geo.InstantOf(time.Date(2026, 5, 4, 6, 0, 0, 0, time.UTC)) + geo.Instant(i)*geo.Instant(200*time.Millisecond),
			At: frame.FromMetres(x, 0), Heading: geo.Bearing(math.NaN()), Speed: math.NaN()}
	}
	fixes[block-1].Quality = geo.NoFix
	fixes[3*block].At = fixes[3*block-1].At
	fixes[3*block].Time = fixes[3*block-1].Time // the same fix twice
	logs := Clean(&field.Field{Frame: frame}, []machine.Logged{{Tracks: []machine.Track{{File: "log", Fixes: fixes, Breaks: []int{block - 1}}}}}, &field.Options{})
	require.Len(t, logs, 1)
	require.Len(t, logs[0].Paths, 1)
	p := &logs[0].Paths[0]
	assert.Len(t, p.Fixes, len(fixes)-2, "one without a position, one twice")
	var fresh, stands []int
	for k := range p.Stations {
		first := int(p.Stations[k].First)
		if p.Stations[k].Fresh {
			fresh = append(fresh, first)
		}
		if p.End(k)-first > 1 {
			stands = append(stands, p.End(k)-first)
		}
	}
	assert.Equal(t, []int{block - 1}, fresh, "the fix after the one left out")
	require.Len(t, stands, 1)
	assert.InDelta(t, 101, stands[0], 1)
	assert.Len(t, logs[0].Warnings, 2, "%v", logs[0].Warnings)
}

// Which fixes are slow does not hang on where blocks begin.
func TestStillAmongBlocks(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	const n = 2000
	c := Path{Fixes: make([]Fix, n), Stations: make([]Station, n)}
	at, x := geo.Instant(0), 0.0
	for i := range n {
		at += geo.Instant(random.IntN(400)) * geo.Instant(time.Millisecond)
		x += 0.06 * random.Float64() * float64(i/200%2)
		c.Fixes[i].Time = at
		c.Stations[i] = Station{X: x, First: int32(i), Fresh: random.IntN(100) == 0}
	}
	whole, parts := make([]bool, n), make([]bool, n)
	c.stillAmong(whole, 0, n)
	for from := 0; from < n; from += 7 {
		c.stillAmong(parts, from, min(from+7, n))
	}
	assert.Equal(t, whole, parts)
	assert.Contains(t, whole, true)
	assert.Contains(t, whole, false)
}
