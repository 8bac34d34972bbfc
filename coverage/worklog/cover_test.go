package worklog

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/machine"
	"lapwing/geo"
	"lapwing/geo/gnsslog"
	"lapwing/geo/plane"
)

// coverLog is a log of 20 quads of a bar of 24 m, one a second, north from the
// frame's middle, with a rate that changes half way. The first is of two parts of the
// bar, of which the narrow one has the other rate.
func coverLog() *gnsslog.Log {
	frame := geo.NewFrame(geo.LonLat{Lon: -100, Lat: 46})
	start := geo.InstantOf(time.Date(2026, 5, 4, 6, 0, 0, 0, time.UTC))
	log := &gnsslog.Log{}
	rate := gnsslog.Column{Name: "rate_gal_ac", Distinct: []string{"10", "12"}}
	add := func(at int, left, right float64, code uint32) {
		y := 4 * float64(at)
		ring := []geo.LonLat{frame.FromMetres(right, y), frame.FromMetres(left, y), frame.FromMetres(left, y+4), frame.FromMetres(right, y+4)}
		log.Fixes = append(log.Fixes, geo.Fix{Time: start + geo.Instant(at)*1e9, At: frame.FromMetres((left+right)/2, y+2), Heading: geo.Bearing(math.NaN()), Speed: math.NaN()})
		log.Lines = append(log.Lines, int32(len(log.Lines)+1))
		log.Cover = append(log.Cover, ring)
		rate.Codes = append(rate.Codes, code)
	}
	add(0, -12, 4, 0)
	add(0, 4, 12, 1)
	for i := 1; i < 20; i++ {
		add(i, -12, 12, uint32(i/10))
	}
	log.Columns = []gnsslog.Column{rate}
	return log
}

// A log of polygons is one of the bar's middle that works throughout, with the lines
// and the rates of the polygons.
func TestCover(t *testing.T) {
	l := Of("", coverLog())
	rates, _ := l.Rates()
	require.Len(t, rates, 1)
	for i, want := range map[int]float64{0: 10, len(l.Fixes) - 1: 12} {
		got, wrong := rates[0].At(i)
		assert.False(t, wrong)
		assert.InDelta(t, want, got, 0)
	}
	assert.Equal(t, int32(1), l.Lines[0])
	assert.Equal(t, int32(21), l.Lines[len(l.Lines)-1])
	assert.True(t, l.TellsWork())
	working, err := l.CountWorking()
	require.NoError(t, err)
	assert.Equal(t, len(l.Fixes), working)
	bar, err := l.BarOf(nil)
	require.NoError(t, err)
	assert.True(t, bar.Shaped)
	assert.InDelta(t, 24, bar.Width.Metres, 0.01)
}

// An implement of another width, or with an antenna elsewhere, is told, and so are
// rates that differ along the bar.
func TestCoverDoubts(t *testing.T) {
	l := Of("", coverLog())
	bar := machine.Implement{Width: 20 * plane.Metre, Sections: machine.EqualSections(20*plane.Metre, 1), AntennaToHitch: plane.Metre}
	track, warnings, err := l.Track(bar, nil)
	require.NoError(t, err)
	state := track.States[track.Fixes[len(track.Fixes)-1].State]
	assert.InDelta(t, 24, (state[0].Right - state[0].Left).Metres(), 0.01, "the ground is as wide as the polygons")
	said := ""
	for _, w := range warnings {
		said += w.Text + "\n"
	}
	assert.Contains(t, said, "the polygons of the log are of a bar of 24.00 m, not the implement's 20.00 m; the ground is theirs")
	assert.Contains(t, said, "the implement's antenna, tow or offset moves it away from there")
	assert.Contains(t, said, `column "rate_gal_ac": polygons side by side differ; that of the widest is taken for the bar`)
}

// Of a bar as wide as the polygons the whole works.
func TestCoverOfTheWholeBar(t *testing.T) {
	l := Of("", coverLog())
	track, _, err := l.Track(machine.Implement{Width: 24 * plane.Metre, Sections: machine.EqualSections(24*plane.Metre, 1)}, nil)
	require.NoError(t, err)
	for _, f := range track.Fixes {
		assert.Nil(t, track.States[f.State])
		assert.True(t, f.Working)
	}
}

// Polygons of which nothing tells which way the work went are no log.
func TestCoverWithoutAWay(t *testing.T) {
	log := coverLog()
	log.Fixes, log.Lines, log.Cover = log.Fixes[:1], log.Lines[:1], [][]geo.LonLat{log.Cover[0][:3]}
	log.Columns[0].Codes = log.Columns[0].Codes[:1]
	_, _, err := Of("ground.zip", log).Track(machine.Implement{Width: 24 * plane.Metre}, nil)
	assert.EqualError(t, err, "ground.zip: polygons of which nothing tells which way the work went, want the ground of one moment each, with its time")
}
