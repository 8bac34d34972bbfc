package projection

import "math"

// A cone is what the conic projections share: a meridian is a ray from the
// apex, at n times its longitude; a parallel is an arc about the apex, whose
// radius the projection gives.
type cone struct {
	n    float64
	rho0 float64 // radius through the origin, metres
}

func (c *cone) forward(lon, rho float64) (x, y float64) {
	sin, cos := math.Sincos(c.n * lon)
	return rho * sin, c.rho0 - rho*cos
}

// inverse returns the longitude and the radius, which is negative where the
// apex is the south pole's.
func (c *cone) inverse(x, y float64) (lon, rho float64) {
	y = c.rho0 - y
	sign := math.Copysign(1, c.n)
	return math.Atan2(sign*x, sign*y) / c.n, sign * math.Hypot(x, y)
}

// A lambertConic is Lambert's conformal conic projection (Snyder, 15-1 to
// 15-11), with two standard parallels or one and its scale.
type lambertConic struct {
	figure
	cone
	af float64 // a times Snyder's F
}

// newLambertConic makes all variants: where there is but one standard parallel
// both are the same.
func newLambertConic(g figure, p *parameters) projection {
	lat1, lat2 := p[parallel1]*degree, p[parallel2]*degree
	l := &lambertConic{figure: g, cone: cone{n: math.Sin(lat1)}}
	if lat1 != lat2 {
		l.n = math.Log(g.m(lat1)/g.m(lat2)) / (g.isometric(lat2) - g.isometric(lat1))
	}
	l.af = g.a * p[scale] * g.m(lat1) / l.n * math.Exp(l.n*g.isometric(lat1))
	l.rho0 = l.rho(p[latitude] * degree)
	return l
}

func (l *lambertConic) rho(lat float64) float64 { return l.af * math.Exp(-l.n*l.isometric(lat)) }

func (l *lambertConic) forward(lon, lat float64) (x, y float64) {
	return l.cone.forward(lon, l.rho(lat))
}

func (l *lambertConic) inverse(x, y float64) (lon, lat float64) {
	lon, rho := l.cone.inverse(x, y)
	return lon, l.fromIsometric(-math.Log(rho/l.af) / l.n)
}

// An albers is Albers's equal-area conic projection (Snyder, 14-1 to 14-21).
type albers struct {
	figure
	cone
	c float64
}

func newAlbers(g figure, p *parameters) projection {
	lat1, lat2 := p[parallel1]*degree, p[parallel2]*degree
	m1, m2, q1 := g.m(lat1), g.m(lat2), g.q(math.Sin(lat1))
	l := &albers{figure: g, cone: cone{n: math.Sin(lat1)}}
	if lat1 != lat2 {
		l.n = (m1*m1 - m2*m2) / (g.q(math.Sin(lat2)) - q1)
	}
	l.c = m1*m1 + l.n*q1
	l.rho0 = l.rho(p[latitude] * degree)
	return l
}

func (l *albers) rho(lat float64) float64 {
	return l.a * math.Sqrt(l.c-l.n*l.q(math.Sin(lat))) / l.n
}

func (l *albers) forward(lon, lat float64) (x, y float64) {
	return l.cone.forward(lon, l.rho(lat))
}

func (l *albers) inverse(x, y float64) (lon, lat float64) {
	lon, rho := l.cone.inverse(x, y)
	r := rho * l.n / l.a
	return lon, l.fromQ((l.c - r*r) / l.n)
}
