package cover

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
)

// A ground is polygons being made, on a plane in metres.
type ground struct {
	frame geo.Frame
	fixes []geo.Fix
	rings [][]geo.LonLat
	start geo.Instant
}

func newGround() *ground {
	return &ground{frame: geo.NewFrame(geo.LonLat{Lon: -100, Lat: 46}),
		start: geo.InstantOf(time.Date(2026, 5, 4, 6, 0, 0, 0, time.UTC))}
}

// add adds a polygon of corners in turn, x and y, at a time in seconds.
func (g *ground) add(at float64, corners ...float64) {
	var ring []geo.LonLat
	var middle geo.LonLat
	for i := 0; i < len(corners); i += 2 {
		p := g.frame.FromMetres(corners[i], corners[i+1])
		ring = append(ring, p)
		middle.Lon += p.Lon / float64(len(corners)/2)
		middle.Lat += p.Lat / float64(len(corners)/2)
	}
	g.fixes = append(g.fixes, geo.Fix{Time: g.start + geo.Instant(at*1e9), At: middle, Heading: geo.Bearing(math.NaN()), Speed: math.NaN()})
	g.rings = append(g.rings, ring)
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

// swept is the ground that the bar goes over on its way, in m², each span by the
// width that works on it, and the widest it is.
func (g *ground) swept(w *Way) (area, widest float64) {
	for i := 1; i < len(w.Fixes); i++ {
		if slices.Contains(w.Breaks, i) {
			continue
		}
		x, y := g.frame.Metres(w.Fixes[i-1].At)
		u, v := g.frame.Metres(w.Fixes[i].At)
		wide := 0.0
		for _, part := range w.States[w.Codes[i-1]] {
			wide += (part.Right - part.Left).Metres()
		}
		area += wide * math.Hypot(u-x, v-y)
		widest = max(widest, wide)
	}
	return area, widest
}

// A spreader writes a quad a second, up one pass and down the next.
func TestQuads(t *testing.T) {
	g := newGround()
	for i := range 20 {
		y := float64(i) * 4
		g.add(float64(i), 12, y, -12, y, -12, y+4, 12, y+4)
	}
	for i := range 20 {
		y := 80 - float64(i)*4
		g.add(60+float64(i), 12, y, 36, y, 36, y-4, 12, y-4) // left and right change places
	}
	w := Join(g.fixes, g.rings)
	area, widest := g.swept(w)
	assert.InDelta(t, 2*24*80, area, 1)
	assert.Equal(t, 0, w.Polygons[0])
	assert.Equal(t, 39, w.Polygons[len(w.Polygons)-1])
	assert.InDelta(t, 24, w.Width, 0.01)
	assert.InDelta(t, 24, widest, 0.01)
	require.Len(t, w.Breaks, 1, "two passes")
	for i, f := range w.Fixes {
		x, _ := g.frame.Metres(f.At)
		north := i < w.Breaks[0]
		assert.InDelta(t, map[bool]float64{true: 0, false: 24}[north], x, 0.01)
		assert.InDelta(t, map[bool]float64{true: 1, false: -1}[north], math.Cos(float64(f.Heading)*math.Pi/180), 1e-6)
		if i > 0 {
			assert.Greater(t, f.Time, w.Fixes[i-1].Time)
		}
	}
}

// A sprayer of three sections, each a strip of its own for as long as it is open: the
// right one is shut for 20 m of 100, and its times are those at which strips begin.
func TestSections(t *testing.T) {
	g := newGround()
	for pass := range 2 {
		x := 12 * float64(pass)
		at := 100 * float64(pass)
		y, z, a, b := 0.0, 100.0, 40.0, 60.0
		left, right := x-6, x+6
		if pass == 1 { // back again: left and right change places
			y, z, a, b, left, right = 100, 0, 60, 40, x+6, x-6
		}
		along := math.Copysign(4, right-left)
		g.add(at, straight(left, left+along, y, z)...)
		g.add(at, straight(left+along, left+2*along, y, z)...)
		g.add(at, straight(left+2*along, right, y, a)...)
		g.add(at+30, straight(left+2*along, right, b, z)...)
	}
	w := Join(g.fixes, g.rings)
	area, widest := g.swept(w)
	assert.InDelta(t, 2*(12*100-4*20), area, 2*4*hostSpan*2, "a section opens and shuts within a span")
	assert.InDelta(t, 12, widest, 0.05)
	require.Len(t, w.Breaks, 1)
	for i, f := range w.Fixes {
		x, y := g.frame.Metres(f.At)
		middle := 12.0
		if i < w.Breaks[0] {
			middle = 0
		}
		// Where the bar never works whole at once, the middle is that of what works.
		assert.InDelta(t, middle, x, 2.1, "at %.1f", y)
	}
}

// One polygon that is no strip, such as what is left of one that was trimmed, counts
// with its area.
func TestOddPolygons(t *testing.T) {
	g := newGround()
	for i := range 20 {
		y := float64(i) * 4
		if i == 10 {
			g.add(float64(i), 12, y, -12, y, -12, y+4, 6, y+4, 12, y+2) // a corner is cut off
			continue
		}
		g.add(float64(i), 12, y, -12, y, -12, y+4, 12, y+4)
	}
	w := Join(g.fixes, g.rings)
	area, _ := g.swept(w)
	assert.InDelta(t, 24*80-6, area, 3)
	var texts []string
	for _, n := range w.Notes {
		texts = append(texts, n.Text)
	}
	assert.Contains(t, strings.Join(texts, "\n"), "polygon that is no strip from one place of the bar to the next; taken as one, as long and of its area")
}

// Any polygons give a way or none, and no place that is none.
func FuzzJoin(f *testing.F) {
	f.Add([]byte{12, 0, 244, 0, 244, 4, 12, 4, 0, 12, 4, 244, 4, 244, 8, 12, 8, 1}, uint8(4))
	f.Add([]byte{0, 0, 0, 0, 0, 0, 0, 1, 1, 0, 0, 1, 1, 1}, uint8(3))
	f.Fuzz(func(t *testing.T, data []byte, corners uint8) {
		n := 3 + int(corners%6)
		g := newGround()
		for len(data) > 2*n && len(g.fixes) < 200 {
			var at []float64
			for i := range 2 * n {
				at = append(at, float64(int8(data[i])))
			}
			g.add(float64(data[2*n]), at...)
			data = data[2*n+1:]
		}
		if len(g.fixes) == 0 {
			return
		}
		w := Join(g.fixes, g.rings)
		if w == nil {
			return
		}
		for i, fix := range w.Fixes {
			require.True(t, fix.At.Valid())
			if i > 0 {
				require.GreaterOrEqual(t, fix.Time, w.Fixes[i-1].Time)
			}
		}
	})
}
