package projection

import "math"

// A lambertAzimuthal is Lambert's azimuthal equal-area projection (Snyder,
// 24-17 to 24-26). [geo.Frame] is the same on WGS 84, wherever a field lies;
// this one takes the ellipsoid of its coordinate system.
type lambertAzimuthal struct {
	figure
	sin0, cos0 float64 // of the origin's authalic latitude
	d          float64 // makes the origin true to scale
}

func newLambertAzimuthal(g figure, p *parameters) projection {
	lat := p[latitude] * degree
	l := &lambertAzimuthal{figure: g, d: 1}
	l.sin0, l.cos0 = l.authalic(lat)
	if l.cos0 > 1e-9 { // at the pole the scale is right as it is
		l.d = g.a * g.m(lat) / (g.radius * l.cos0)
	}
	return l
}

// authalic returns the sine and cosine of the authalic latitude.
func (l *lambertAzimuthal) authalic(lat float64) (sin, cos float64) {
	sin = max(-1, min(1, l.q(math.Sin(lat))/l.qPole))
	return sin, math.Sqrt((1 - sin) * (1 + sin))
}

func (l *lambertAzimuthal) forward(lon, lat float64) (x, y float64) {
	sin, cos := l.authalic(lat)
	sinLon, cosLon := math.Sincos(lon)
	b := l.radius * math.Sqrt(2/(1+l.sin0*sin+l.cos0*cos*cosLon))
	return b * l.d * cos * sinLon, b / l.d * (l.cos0*sin - l.sin0*cos*cosLon)
}

func (l *lambertAzimuthal) inverse(x, y float64) (lon, lat float64) {
	x, y = x/l.d, y*l.d
	rho := math.Hypot(x, y)
	if rho == 0 {
		return 0, l.fromQ(l.sin0 * l.qPole)
	}
	sin, cos := math.Sincos(2 * math.Asin(rho/(2*l.radius)))
	return math.Atan2(x*sin/rho, l.cos0*cos-y/rho*l.sin0*sin),
		l.fromQ((cos*l.sin0 + y/rho*sin*l.cos0) * l.qPole)
}

// A stereographic is the oblique stereographic projection as the maritime
// provinces of Canada use it: from the ellipsoid to a sphere that keeps angles,
// and on to the plane (EPSG Guidance Note 7-2, method 9809). Where ψ is the
// isometric latitude on the ellipsoid, n ψ + c is that on the sphere; the
// note's w is the exponential of twice that.
type stereographic struct {
	figure
	n, c       float64
	twice      float64 // the sphere's radius, twice, times the scale factor
	sin0, cos0 float64 // of the origin's latitude on the sphere
}

func newStereographic(g figure, p *parameters) projection {
	lat := p[latitude] * degree
	sin, cos := math.Sincos(lat)
	s := &stereographic{figure: g, n: math.Sqrt(1 + g.e2*cos*cos*cos*cos/(1-g.e2))}
	s.twice = 2 * p[scale] * g.a * math.Sqrt(1-g.e2) / (1 - g.e2*sin*sin)
	s.sin0 = sin / s.n
	s.cos0 = math.Sqrt(1 - s.sin0*s.sin0)
	s.c = math.Atanh(s.sin0) - s.n*g.isometric(lat)
	return s
}

func (s *stereographic) forward(lon, lat float64) (x, y float64) {
	psi := s.n*s.isometric(lat) + s.c
	sin, cos := math.Tanh(psi), 1/math.Cosh(psi)
	sinLon, cosLon := math.Sincos(s.n * lon)
	b := s.twice / (1 + sin*s.sin0 + cos*s.cos0*cosLon)
	return b * cos * sinLon, b * (sin*s.cos0 - cos*s.sin0*cosLon)
}

func (s *stereographic) inverse(x, y float64) (lon, lat float64) {
	t := math.Hypot(x, y) / s.twice // tangent of half the arc from the origin
	sin, cos := 2/(1+t*t)/s.twice, (1-t*t)/(1+t*t)
	psi := math.Atanh(cos*s.sin0 + y*sin*s.cos0)
	return math.Atan2(x*sin, s.cos0*cos-y*s.sin0*sin) / s.n, s.fromIsometric((psi - s.c) / s.n)
}
