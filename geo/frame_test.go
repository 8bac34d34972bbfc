package geo_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/tidwall/geodesic"
	"pgregory.net/rapid"

	"lapwing/geo"
	"lapwing/geo/plane"
)

// The geodesic library is the tests' own measure of the ellipsoid. It is held
// first to figures it had no part in.
//
// Polygons: C. F. F. Karney, GeographicLib's geodtest.c (Planimeter0 a, c, d and
// Planimeter5), and the one degree square of a port's unit test. Places are
// latitude, longitude.
func TestOracle(t *testing.T) {
	for _, c := range []struct {
		name                 string
		places               [][2]float64
		perimeter, area      float64
		metres, squareMetres float64 // half the last digit printed, rounded up to the file's own tolerance
	}{
		{"around the north pole", [][2]float64{{89, 0}, {89, 90}, {89, 180}, {89, 270}}, 631819.8745, 24952305678, 1e-4, 1},
		{"around the south pole, clockwise", [][2]float64{{-89, 0}, {-89, 90}, {-89, 180}, {-89, 270}}, 631819.8745, -24952305678, 1e-4, 1},
		{"around 0, 0", [][2]float64{{0, -1}, {-1, 0}, {0, 1}, {1, 0}}, 627598.2731, 24619419146, 1e-4, 1},
		{"an eighth of the ellipsoid", [][2]float64{{90, 0}, {0, 0}, {0, 90}}, 30022685, 63758202715511, 1, 1},
		{"a triangle around the pole", [][2]float64{{89, 0.1}, {89, 90.1}, {89, -179.9}}, 539297, 12476152838.5, 1, 1},
		{"one degree", [][2]float64{{0, 0}, {0, 1}, {1, 1}, {1, 0}}, 443770.917, 12308778361.469, 1e-3, 1e-3},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := geodesic.WGS84.PolygonInit(false)
			for _, at := range c.places {
				p.AddPoint(at[0], at[1])
			}
			var area, perimeter float64
			p.Compute(false, true, &area, &perimeter)
			assert.InDelta(t, c.area, area, c.squareMetres)
			assert.InDelta(t, c.perimeter, perimeter, c.metres)
		})
	}
}

// centres are where frames are tried: both hemispheres, both sides of the
// antimeridian and the meridian, and farther north than anyone farms.
var centres = []geo.LonLat{
	{Lon: 0, Lat: 0},
	{Lon: -100, Lat: 30},
	{Lon: -117.2, Lat: 46.7},
	{Lon: -106, Lat: 52},
	{Lon: 25, Lat: 64},
	{Lon: 148, Lat: -33},
	{Lon: -68, Lat: -54},
	{Lon: 180, Lat: 51},
	{Lon: -179.999, Lat: -17},
	{Lon: 179.999, Lat: 0.001},
	{Lon: 15, Lat: 85},
	{Lon: -60, Lat: -85},
}

// apart returns how far two places are from each other, in degrees of a great
// circle along either axis; longitudes a whole turn apart are the same.
func apart(a, b geo.LonLat) float64 {
	lon := math.Remainder(a.Lon-b.Lon, 360) * math.Cos(a.Lat*math.Pi/180)
	return math.Hypot(lon, a.Lat-b.Lat)
}

// 1e-9 degrees are 0.11 mm on the ground, about a tick.
const degreeError = 1e-9

func TestThereAndBack(t *testing.T) {
	for _, centre := range centres {
		t.Run(fmt.Sprint(centre), func(t *testing.T) {
			f := geo.NewFrame(centre)
			rapid.Check(t, func(t *rapid.T) {
				east := rapid.Float64Range(-50000, 50000).Draw(t, "east")
				north := rapid.Float64Range(-50000, 50000).Draw(t, "north")
				at := f.FromMetres(east, north)
				e, n := f.Metres(at)
				assert.InDelta(t, east, e, 1e-6) // a hundredth of a tick
				assert.InDelta(t, north, n, 1e-6)
				again := f.FromMetres(e, n)
				assert.Less(t, apart(at, again), degreeError)
				assert.LessOrEqual(t, math.Abs(again.Lon), 180.0)
			})
		})
	}
}

