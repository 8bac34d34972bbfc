package projection

import "math"

// An Ellipsoid is the figure of the Earth on which a datum gives latitudes.
type Ellipsoid struct {
	SemiMajor         float64 // metres
	InverseFlattening float64 // 0 for a sphere
}

// The ellipsoids of the datums that are understood, EPSG:7030 and EPSG:7019,
// and the sphere on which old files lay the web's maps.
var (
	wgs84     = Ellipsoid{6378137, 298.257223563}
	grs80     = Ellipsoid{6378137, 298.257222101}
	webSphere = Ellipsoid{6378137, 0}
)

// near reports whether e is the ellipsoid of WGS 84, or GRS 80. Files round the
// inverse flattening, at worst to 298.257, which moves a pole by 16 mm; the next
// ellipsoid, WGS 72, is 2 m off in the semi-major axis and 0.0028 in the inverse
// flattening.
func (e Ellipsoid) near() bool {
	return math.Abs(e.SemiMajor-wgs84.SemiMajor) < 0.01 && math.Abs(e.InverseFlattening-wgs84.InverseFlattening) < 0.001
}

// A figure is an ellipsoid with what the projections need of it.
type figure struct {
	a, f   float64 // semi-major axis in metres, flattening
	e, e2  float64 // first eccentricity, and its square
	qPole  float64 // Snyder's q (3-12) at the pole
	radius float64 // of the sphere of the same area
}

func (e Ellipsoid) figure() figure {
	g := figure{a: e.SemiMajor}
	if e.InverseFlattening != 0 {
		g.f = 1 / e.InverseFlattening
	}
	g.e2 = g.f * (2 - g.f)
	g.e = math.Sqrt(g.e2)
	g.qPole = g.q(1)
	g.radius = g.a * math.Sqrt(g.qPole/2)
	return g
}

// conformal returns the tangent of the conformal latitude of the latitude whose
// tangent is given (Karney 2011, equations 7 to 9).
func (g *figure) conformal(tan float64) float64 {
	sec := math.Hypot(1, tan)
	s := math.Sinh(g.e * math.Atanh(g.e*tan/sec))
	return tan*math.Hypot(1, s) - s*sec
}

// latitude is the inverse of [figure.conformal], in radians, by Newton's method
// (Karney 2011, equations 19 to 21). It converges in three steps; five leave
// room for latitudes within a millimetre of a pole.
func (g *figure) latitude(conformal float64) float64 {
	t := conformal / (1 - g.e2)
	for range 5 {
		c := g.conformal(t)
		d := (conformal - c) / math.Hypot(1, c) * (1 + (1-g.e2)*t*t) / ((1 - g.e2) * math.Hypot(1, t))
		t += d
		if math.Abs(d) <= 1e-16*math.Abs(t) {
			break
		}
	}
	return math.Atan(t)
}

// isometric returns the isometric latitude of a latitude in radians: ln of one
// over Snyder's t (15-9).
func (g *figure) isometric(lat float64) float64 { return math.Asinh(g.conformal(math.Tan(lat))) }

// fromIsometric is the inverse of [figure.isometric].
func (g *figure) fromIsometric(psi float64) float64 { return g.latitude(math.Sinh(psi)) }

// m is the radius of a parallel over the semi-major axis (Snyder, 14-15).
func (g *figure) m(lat float64) float64 {
	sin, cos := math.Sincos(lat)
	return cos / math.Sqrt(1-g.e2*sin*sin)
}

// q is Snyder's q (3-12) of the sine of a latitude: the area between a parallel
// and the equator, over π times the square of the semi-major axis.
func (g *figure) q(sin float64) float64 {
	if g.e == 0 {
		return 2 * sin
	}
	es := g.e * sin
	return (1 - g.e2) * (sin/(1-es*es) + math.Atanh(es)/g.e)
}

// fromQ is the inverse of [figure.q], a latitude in radians, by Newton's method
// (Snyder, 3-16) from the authalic latitude. It converges in four steps below
// 80 degrees.
func (g *figure) fromQ(q float64) float64 {
	lat := math.Asin(q / g.qPole) // NaN beyond the poles
	for range 10 {
		sin, cos := math.Sincos(lat)
		w := 1 - g.e2*sin*sin
		d := (q - g.q(sin)) * w * w / (2 * (1 - g.e2) * cos)
		if cos < 1e-9 || math.Abs(d) < 1e-16 {
			break
		}
		lat += d
	}
	return lat
}
