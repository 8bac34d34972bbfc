package geo

import (
	"math"

	"lapwing/geo/plane"
)

// WGS 84, from the EPSG dataset, ellipsoid 7030.
const (
	semiMajor  = 6378137.0
	flattening = 1 / 298.257223563
	e2         = flattening * (2 - flattening)
)

var ecc = math.Sqrt(e2)

// A Frame lays the ground around a centre flat: the Lambert azimuthal
// equal-area projection of the ellipsoid, oblique aspect (J. P. Snyder, "Map
// Projections: A Working Manual", USGS Professional Paper 1395, 1987,
// equations 24-17 to 24-26 and 3-12). An area on the plane is the area on the
// ellipsoid; a length within 5 km of the centre is right to 1 part in a
// million. The zero Frame is not usable.
type Frame struct {
	Centre LonLat

	sinBeta, cosBeta float64 // of the centre's authalic latitude
	rq, d            float64 // authalic radius; scale that makes the centre true
	qp               float64 // q at the pole
}

// NewFrame returns the frame centred on c.
func NewFrame(c LonLat) Frame {
	f := Frame{Centre: c, qp: authalicQ(1)}
	sin, cos := math.Sincos(c.Lat * math.Pi / 180)
	f.sinBeta = authalicQ(sin) / f.qp
	f.cosBeta = math.Sqrt(max(0, 1-f.sinBeta*f.sinBeta))
	f.rq = semiMajor * math.Sqrt(f.qp/2)
	m := cos / math.Sqrt(1-e2*sin*sin)
	f.d = 1
	if f.cosBeta > 1e-9 { // at the very pole any azimuth is as good
		f.d = semiMajor * m / (f.rq * f.cosBeta)
	}
	return f
}

// authalicQ is Snyder's q (3-12) of the sine of a latitude.
func authalicQ(sin float64) float64 {
	es := ecc * sin
	return (1 - e2) * (sin/(1-es*es) + math.Atanh(es)/ecc)
}

// Metres returns the place of p on the plane, metres east and north.
func (f *Frame) Metres(p LonLat) (east, north float64) {
	sinBeta := authalicQ(math.Sin(p.Lat*math.Pi/180)) / f.qp
	cosBeta := math.Sqrt(max(0, (1-sinBeta)*(1+sinBeta)))
	// The remainder takes the short way round at the antimeridian.
	sinLon, cosLon := math.Sincos(math.Remainder(p.Lon-f.Centre.Lon, 360) * math.Pi / 180)
	b := f.rq * math.Sqrt(2/(1+f.sinBeta*sinBeta+f.cosBeta*cosBeta*cosLon))
	return b * f.d * cosBeta * sinLon,
		b / f.d * (f.cosBeta*sinBeta - f.sinBeta*cosBeta*cosLon)
}

// ToPlane returns the tick nearest to p, and whether it lies within
// [plane.Reach] of the centre.
func (f *Frame) ToPlane(p LonLat) (plane.Point, bool) {
	east, north := f.Metres(p)
	reach := plane.Reach.Metres()
	if !(math.Abs(east) <= reach && math.Abs(north) <= reach) {
		return plane.Point{}, false
	}
	return plane.Point{X: plane.Metres(east), Y: plane.Metres(north)}, true
}

// ToEarth returns the place of p, its longitude within 180 degrees.
func (f *Frame) ToEarth(p plane.Point) LonLat {
	return f.FromMetres(p.X.Metres(), p.Y.Metres())
}

// FromMetres is the inverse of [Frame.Metres]. The latitude comes from its
// authalic sine by Newton's method, to the last digits of a float64; the
// series printed in handbooks is off by a tenth of a millimetre.
func (f *Frame) FromMetres(east, north float64) LonLat {
	x, y := east/f.d, north*f.d
	rho := math.Hypot(x, y)
	if rho == 0 {
		return f.Centre
	}
	half := math.Asin(min(1, rho/(2*f.rq)))
	sin, cos := math.Sincos(2 * half)
	sinBeta := cos*f.sinBeta + y*sin*f.cosBeta/rho
	lon := math.Atan2(x*sin, rho*f.cosBeta*cos-y*f.sinBeta*sin)

	q := sinBeta * f.qp
	s := max(-1, min(1, sinBeta)) // sine of the latitude; the authalic one is a good start
	for range 8 {
		w := 1 - e2*s*s
		step := (q - authalicQ(s)) * w * w / (2 * (1 - e2))
		s += step
		if math.Abs(step) < 1e-9 { // each step squares the error: what is left is below the last digit
			break
		}
	}
	return LonLat{
		Lon: math.Remainder(f.Centre.Lon+lon*180/math.Pi, 360),
		Lat: math.Asin(max(-1, min(1, s))) * 180 / math.Pi,
	}
}