// A place that is whole on the grid comes back to the tick.
func TestTicksThereAndBack(t *testing.T) {
	for _, centre := range centres {
		f := geo.NewFrame(centre)
		for _, p := range []plane.Point{
			{}, {X: 1}, {Y: -1}, {X: 12345, Y: -67890}, {X: plane.Kilometre, Y: 3 * plane.Kilometre}, {X: -plane.Reach, Y: plane.Reach},
		} {
			got, ok := f.ToPlane(f.ToEarth(p))
			require.True(t, ok || p.X == -plane.Reach, "%v around %v", p, centre)
			if ok {
				assert.Equal(t, p, got, "around %v", centre)
			}
		}
	}
}

// The centre itself is at 0, 0, and a place 51 km away is off the grid.
func TestReach(t *testing.T) {
	for _, centre := range centres {
		f := geo.NewFrame(centre)
		p, ok := f.ToPlane(centre)
		assert.True(t, ok)
		assert.Equal(t, plane.Point{}, p)
		_, ok = f.ToPlane(f.FromMetres(51000, 0))
		assert.False(t, ok)
		_, ok = f.ToPlane(f.FromMetres(0, -51000))
		assert.False(t, ok)
	}
	f := geo.NewFrame(geo.LonLat{})
	_, ok := f.ToPlane(geo.LonLat{Lon: math.NaN(), Lat: 0})
	assert.False(t, ok)
}

// A place has one longitude more than one way: the plane does not care.
func TestWholeTurns(t *testing.T) {
	f := geo.NewFrame(geo.LonLat{Lon: 179.995, Lat: 51})
	e0, n0 := f.Metres(geo.LonLat{Lon: -179.995, Lat: 51.01})
	for _, lon := range []float64{180.005, -539.995} {
		e, n := f.Metres(geo.LonLat{Lon: lon, Lat: 51.01})
		assert.InDelta(t, e0, e, 1e-6)
		assert.InDelta(t, n0, n, 1e-6)
	}
	assert.InDelta(t, 0.01*70300, e0, 20, "a hundredth of a degree east, not a turn west")
}

// Lengths of a degree at the centre: M π/180 north and N cos φ π/180 east, with
// M and N the ellipsoid's radii (computed to 1 mm; 110,574 m and 111,320 m at
// the equator are printed everywhere). Taken over 0.001 degree either way.
//
// The tolerance is that of the figures, 0.5 mm a degree, and what differencing
// two float64 metres costs: 1e-9 m × 500.
func TestLengthOfADegree(t *testing.T) {
	for _, c := range []struct{ lat, north, east float64 }{
		{0, 110574.276, 111319.491},
		{30, 110852.442, 96486.280},
		{40, 111034.633, 85393.857},
		{45, 111131.777, 78846.835},
		{46.7, 111164.988, 76480.659},
		{47, 111170.842, 76055.998},
		{49, 111209.738, 73171.793},
		{52, 111267.353, 68678.016},
		{60, 111412.287, 55800.002},
	} {
		f := geo.NewFrame(geo.LonLat{Lon: -117.2, Lat: c.lat})
		const d = 0.001
		_, n1 := f.Metres(geo.LonLat{Lon: -117.2, Lat: c.lat + d})
		_, n0 := f.Metres(geo.LonLat{Lon: -117.2, Lat: c.lat - d})
		e1, _ := f.Metres(geo.LonLat{Lon: -117.2 + d, Lat: c.lat})
		e0, _ := f.Metres(geo.LonLat{Lon: -117.2 - d, Lat: c.lat})
		assert.InDelta(t, c.north, (n1-n0)/(2*d), 0.001, "north at %v", c.lat)
		assert.InDelta(t, c.east, (e1-e0)/(2*d), 0.001, "east at %v", c.lat)
		var north, east float64
		geodesic.WGS84.Inverse(c.lat-d, -117.2, c.lat+d, -117.2, &north, nil, nil)
		geodesic.WGS84.Inverse(c.lat, -117.2-d, c.lat, -117.2+d, &east, nil, nil)
		assert.InDelta(t, north, n1-n0, 1e-6, "north at %v", c.lat)
		assert.InDelta(t, east, e1-e0, 1e-6, "east at %v", c.lat)
	}
}

