package worklog

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/gnsslog"
	"lapwing/geo/plane"
)

// A coverLog is a log of polygons being made, on a plane in metres.
type coverLog struct {
	frame geo.Frame
	log   gnsslog.Log
	start geo.Instant
}

func newCover() *coverLog {
	return &coverLog{frame: geo.NewFrame(geo.LonLat{Lon: -100, Lat: 46}),
		start: geo.InstantOf(time.Date(2026, 5, 4, 6, 0, 0, 0, time.UTC))}
}

// add adds a polygon of corners in turn, x and y, at a time in seconds.
func (c *coverLog) add(at float64, corners ...float64) {
	var ring []geo.LonLat
	var middle geo.LonLat
	for i := 0; i < len(corners); i += 2 {
		p := c.frame.FromMetres(corners[i], corners[i+1])
		ring = append(ring, p)
		middle.Lon += p.Lon / float64(len(corners)/2)
		middle.Lat += p.Lat / float64(len(corners)/2)
	}
	c.log.Fixes = append(c.log.Fixes, geo.Fix{Time: c.start + geo.Instant(at*1e9), At: middle, Heading: geo.Bearing(math.NaN()), Speed: math.NaN()})
	c.log.Lines = append(c.log.Lines, int32(len(c.log.Lines)+1))
	c.log.Cover = append(c.log.Cover, ring)
}

// straight is the corners of a straight strip from y to z, from x of its left side to
// that of its right, with stations every metre.
func straight(left, right, y, z float64) (corners []float64) {
	step := math.Copysign(1, z-y)
	n := int(math.Abs(z - y))
	corners = append(corners, right, y)
	for i := range n + 1 {
		corners = append(corners, left, y+step*float64(i))
	}
	for i := n; i > 0; i-- {
		corners = append(corners, right, y+step*float64(i))
	}
	return corners
}

// swept is the ground that the bar of a track goes over, in m², each span by the
// width that works on it, and the widest it is.
func (c *coverLog) swept(t *testing.T, l Log) (area, widest float64) {
	t.Helper()
	bar := machine.Implement{Width: plane.Metres(l.cover.width), Sections: machine.EqualSections(plane.Metres(l.cover.width), 1)}
	track, _, err := l.Track(bar, nil)
	require.NoError(t, err)
	breaks := map[int]bool{}
	for _, b := range track.Breaks {
		breaks[b] = true
	}
	for i := 1; i < len(track.Fixes); i++ {
		if breaks[i] {
			continue
		}
		x, y := c.frame.Metres(track.Fixes[i-1].At)
		u, v := c.frame.Metres(track.Fixes[i].At)
		wide := 0.0
		for _, part := range bar.Open(track.States, track.Fixes[i-1].State) {
			wide += (part.Right - part.Left).Metres()
		}
		area += wide * math.Hypot(u-x, v-y)
		widest = max(widest, wide)
	}
	return area, widest
}

// A spreader writes a quad a second, up one pass and down the next.
func TestCoverOfQuads(t *testing.T) {
	c := newCover()
	for i := range 20 {
		y := float64(i) * 4
		c.add(float64(i), 12, y, -12, y, -12, y+4, 12, y+4)
	}
	for i := range 20 {
		y := 80 - float64(i)*4
		c.add(60+float64(i), 12, y, 36, y, 36, y-4, 12, y-4) // left and right change places
	}
	rate := gnsslog.Column{Name: "rate_gal_ac", Distinct: []string{"10", "12"}, Codes: make([]uint32, 40)}
	for i := 20; i < 40; i++ {
		rate.Codes[i] = 1
	}
	c.log.Columns = []gnsslog.Column{rate}
	l := Of("", &c.log)
	area, widest := c.swept(t, l)
	assert.InDelta(t, 2*24*80, area, 1)
	rates, _ := l.Rates()
	require.Len(t, rates, 1)
	for i, want := range map[int]float64{0: 10, len(l.Fixes) - 1: 12} {
		got, wrong := rates[0].At(i)
		assert.False(t, wrong)
		assert.InDelta(t, want, got, 0)
	}
	assert.InDelta(t, 24, l.cover.width, 0.01)
	assert.InDelta(t, 24, widest, 0.01)
	require.Len(t, l.Breaks, 1, "two passes")
	for i, f := range l.Fixes {
		x, _ := c.frame.Metres(f.At)
		north := i < l.Breaks[0]
		assert.InDelta(t, map[bool]float64{true: 0, false: 24}[north], x, 0.01)
		assert.InDelta(t, map[bool]float64{true: 1, false: -1}[north], math.Cos(float64(f.Heading)*math.Pi/180), 1e-6)
		if i > 0 {
			assert.Greater(t, f.Time, l.Fixes[i-1].Time)
		}
	}
	assert.True(t, l.TellsWork())
	working, err := l.CountWorking()
	require.NoError(t, err)
	assert.Equal(t, len(l.Fixes), working)
	bar, err := l.BarOf(nil)
	require.NoError(t, err)
	assert.True(t, bar.Shaped)
	assert.InDelta(t, 24, bar.Width.Metres, 0.01)
}

