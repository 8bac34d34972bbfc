package geo

import (
	"encoding/binary"
	"fmt"
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
}

// NewFrame returns the frame centred on c.
func NewFrame(c LonLat) Frame {
	f := Frame{Centre: c}
	sin, cos := math.Sincos(c.Lat * math.Pi / 180)
	f.sinBeta, f.cosBeta = authalic(sin, cos)
	f.rq = semiMajor * math.Sqrt(qPole/2)
	m := cos / math.Sqrt(1-e2*sin*sin)
	f.d = 1
	if f.cosBeta > 1e-9 { // at the very pole any azimuth is as good
		f.d = semiMajor * m / (f.rq * f.cosBeta)
	}
	return f
}

// MarshalBinary returns the frame's centre, which says all of it: its longitude
// and latitude in degrees, 8 bytes each, as IEEE 754 has them, the most
// significant byte first.
func (f Frame) MarshalBinary() ([]byte, error) {
	b := binary.BigEndian.AppendUint64(nil, math.Float64bits(f.Centre.Lon))
	return binary.BigEndian.AppendUint64(b, math.Float64bits(f.Centre.Lat)), nil
}

// UnmarshalBinary makes f the frame that [Frame.MarshalBinary] wrote.
func (f *Frame) UnmarshalBinary(b []byte) error {
	if len(b) != 16 {
		return fmt.Errorf("found a frame of %d bytes, want 16", len(b))
	}
	*f = NewFrame(LonLat{
		Lon: math.Float64frombits(binary.BigEndian.Uint64(b)),
		Lat: math.Float64frombits(binary.BigEndian.Uint64(b[8:])),
	})
	return nil
}

// qPole is Snyder's q (3-12) at the pole.
var qPole = authalicQ(1)

// authalicQ is Snyder's q (3-12) of the sine of a latitude.
func authalicQ(sin float64) float64 {
	es := ecc * sin
	return (1 - e2) * (sin/(1-es*es) + math.Atanh(es)/ecc)
}

// authalic returns the sine and cosine of the authalic latitude of the
// latitude whose sine and cosine are given. Towards the poles the cosine comes
// from how much q falls short of the pole's, which is worked out without
// subtracting one from the other: there 1 - sin² has few digits left.
func authalic(sin, cos float64) (sinBeta, cosBeta float64) {
	if math.Abs(sin) < 0.7 {
		sinBeta = authalicQ(sin) / qPole
		return sinBeta, math.Sqrt((1 - sinBeta) * (1 + sinBeta))
	}
	s := math.Abs(sin)
	u := cos * cos / (1 + s) // 1 - s
	short := (u*(1+e2*s)/(1-e2*s*s) + (1-e2)/ecc*math.Atanh(ecc*u/(1-e2*s))) / qPole
	return math.Copysign(1-short, sin), math.Sqrt(short * (2 - short))
}

// Metres returns the place of p on the plane, metres east and north.
func (f *Frame) Metres(p LonLat) (east, north float64) {
	sinBeta, cosBeta := authalic(math.Sincos(p.Lat * math.Pi / 180))
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

// FromMetres is the inverse of [Frame.Metres]. The latitude comes from the
// authalic one by a series (Snyder's 3-18, right to a millionth of a degree)
// and one step of Newton's method, which leaves the last digits of a float64;
// the series alone is off by a tenth of a millimetre.
func (f *Frame) FromMetres(east, north float64) LonLat {
	x, y := east/f.d, north*f.d
	rho := math.Hypot(x, y)
	if rho == 0 {
		return f.Centre
	}
	half := math.Asin(min(1, rho/(2*f.rq)))
	sin, cos := math.Sincos(2 * half)
	// The authalic latitude's sine, and its cosine times those of the longitude.
	sinBeta := cos*f.sinBeta + y*sin*f.cosBeta/rho
	toEast, toCentre := x*sin/rho, f.cosBeta*cos-y*f.sinBeta*sin/rho
	cosBeta := math.Hypot(toEast, toCentre)

	beta := math.Atan2(sinBeta, cosBeta)
	sin2, cos2 := math.Sincos(2 * beta)
	lat := beta + sin2*(e2/3+31*e2*e2/180+517*e2*e2*e2/5040) +
		2*sin2*cos2*(23*e2*e2/360+251*e2*e2*e2/3780) +
		sin2*(4*cos2*cos2-1)*(761*e2*e2*e2/45360)
	if sinLat, cosLat := math.Sincos(lat); cosLat > 1e-12 {
		s, c := authalic(sinLat, cosLat)
		w := 1 - e2*sinLat*sinLat
		lat += (sinBeta*c - cosBeta*s) * qPole * c * w * w / (2 * (1 - e2) * cosLat)
	}
	return LonLat{
		Lon: math.Remainder(f.Centre.Lon+math.Atan2(toEast, toCentre)*180/math.Pi, 360),
		Lat: lat * 180 / math.Pi,
	}
}
