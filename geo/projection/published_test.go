package projection

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
)

// The ellipsoids of the worked examples, as those give them.
var (
	clarke1866  = Ellipsoid{6378206.4, 294.978698214}
	snyder1866  = Ellipsoid{6378206.4, 1 / (1 - math.Sqrt(1-0.00676866))} // Clarke 1866 as Snyder rounds its eccentricity
	airy1830    = Ellipsoid{6377563.396, 299.3249646}
	bessel1841  = Ellipsoid{6377397.155, 299.1528128}
	everest1967 = Ellipsoid{6377298.556, 300.8017}
	krassowsky  = Ellipsoid{6378245, 298.3}
)

// dms is an angle from degrees, minutes and seconds.
func dms(d, m, s float64) float64 { return dm(d, m+s/60) }

// Worked examples that others have published. The datums of most would be
// refused; the projections are tried by themselves.
//
// Snyder is J. P. Snyder, "Map Projections: A Working Manual", USGS
// Professional Paper 1395 (1987), appendix A. EPSG is the IOGP's Geomatics
// Guidance Note 7, part 2. TMcoords is C. F. F. Karney's "Test data for the
// transverse Mercator projection" (2009), from memory.
func TestPublished(t *testing.T) {
	timbalai := define(obliqueMercatorB, 4, 115, 0.99984, 590476.87, 442857.65, dms(53, 18, 56.9537))
	timbalai.set(rectified, dms(53, 7, 48.3685))
	usFoot := usSurveyFoot.Size
	for _, c := range []struct {
		name string
		Ellipsoid
		definition
		unit      Unit
		at        geo.LonLat
		x, y      float64
		tolerance float64 // half of the last digit given, in the unit, and a fifth more for rounding on the way
	}{
		{"Snyder, transverse Mercator, p. 269", snyder1866, tm(0, -75, 0.9996, 0, 0), metre,
			geo.LonLat{Lon: -73.5, Lat: 40.5}, 127106.5, 4484124.4, 0.06},
		{"Snyder, Mercator, p. 267", snyder1866, define(mercatorA, -180, 1, 0, 0), metre,
			geo.LonLat{Lon: -75, Lat: 35}, 11688673.7, 4139145.6, 0.06},
		{"Snyder, Lambert conformal conic, p. 296", snyder1866, lcc(23, -96, 0, 0, 33, 45), metre,
			geo.LonLat{Lon: -75, Lat: 35}, 1894410.9, 1564649.5, 0.06},
		{"Snyder, Albers, p. 292", snyder1866, aea(23, -96, 0, 0, 29.5, 45.5), metre,
			geo.LonLat{Lon: -75, Lat: 35}, 1885472.7, 1535925.0, 0.06},
		{"Snyder, Lambert azimuthal equal-area, p. 333", snyder1866, define(equalAreaAround, 40, -100, 0, 0), metre,
			geo.LonLat{Lon: -110, Lat: 30}, -965932.1, -1056814.9, 0.06},

		{"EPSG 9807, British National Grid", airy1830, tm(49, -2, 0.9996012717, 400000, -100000), metre,
			geo.LonLat{Lon: 0.5, Lat: 50.5}, 577274.99, 69740.50, 0.011},
		{"EPSG 9808, Hartebeesthoek94 / Lo29", wgs84, define(southOriented, 0, 29, 1, 0, 0), metre,
			geo.LonLat{Lon: dms(28, 16, 57.479), Lat: dms(-25, 43, 55.302)}, 71984.49, 2847342.74, 0.011},
		{"EPSG 9801, Jamaica National Grid", clarke1866, define(lambert1, 18, -77, 1, 250000, 150000), metre,
			geo.LonLat{Lon: dms(-76, 56, 37.26), Lat: dms(17, 55, 55.80)}, 255966.58, 142493.51, 0.011},
		{"EPSG 9802, Texas South Central", clarke1866, lcc(dm(27, 50), -99, 2000000*usFoot, 0, dm(28, 23), dm(30, 17)), usSurveyFoot,
			geo.LonLat{Lon: -96, Lat: 28.5}, 2963503.91, 254759.80, 0.011},
		{"EPSG 9804, Makassar / NEIEZ", bessel1841, define(mercatorA, 110, 0.997, 3900000, 900000), metre,
			geo.LonLat{Lon: 120, Lat: -3}, 5009726.58, 569150.82, 0.011},
		{"EPSG 9805, Caspian Sea Mercator", krassowsky, define(mercatorB, 51, 0, 0, 42), metre,
			geo.LonLat{Lon: 53, Lat: 53}, 165704.29, 5171848.07, 0.011},
		{"EPSG 1024, Pseudo-Mercator", wgs84, define(webMercator, 0, 0, 0), metre,
			geo.LonLat{Lon: dms(-100, 20, 0), Lat: dms(24, 22, 54.433)}, -11169055.58, 2800000.00, 0.011},
		{"EPSG 9820, ETRS89-extended / LAEA Europe", grs80, define(equalAreaAround, 52, 10, 4321000, 3210000), metre,
			geo.LonLat{Lon: 5, Lat: 50}, 3962799.45, 2999718.85, 0.011},
		{"EPSG 9809, Amersfoort / RD New", bessel1841, define(obliqueAround, dms(52, 9, 22.178), dms(5, 23, 15.5), 0.9999079, 155000, 463000), metre,
			geo.LonLat{Lon: 6, Lat: 53}, 196105.283, 557057.739, 0.0011},
		{"EPSG 9815, Timbalai 1948 / RSO Borneo", everest1967, timbalai, metre,
			geo.LonLat{Lon: dms(115, 48, 19.8196), Lat: dms(5, 23, 14.1129)}, 679245.73, 596562.78, 0.011},

		{"TMcoords, first line", wgs84, tm(0, 0, 0.9996, 0, 0), metre,
			geo.LonLat{Lon: 45.599419731762, Lat: 70.579277094557}, 1548706.7916191008, 8451449.1987722348, 1e-6},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, err := c.project(c.Ellipsoid)
			require.NoError(t, err)
			s := &System{Name: c.name, Unit: c.unit, definition: c.definition, projection: p}
			x, y, ok := s.FromEarth(c.at)
			require.True(t, ok)
			assert.InDelta(t, c.x, x, c.tolerance)
			assert.InDelta(t, c.y, y, c.tolerance)
			back, ok := s.ToEarth(c.x, c.y)
			require.True(t, ok)
			assert.LessOrEqual(t, metres(back, c.at), 2*c.tolerance)
		})
	}
}

// metres is how far apart two near places are, to a hundredth of that.
func metres(a, b geo.LonLat) float64 {
	const arc = 111_700 // of a degree, at most
	return arc * math.Hypot(math.Remainder(a.Lon-b.Lon, 360)*math.Cos(a.Lat*degree), a.Lat-b.Lat)
}
