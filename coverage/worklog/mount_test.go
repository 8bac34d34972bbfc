package worklog

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
	"lapwing/geo/gnsslog"
)

// wound calls do for each second of a winding way of a machine at 2 m/s whose heading
// swings to and fro. bar places its bar: its middle and its heading, from the machine's
// axle and its heading and how far it drove.
func wound(bar func(x, y, heading, step float64) (bx, by, normal float64), do func(second int, x, y, normal, heading float64)) {
	x, y := 0.0, 0.0
	for s := range 900 {
		const fine = 50
		var bx, by, normal, angle float64
		for k := range fine {
			angle = 1.2 * math.Sin((float64(s)+float64(k)/fine)/15)
			x, y = x+2*math.Sin(angle)/fine, y+2*math.Cos(angle)/fine
			bx, by, normal = bar(x, y, angle, 2.0/fine)
		}
		do(s, bx, by, normal, angle)
	}
}

// winding writes a log by section of a bar on a winding way.
func winding(heading bool, bar func(x, y, heading, step float64) (bx, by, normal float64)) string {
	var b strings.Builder
	b.WriteString("time,lat,lon,section_id")
	if heading {
		b.WriteString(",heading")
	}
	b.WriteString("\n")
	frame := geo.NewFrame(geo.LonLat{Lon: 10, Lat: 54})
	wound(bar, func(s int, bx, by, normal, angle float64) {
		sin, cos := math.Sincos(normal)
		for k := range 4 {
			right := (float64(k) - 1.5) * 1.5
			at := frame.FromMetres(bx+right*cos, by-right*sin)
			fmt.Fprintf(&b, "2026-03-02T09:%02d:%02dZ,%.9f,%.9f,%d", s/60, s%60, at.Lat, at.Lon, 31+k)
			if heading {
				fmt.Fprintf(&b, ",%.1f", math.Mod(angle*180/math.Pi+360, 360))
			}
			b.WriteString("\n")
		}
	})
	return b.String()
}

// windingGround is the log of the polygons that a bar of 6 m on a winding way covers in
// a second each; in every tenth only half of it works.
func windingGround(bar func(x, y, heading, step float64) (bx, by, normal float64)) *gnsslog.Log {
	frame := geo.NewFrame(geo.LonLat{Lon: 10, Lat: 54})
	start := geo.InstantOf(time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC))
	log := &gnsslog.Log{}
	var before func(right float64) geo.LonLat
	wound(bar, func(s int, x, y, normal, _ float64) {
		sin, cos := math.Sincos(normal)
		now := func(right float64) geo.LonLat { return frame.FromMetres(x+right*cos, y-right*sin) }
		if before != nil {
			right := 3.0
			if s%10 == 0 {
				right = 0
			}
			log.Fixes = append(log.Fixes, geo.Fix{Time: start + geo.Instant(s)*1e9, At: now(0), Heading: geo.Bearing(math.NaN()), Speed: math.NaN()})
			log.Lines = append(log.Lines, int32(s))
			log.Cover = append(log.Cover, []geo.LonLat{before(right), before(-3), now(-3), now(right)})
		}
		before = now
	})
	return log
}

// ahead places a bar that is rigid with the machine, so far ahead of its axle; towed one
// on wheels of its own, which follows a hitch along the tractrix.
func ahead(metres float64) func(x, y, heading, step float64) (float64, float64, float64) {
	return func(x, y, heading, _ float64) (float64, float64, float64) {
		sin, cos := math.Sincos(heading)
		return x + metres*sin, y + metres*cos, heading
	}
}

func towed() func(x, y, heading, step float64) (float64, float64, float64) {
	const pole = 7.0
	behind := 0.0 // the bar's heading
	return func(x, y, heading, step float64) (float64, float64, float64) {
		behind += step / pole * math.Sin(heading-behind)
		sin, cos := math.Sincos(behind)
		return x - pole*sin, y - pole*cos, behind
	}
}

// The corners of polygons tell the same: a bar carried behind swings outwards, and of
// one on wheels of its own they tell nothing.
func TestMountOfPolygons(t *testing.T) {
	for _, c := range []struct {
		name    string
		log     *gnsslog.Log
		want    Mount
		because string
	}{
		{"ahead of the axle", windingGround(ahead(4)), MountRigid, "rigid with the machine 4.0 m from its axle"},
		{"carried behind", windingGround(ahead(-3)), MountRigid, "rigid with the machine 3.0 m from its axle"},
		{"towed", windingGround(towed()), MountUnknown, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := Of("", c.log).BarOf(nil)
			require.NoError(t, err)
			assert.True(t, got.OnBar)
			assert.Equal(t, c.want, got.Mount, got.MountWhy)
			assert.Contains(t, got.MountWhy, c.because)
		})
	}
}

// A header ahead of the axle is rigid with the machine; a drill on wheels of its own
// follows, along the tractrix.
func TestMountOfSections(t *testing.T) {
	for _, c := range []struct {
		name    string
		log     string
		want    Mount
		because string
	}{
		{"header with a heading", winding(true, ahead(4)), MountRigid, "square to the logged heading"},
		{"header without one", winding(false, ahead(4)), MountRigid, "rigid with the machine 4.0 m from its axle"},
		{"carried behind, without a heading", winding(false, ahead(-3)), MountRigid, "rigid with the machine"},
		{"towed, with the tractor's heading", winding(true, towed()), MountTowed, "off the logged heading in turns"},
		{"towed, without a heading", winding(false, towed()), MountUnknown, ""},
		{"too few turns", bySection(90, 1.5, "", falling, func(int) string { return "" }), MountUnknown, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := logOf(t, c.log).BarOf(nil)
			require.NoError(t, err)
			assert.True(t, got.OnBar)
			assert.Equal(t, c.want, got.Mount, got.MountWhy)
			assert.Contains(t, got.MountWhy, c.because)
		})
	}
}
