package projection

import (
	"math"
	"math/cmplx"
	"slices"
)

// A transverseMercator is the projection of Gauss and Krüger: conformal, with
// one meridian true to scale. It takes Krüger's series in the third flattening
// to sixth order as C. F. F. Karney gives it ("Transverse Mercator with an
// accuracy of a few nanometers", J. Geodesy 85, 2011, equations 35 and 36).
type transverseMercator struct {
	figure
	radius      float64 // of the rectifying sphere, times the scale factor
	north       float64 // of the origin from the equator, metres
	alpha, beta [6]float64
}

func newTransverseMercator(g figure, p *parameters) projection {
	n := g.f / (2 - g.f)
	n2 := n * n
	t := &transverseMercator{
		figure: g,
		radius: p[scale] * g.a / (1 + n) * (1 + n2/4*(1+n2/16*(1+n2/4))),
		alpha: powers(n, [6][]float64{
			{1. / 2, -2. / 3, 5. / 16, 41. / 180, -127. / 288, 7891. / 37800},
			{13. / 48, -3. / 5, 557. / 1440, 281. / 630, -1983433. / 1935360},
			{61. / 240, -103. / 140, 15061. / 26880, 167603. / 181440},
			{49561. / 161280, -179. / 168, 6601661. / 7257600},
			{34729. / 80640, -3418889. / 1995840},
			{212378941. / 319334400},
		}),
		beta: powers(n, [6][]float64{
			{1. / 2, -2. / 3, 37. / 96, -1. / 360, -81. / 512, 96199. / 604800},
			{1. / 48, 1. / 15, -437. / 1440, 46. / 105, -1118711. / 3870720},
			{17. / 480, -37. / 840, -209. / 4480, 5569. / 90720},
			{4397. / 161280, -11. / 504, -830251. / 7257600},
			{4583. / 161280, -108847. / 3991680},
			{20648693. / 638668800},
		}),
	}
	_, t.north = t.forward(0, p[latitude]*degree)
	return t
}

// powers sums each row as a polynomial: row i, counted from 1, begins with the
// coefficient of n to the power i.
func powers(n float64, rows [6][]float64) (sums [6]float64) {
	for i, row := range rows {
		for _, c := range slices.Backward(row) {
			sums[i] = sums[i]*n + c
		}
		sums[i] *= math.Pow(n, float64(i+1))
	}
	return sums
}

// sines sums c[j-1] sin 2jz over j by Clenshaw's recurrence.
func sines(c *[6]float64, z complex128) complex128 {
	twice := 2 * cmplx.Cos(2*z)
	var b1, b2 complex128
	for _, c := range slices.Backward(c[:]) {
		b1, b2 = complex(c, 0)+twice*b1-b2, b1
	}
	return cmplx.Sin(2*z) * b1
}

func (t *transverseMercator) forward(lon, lat float64) (x, y float64) {
	c := t.conformal(math.Tan(lat))
	sin, cos := math.Sincos(lon)
	z := complex(math.Atan2(c, cos), math.Asinh(sin/math.Hypot(c, cos)))
	z += sines(&t.alpha, z)
	return t.radius * imag(z), t.radius*real(z) - t.north
}

func (t *transverseMercator) inverse(x, y float64) (lon, lat float64) {
	z := complex((y+t.north)/t.radius, x/t.radius)
	z -= sines(&t.beta, z)
	sin, cos := math.Sincos(real(z))
	s := math.Sinh(imag(z))
	return math.Atan2(s, cos), t.latitude(sin / math.Hypot(s, cos))
}

// A mercator is Mercator's projection (Snyder, 7-7 and 7-8).
type mercator struct {
	figure
	radius float64 // of the equator, times the scale factor
}

// newMercator makes both variants: one gives the scale on the equator, the
// other the parallel that is true to scale.
func newMercator(g figure, p *parameters) projection {
	return &mercator{g, g.a * p[scale] * g.m(p[parallel1]*degree)}
}

func (m *mercator) forward(lon, lat float64) (x, y float64) {
	return m.radius * lon, m.radius * m.isometric(lat)
}

func (m *mercator) inverse(x, y float64) (lon, lat float64) {
	return x / m.radius, m.fromIsometric(y / m.radius)
}

// newWebMercator makes the projection of the maps of the web, EPSG:3857: it
// puts latitudes of the ellipsoid into the formulas for a sphere with the
// ellipsoid's semi-major axis (EPSG Guidance Note 7-2, method 1024). That is
// not conformal, and up to 21 km from Mercator's projection of the ellipsoid.
func newWebMercator(g figure, _ *parameters) projection {
	sphere := Ellipsoid{SemiMajor: g.a}
	return &mercator{sphere.figure(), g.a}
}