// A length within 5 km of the centre is right to 1 part in a million: the
// sphere of equal area stretches a parallel by e²/6 sin² φ, so that r north of
// the centre lengths are off by e²/6 sin 2φ r/R, at most 8.8e-7, and laying the
// sphere flat adds r²/8R², 0.8e-7. And north is north.
func TestLengthsNearTheCentre(t *testing.T) {
	for _, centre := range centres {
		f := geo.NewFrame(centre)
		rapid.Check(t, func(t *rapid.T) {
			draw := func(name string) float64 { return rapid.Float64Range(-3500, 3500).Draw(t, name) }
			x0, y0, x1, y1 := draw("x0"), draw("y0"), draw("x1"), draw("y1")
			a, b := f.FromMetres(x0, y0), f.FromMetres(x1, y1)
			var s float64
			geodesic.WGS84.Inverse(a.Lat, a.Lon, b.Lat, b.Lon, &s, nil, nil)
			d := math.Hypot(x1-x0, y1-y0)
			assert.InDelta(t, s, d, 1e-6*d+1e-8)
		})
		up := f.FromMetres(0, 1000)
		assert.Greater(t, up.Lat, centre.Lat)
		assert.InDelta(t, 0, math.Remainder(up.Lon-centre.Lon, 360), 1e-9)
	}
}

// Areas on the plane are areas on the ellipsoid, however far from the centre
// and whatever their shape. The plane's side is the ring's vertex sum in
// float64; the ellipsoid's, geodesics between the same places. A straight line
// on the plane is not quite a geodesic: between places 100 m apart the two
// enclose less than 1e-5 m², so that rings are cut that fine.
func TestEqualArea(t *testing.T) {
	for _, centre := range centres {
		f := geo.NewFrame(centre)
		for _, off := range []struct{ x, y float64 }{{0, 0}, {5000, -3000}, {-40000, 30000}} {
			corners := [][2]float64{{-400, -300}, {500, -350}, {450, 420}, {0, 100}, {-380, 400}}
			ring := geodesic.WGS84.PolygonInit(false)
			var want float64
			for i, c := range corners {
				d := corners[(i+1)%len(corners)]
				want += (c[0]*d[1] - c[1]*d[0]) / 2
				for k := range 10 {
					t := float64(k) / 10
					p := f.FromMetres(off.x+c[0]+t*(d[0]-c[0]), off.y+c[1]+t*(d[1]-c[1]))
					ring.AddPoint(p.Lat, p.Lon)
				}
			}
			var got float64
			ring.Compute(false, true, &got, nil)
			// Far out the plane's lines bend more: 40 km from the centre a
			// 100 m piece bows by 100²·40000/(8·R²) ≈ 1 µm; 3 km of them are 3e-3 m².
			assert.InDelta(t, want, got, 0.005, "around %v at %v", centre, off)
		}
	}
}

func TestFrameReadsBack(t *testing.T) {
	f := geo.NewFrame(geo.LonLat{Lon: -100.25, Lat: 48.875})
	b, err := f.MarshalBinary()
	require.NoError(t, err)
	var back geo.Frame
	require.NoError(t, back.UnmarshalBinary(b))
	assert.Equal(t, f, back)
	assert.ErrorContains(t, back.UnmarshalBinary(b[:15]), "found a frame of 15 bytes, want 16")
}
