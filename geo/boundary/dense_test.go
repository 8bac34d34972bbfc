package boundary_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/geo"
)

// Between two neighbouring places that come out of the reader, the edge as
// the file has it, straight in longitude and latitude, stays within a quarter
// of a tick of the chord on the plane.
func TestEdgesAreStraightOnThePlane(t *testing.T) {
	for _, lat := range []float64{0, 20, 47, -52, 65, 78} {
		for _, azimuth := range []float64{0, 30, 45, 60, 90, 120} {
			for _, km := range []float64{0.1, 1.6, 20} {
				sin, cos := math.Sincos(azimuth * math.Pi / 180)
				a := geo.LonLat{Lon: -110, Lat: lat}
				b := geo.LonLat{Lon: a.Lon + sin*km/111/math.Cos(lat*math.Pi/180), Lat: lat + cos*km/111}
				// a third corner that makes a triangle of the edge
				text := polygon(fmt.Sprintf("[%v,%v],[%v,%v],[%v,%v],[%v,%v]", a.Lon, a.Lat, b.Lon, b.Lat,
					a.Lon-0.01*cos, a.Lat+0.01*sin, a.Lon, a.Lat))
				shell := read(t, text).Boundaries[0].Parts[0].Shell
				frame := geo.NewFrame(a)
				worst := 0.0
				for i, p := range shell {
					worst = max(worst, bend(frame, p, shell[(i+1)%len(shell)]))
				}
				assert.Less(t, worst, 0.025e-3, "%v km at %v degrees from latitude %v", km, azimuth, lat)
				// The triangle's way round is at most 2 (km + 1.2); a point for each 10 m of it is plenty.
				assert.Less(t, float64(len(shell)), 200*(km+1.2), "%v km at %v degrees from latitude %v", km, azimuth, lat)
			}
		}
	}
}

// Some long edges get all the points they take, and a county's parcels; a short file
// cannot ask for millions.
func TestLongEdges(t *testing.T) {
	zigzag := func(corners int, wide float64) string {
		var b strings.Builder
		for i := range corners {
			fmt.Fprintf(&b, "[%v,%v],", -110+wide*float64(i%2), 47+float64(i)*1e-3)
		}
		return polygon(b.String() + fmt.Sprintf("[-110.1,%v],[-110.1,47],[-110,47]", 47+float64(corners)*1e-3))
	}
	assert.Greater(t, len(read(t, zigzag(20, 0.4)).Boundaries[0].Parts[0].Shell), 10_000)
	assert.Greater(t, len(read(t, zigzag(3000, 0.01)).Boundaries[0].Parts[0].Shell), 50_000)
	assert.Equal(t, "too many long edges", refused(t, "f", zigzag(100, 1.5)).Found)
}

// bend is how far the edge pq leaves its chord on the plane, in metres.
func bend(frame geo.Frame, p, q geo.LonLat) (most float64) {
	px, py := frame.Metres(p)
	qx, qy := frame.Metres(q)
	length := math.Hypot(qx-px, qy-py)
	for k := 1; k < 8; k++ {
		s := float64(k) / 8
		x, y := frame.Metres(geo.LonLat{Lon: p.Lon + s*(q.Lon-p.Lon), Lat: p.Lat + s*(q.Lat-p.Lat)})
		most = max(most, math.Abs((qx-px)*(y-py)-(qy-py)*(x-px))/length)
	}
	return most
}
