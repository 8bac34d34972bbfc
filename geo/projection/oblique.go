package projection

import "math"

// A hotine is Hotine's oblique Mercator projection: conformal, with a line in
// any direction nearly true to scale. Alaska's panhandle, Michigan's state
// grid and Malaysia use it. The names are those of EPSG Guidance Note 7-2,
// methods 9812 and 9815; ψ, one over its t by logarithm, is the isometric
// latitude.
type hotine struct {
	figure
	a, b, lnH  float64
	sin0, cos0 float64 // of γ0, the azimuth of the line where it cuts the equator
	sinC, cosC float64 // of γc, the angle from the skewed axes to east and north
	lon, u     float64 // where the line cuts the equator, radians from the centre's meridian; u of the origin
}

// newHotine counts from where the line cuts the equator, newHotineCentre from
// the centre of the projection.
func newHotine(g figure, p *parameters) projection { return makeHotine(g, p, false) }

func newHotineCentre(g figure, p *parameters) projection { return makeHotine(g, p, true) }

func makeHotine(g figure, p *parameters, fromCentre bool) projection {
	lat, alpha := p[latitude]*degree, p[azimuth]*degree
	sin, cos := math.Sincos(lat)
	h := &hotine{figure: g, b: math.Sqrt(1 + g.e2*cos*cos*cos*cos/(1-g.e2))}
	w := 1 - g.e2*sin*sin
	h.a = g.a * h.b * p[scale] * math.Sqrt(1-g.e2) / w
	d := h.b * math.Sqrt(1-g.e2) / (cos * math.Sqrt(w))
	root := math.Copysign(math.Sqrt(max(0, d*d-1)), lat)
	h.lnH = math.Asinh(root) - h.b*g.isometric(lat) // F = D ± √(D²-1), D = cosh, H = F·t^B
	h.sin0 = math.Sin(alpha) / d
	h.cos0 = math.Sqrt(1 - h.sin0*h.sin0)
	h.sinC, h.cosC = math.Sincos(p[rectified] * degree)
	h.lon = -math.Asin(max(-1, min(1, root*h.sin0/h.cos0))) / h.b // G = (F - 1/F)/2 is the root
	if fromCentre {
		h.u = h.a / h.b * math.Atan2(root, math.Cos(alpha))
	}
	return h
}

func (h *hotine) forward(lon, lat float64) (x, y float64) {
	q := h.lnH + h.b*h.isometric(lat)
	s, t := math.Sinh(q), math.Cosh(q)
	sin, cos := math.Sincos(h.b * (lon - h.lon))
	v := -h.a / h.b * math.Atanh((s*h.sin0-sin*h.cos0)/t)
	u := h.a/h.b*math.Atan2(s*h.cos0+sin*h.sin0, cos) - h.u
	return v*h.cosC + u*h.sinC, u*h.cosC - v*h.sinC
}

func (h *hotine) inverse(x, y float64) (lon, lat float64) {
	v, u := x*h.cosC-y*h.sinC, y*h.cosC+x*h.sinC+h.u
	q := -h.b / h.a * v
	s, t := math.Sinh(q), math.Cosh(q)
	sin, cos := math.Sincos(h.b / h.a * u)
	psi := (math.Atanh((sin*h.cos0+s*h.sin0)/t) - h.lnH) / h.b
	return h.lon - math.Atan2(s*h.cos0-sin*h.sin0, cos)/h.b, h.fromIsometric(psi)
}