// An implement of another width, or with an antenna elsewhere, is told.
func TestCoverDoubts(t *testing.T) {
	c := newCover()
	for i := range 20 {
		y := float64(i) * 4
		c.add(float64(i), 12, y, -12, y, -12, y+4, 12, y+4)
	}
	l := Of("", &c.log)
	bar := machine.Implement{Width: 20 * plane.Metre, Sections: machine.EqualSections(20*plane.Metre, 1), AntennaToHitch: plane.Metre}
	track, warnings, err := l.Track(bar, nil)
	require.NoError(t, err)
	assert.InDelta(t, 24, (track.States[track.Fixes[0].State][0].Right - track.States[track.Fixes[0].State][0].Left).Metres(), 0.01, "the ground is as wide as the polygons")
	said := ""
	for _, w := range warnings {
		said += w.Text + "\n"
	}
	assert.Contains(t, said, "the polygons of the log are of a bar of 24.00 m, not the implement's 20.00 m; the ground is theirs")
	assert.Contains(t, said, "the implement's antenna, tow or offset moves it away from there")
}

// A sprayer of three sections, each a strip of its own for as long as it is open: the
// right one is shut for 20 m of 100, and its times are those at which strips begin.
func TestCoverOfSections(t *testing.T) {
	c := newCover()
	for pass := range 2 {
		x := 12 * float64(pass)
		at := 100 * float64(pass)
		y, z, a, b := 0.0, 100.0, 40.0, 60.0
		left, right := x-6, x+6
		if pass == 1 { // back again: left and right change places
			y, z, a, b, left, right = 100, 0, 60, 40, x+6, x-6
		}
		along := math.Copysign(4, right-left)
		c.add(at, straight(left, left+along, y, z)...)
		c.add(at, straight(left+along, left+2*along, y, z)...)
		c.add(at, straight(left+2*along, right, y, a)...)
		c.add(at+30, straight(left+2*along, right, b, z)...)
	}
	l := Of("", &c.log)
	area, widest := c.swept(t, l)
	assert.InDelta(t, 2*(12*100-4*20), area, 2*4*hostSpan*2, "a section opens and shuts within a span")
	assert.InDelta(t, 12, widest, 0.05)
	require.Len(t, l.Breaks, 1)
	for i, f := range l.Fixes {
		x, y := c.frame.Metres(f.At)
		middle := 12.0
		if i < l.Breaks[0] {
			middle = 0
		}
		// Where the bar never works whole at once, the middle is that of what works.
		assert.InDelta(t, middle, x, 2.1, "at %.1f", y)
	}
}

// One polygon that is no strip, such as what is left of one that was trimmed, counts
// with its area.
func TestCoverOfOddPolygons(t *testing.T) {
	c := newCover()
	for i := range 20 {
		y := float64(i) * 4
		if i == 10 {
			c.add(float64(i), 12, y, -12, y, -12, y+4, 6, y+4, 12, y+2) // a corner is cut off
			continue
		}
		c.add(float64(i), 12, y, -12, y, -12, y+4, 12, y+4)
	}
	l := Of("", &c.log)
	area, _ := c.swept(t, l)
	assert.InDelta(t, 24*80-6, area, 3)
	var texts []string
	for _, n := range l.cover.notes {
		texts = append(texts, n.Text)
	}
	assert.Contains(t, strings.Join(texts, "\n"), "polygon that is no strip from one place of the bar to the next; taken as one, as long and of its area")
}

// Any polygons give a log or none, and no place that is none.
func FuzzCover(f *testing.F) {
	f.Add([]byte{12, 0, 244, 0, 244, 4, 12, 4, 0, 12, 4, 244, 4, 244, 8, 12, 8, 1}, uint8(4))
	f.Add([]byte{0, 0, 0, 0, 0, 0, 0, 1, 1, 0, 0, 1, 1, 1}, uint8(3))
	f.Fuzz(func(t *testing.T, data []byte, corners uint8) {
		n := 3 + int(corners%6)
		c := newCover()
		for len(data) > 2*n && len(c.log.Fixes) < 200 {
			var at []float64
			for i := range 2 * n {
				at = append(at, float64(int8(data[i])))
			}
			c.add(float64(data[2*n]), at...)
			data = data[2*n+1:]
		}
		if len(c.log.Fixes) == 0 {
			return
		}
		l := Of("", &c.log)
		for i, fix := range l.Fixes {
			require.True(t, fix.At.Valid())
			if l.sections != nil && i > 0 {
				require.GreaterOrEqual(t, fix.Time, l.Fixes[i-1].Time)
			}
		}
	})
}
