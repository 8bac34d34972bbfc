package projection

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"lapwing/geo"
)

// Named returns the coordinate system that a name stands for, as GeoJSON of
// before 2016, GML and web services write it: "EPSG:32614",
// "urn:ogc:def:crs:EPSG::32614", "http://www.opengis.net/def/crs/EPSG/0/32614",
// "urn:ogc:def:crs:OGC:1.3:CRS84".
func Named(name string) (*System, error) {
	m := systemName.FindStringSubmatch(strings.TrimSpace(name))
	if m == nil {
		return nil, &geo.Fault{Found: fmt.Sprintf("coordinate system %.60q", name), Want: "a name such as EPSG:32614"}
	}
	if m[1] == "" { // CRS84: EPSG:4326 with longitude first
		s, err := EPSG(4326)
		if err == nil {
			s.Name, s.Number, s.NorthFirst = "WGS 84 (CRS84)", 0, false
		}
		return s, err
	}
	n, err := strconv.Atoi(m[1])
	if err != nil { // more digits than an int has
		return nil, unknownSystem(fmt.Sprintf("%.60q", name))
	}
	return EPSG(n)
}

func unknownSystem(name string) error {
	return &geo.Fault{Found: "coordinate system " + name, Want: "one that is known by number, or the text of its definition"}
}

var systemName = regexp.MustCompile(`(?i)^(?:urn:(?:x-)?ogc:def:crs:|https?://www\.opengis\.net/(?:def/crs/|gml/srs/epsg\.xml#))?` +
	`(?:OGC[:/](?:[0-9.]*[:/])?CRS84h?|CRS:?84|(?:EPSG[:/#](?:[0-9.]*[:/])?)?([0-9]+))$`)

// EPSG returns the coordinate system of a number of the EPSG dataset: longitude
// and latitude, UTM and the like by rule, state planes and national grids from
// tables. It has those of datums that are WGS 84 or near it, and refuses by
// name the better known of those that are not, with a [*ShiftError]. Every
// other number is a [*geo.Fault]: the text of the system says more than its
// number, and [Parse] reads it.
func EPSG(number int) (*System, error) {
	for _, f := range farSystems {
		if f.first <= number && number <= f.last {
			return nil, farFrom(fmt.Sprintf("EPSG:%d", number), datumNamed(f.datum))
		}
	}
	for i := range geographic {
		if g := &geographic[i]; g.number == number {
			return byNumber(number, g.name, degrees, true, definition{})
		}
	}
	for _, z := range statePlanes() {
		for column, n := range z.numbers {
			if n == number && number != 0 {
				name, unit := z.at(column)
				return byNumber(number, name, unit, false, z.definition)
			}
		}
	}
	for i := range grids {
		if g := &grids[i]; g.number == number {
			return byNumber(number, g.name, metre, g.northFirst, g.definition)
		}
	}
	for i := range families {
		if f := &families[i]; f.first <= number && number <= f.last {
			name, d := f.member(number - f.first)
			return byNumber(number, name, metre, f.northFirst, d)
		}
	}
	return nil, unknownSystem(fmt.Sprintf("EPSG:%d", number))
}

// byNumber makes a system on the datum with which its name begins.
func byNumber(number int, name string, unit Unit, northFirst bool, d definition) (*System, error) {
	frame, _, _ := strings.Cut(name, " / ")
	s := &System{Name: name, Number: number, Datum: datumNamed(frame), Ellipsoid: grs80, Unit: unit, NorthFirst: northFirst, definition: d}
	switch s.Datum.Name {
	case "WGS 84", "POSGAR 94", "POSGAR 2007", "Hartebeesthoek94", "DGN95", "SRGI2013", "SVY21", "JAD2001":
		s.Ellipsoid = wgs84
	}
	return s.finish()
}

// geographic lists systems of longitude and latitude, one at least for each
// datum that is Near.
var geographic = []struct {
	number int
	name   string
}{
	{4326, "WGS 84"}, {4269, "NAD83"}, {4152, "NAD83(HARN)"}, {4759, "NAD83(NSRS2007)"}, {6318, "NAD83(2011)"}, {6322, "NAD83(PA11)"}, {4617, "NAD83(CSRS)"},
	{4258, "ETRS89"}, {4171, "RGF93 v1"}, {4619, "SWEREF99"}, {4173, "IRENET95"}, {6706, "RDN2008"}, {4670, "IGM95"}, {4081, "REGCAN95"}, {5013, "PTRA08"},
	{4151, "CHTRS95"}, {4180, "EST97"}, {4661, "LKS92"}, {4669, "LKS94"}, {4765, "D96"}, {4761, "HTRS96"}, {8685, "SRB_ETRS89"}, {7798, "BGS2005"},
	{4023, "MOLDREF99"}, {5252, "TUREF"}, {4659, "ISN93"}, {5324, "ISN2004"}, {8086, "ISN2016"}, {4747, "GR96"},
	{4283, "GDA94"}, {7844, "GDA2020"}, {4167, "NZGD2000"}, {5546, "PNG94"},
	{4490, "CGCS2000"}, {4612, "JGD2000"}, {6668, "JGD2011"}, {4737, "Korea 2000"}, {3824, "TWD97"}, {4742, "GDM2000"}, {4755, "DGN95"}, {9470, "SRGI2013"},
	{4757, "SVY21"}, {9333, "KSA-GRF17"}, {3889, "IGRS"}, {4148, "Hartebeesthoek94"},
	{4170, "SIRGAS 1995"}, {4674, "SIRGAS 2000"}, {4694, "POSGAR 94"}, {4190, "POSGAR 98"}, {5340, "POSGAR 2007"}, {4686, "MAGNA-SIRGAS"}, {4189, "REGVEN"},
	{5373, "Peru96"}, {5354, "MARGEN"}, {8907, "CR-SIRGAS"}, {4483, "Mexico ITRF92"}, {6365, "Mexico ITRF2008"}, {4758, "JAD2001"},
}

// A family is a run of systems, each numbered one above the last, whose central
// meridians follow each other in steps: zones of transverse Mercator.
type family struct {
	first, last    int
	name           string // with a verb for the number that names the zone
	zone, zoneStep int    // that of the first, and from one to the next
	lon, step      float64
	northFirst     bool
	rest           belt
}

// A belt is what the zones of a family have in common.
type belt struct {
	lat, scale            float64
	east, eastStep, north float64 // false easting of the first zone, its step, false northing
	southOriented         bool
}

// The belts of several countries: UTM, those of Gauss and Krüger, 3 and 6
// degrees wide, and Canada's.
var (
	utmNorth = belt{scale: 0.9996, east: 500000}
	utmSouth = belt{scale: 0.9996, east: 500000, north: 1e7}
	gauss    = belt{scale: 1, east: 500000}
	mtm      = belt{scale: 0.9999, east: 304800}
	threeTM  = belt{scale: 0.9999}
)

// zoned is gauss with the number of the zone in front of the easting.
func zoned(zone float64) belt { return belt{scale: 1, east: zone*1e6 + 500000, eastStep: 1e6} }

// member is the name and projection of the i-th system of f.
func (f *family) member(i int) (string, definition) {
	n, b := float64(i), &f.rest
	d := tm(b.lat, f.lon+n*f.step, b.scale, b.east+n*b.eastStep, b.north)
	if b.southOriented {
		d.method = southOriented
	}
	return fmt.Sprintf(f.name, f.zone+i*f.zoneStep), d
}

// utm is a family of UTM zones.
func utm(first, last int, name string, zone int, b belt) family {
	return family{first, last, name, zone, 1, float64(6*zone - 183), 6, false, b}
}

var families = []family{
	utm(32601, 32660, "WGS 84 / UTM zone %dN", 1, utmNorth),
	utm(32701, 32760, "WGS 84 / UTM zone %dS", 1, utmSouth),
	utm(26901, 26923, "NAD83 / UTM zone %dN", 1, utmNorth),
	utm(3740, 3749, "NAD83(HARN) / UTM zone %dN", 10, utmNorth),
	utm(3750, 3751, "NAD83(HARN) / UTM zone %dN", 4, utmNorth),
	utm(3708, 3726, "NAD83(NSRS2007) / UTM zone %dN", 1, utmNorth),
	utm(6330, 6348, "NAD83(2011) / UTM zone %dN", 1, utmNorth),
	utm(3154, 3157, "NAD83(CSRS) / UTM zone %dN", 7, utmNorth),
	utm(2955, 2957, "NAD83(CSRS) / UTM zone %dN", 11, utmNorth),
	utm(3158, 3160, "NAD83(CSRS) / UTM zone %dN", 14, utmNorth),
	utm(2958, 2962, "NAD83(CSRS) / UTM zone %dN", 17, utmNorth),
	utm(3761, 3761, "NAD83(CSRS) / UTM zone %dN", 22, utmNorth),
	utm(22207, 22222, "NAD83(CSRS)v2 / UTM zone %dN", 7, utmNorth),
	utm(22307, 22322, "NAD83(CSRS)v3 / UTM zone %dN", 7, utmNorth),
	utm(22407, 22422, "NAD83(CSRS)v4 / UTM zone %dN", 7, utmNorth),
	utm(22607, 22622, "NAD83(CSRS)v6 / UTM zone %dN", 7, utmNorth),
	utm(22707, 22722, "NAD83(CSRS)v7 / UTM zone %dN", 7, utmNorth),
	utm(25828, 25837, "ETRS89 / UTM zone %dN", 28, utmNorth),
	{3040, 3049, "ETRS89 / UTM zone %dN (N-E)", 28, 1, -15, 6, true, utmNorth},
	{4647, 4647, "ETRS89 / UTM zone %dN (zE-N)", 32, 1, 9, 6, false, belt{scale: 0.9996, east: 32500000}},
	{5649, 5649, "ETRS89 / UTM zone %dN (zE-N)", 31, 1, 3, 6, false, belt{scale: 0.9996, east: 31500000}},
	{5650, 5650, "ETRS89 / UTM zone %dN (zE-N)", 33, 1, 15, 6, false, belt{scale: 0.9996, east: 33500000}},
	utm(7791, 7793, "RDN2008 / UTM zone %dN", 32, utmNorth),
	{6707, 6709, "RDN2008 / UTM zone %dN (N-E)", 32, 1, 9, 6, true, utmNorth},
	utm(3064, 3065, "IGM95 / UTM zone %dN", 32, utmNorth),
	utm(8682, 8682, "SRB_ETRS89 / UTM zone %dN", 34, utmNorth),
	utm(31965, 31976, "SIRGAS 2000 / UTM zone %dN", 11, utmNorth),
	utm(31977, 31985, "SIRGAS 2000 / UTM zone %dS", 17, utmSouth),
	utm(5396, 5396, "SIRGAS 2000 / UTM zone %dS", 26, utmSouth),
	utm(31986, 31991, "SIRGAS 1995 / UTM zone %dN", 17, utmNorth),
	utm(31992, 32000, "SIRGAS 1995 / UTM zone %dS", 17, utmSouth),
	utm(28348, 28358, "GDA94 / MGA zone %d", 48, utmSouth),
	utm(7846, 7859, "GDA2020 / MGA zone %d", 46, utmSouth),
	utm(6366, 6371, "Mexico ITRF2008 / UTM zone %dN", 11, utmNorth),
	utm(4484, 4489, "Mexico ITRF92 / UTM zone %dN", 11, utmNorth),
	utm(3097, 3101, "JGD2000 / UTM zone %dN", 51, utmNorth),
	utm(6688, 6692, "JGD2011 / UTM zone %dN", 51, utmNorth),
	utm(23866, 23872, "DGN95 / UTM zone %dN", 46, utmNorth),
	utm(23877, 23884, "DGN95 / UTM zone %dS", 47, utmSouth),
	utm(9476, 9482, "SRGI2013 / UTM zone %dN", 46, utmNorth),
	utm(9487, 9494, "SRGI2013 / UTM zone %dS", 47, utmSouth),

	{4491, 4501, "CGCS2000 / Gauss-Kruger zone %d", 13, 1, 75, 6, true, zoned(13)},
	{4502, 4512, "CGCS2000 / Gauss-Kruger CM %dE", 75, 6, 75, 6, true, gauss},
	{4513, 4533, "CGCS2000 / 3-degree Gauss-Kruger zone %d", 25, 1, 75, 3, true, zoned(25)},
	{4534, 4554, "CGCS2000 / 3-degree Gauss-Kruger CM %dE", 75, 3, 75, 3, true, gauss},
	{2176, 2179, "ETRF2000-PL / CS2000/%d", 15, 3, 15, 3, true, belt{scale: 0.999923, east: 5500000, eastStep: 1e6}},
	{3126, 3138, "ETRS89 / ETRS-GK%dFIN", 19, 1, 19, 1, true, gauss},
	{3873, 3885, "ETRS89 / GK%dFIN", 19, 1, 19, 1, true, zoned(19)},
	{5105, 5130, "ETRS89 / NTM zone %d", 5, 1, 5.5, 1, true, belt{lat: 58, scale: 1, east: 100000, north: 1000000}},
	{5253, 5259, "TUREF / TM%d", 27, 3, 27, 3, true, gauss},
	{22171, 22177, "POSGAR 98 / Argentina %d", 1, 1, -72, 3, true, belt{lat: -90, scale: 1, east: 1500000, eastStep: 1e6}},
	{22181, 22187, "POSGAR 94 / Argentina %d", 1, 1, -72, 3, true, belt{lat: -90, scale: 1, east: 1500000, eastStep: 1e6}},
	{5343, 5349, "POSGAR 2007 / Argentina %d", 1, 1, -72, 3, true, belt{lat: -90, scale: 1, east: 1500000, eastStep: 1e6}},
	{2046, 2055, "Hartebeesthoek94 / Lo%d", 15, 2, 15, 2, false, belt{scale: 1, southOriented: true}},
	{32181, 32182, "NAD83 / MTM zone %d", 1, 1, -53, -3, false, mtm},
	{32183, 32191, "NAD83 / MTM zone %d", 3, 1, -58.5, -3, false, mtm},
	{32192, 32197, "NAD83 / MTM zone %d", 12, 1, -81, -3, false, mtm},
	{26898, 26899, "NAD83(CSRS) / MTM zone %d", 1, 1, -53, -3, false, mtm},
	{2945, 2952, "NAD83(CSRS) / MTM zone %d", 3, 1, -58.5, -3, false, mtm},
	{26891, 26891, "NAD83(CSRS) / MTM zone %d", 11, 1, -82.5, -3, false, mtm},
	{26892, 26897, "NAD83(CSRS) / MTM zone %d", 12, 1, -81, -3, false, mtm},
	{3775, 3777, "NAD83 / Alberta 3TM ref merid %d W", 111, 3, -111, -3, false, threeTM},
	{3801, 3801, "NAD83 / Alberta 3TM ref merid %d W", 120, 3, -120, -3, false, threeTM},
	{3779, 3781, "NAD83(CSRS) / Alberta 3TM ref merid %d W", 111, 3, -111, -3, false, threeTM},
	{3802, 3802, "NAD83(CSRS) / Alberta 3TM ref merid %d W", 120, 3, -120, -3, false, threeTM},
}

// A grid is a system by itself.
type grid struct {
	number     int
	name       string
	northFirst bool
	definition
}

// grids lists the grids of countries, provinces and the web.
var grids = slices.Concat(sweden(), japan(2443, "JGD2000"), japan(6669, "JGD2011"), []grid{
	{3857, "WGS 84 / Pseudo-Mercator", false, define(webMercator, 0, 0, 0)},
	{3785, "WGS 84 / Popular Visualisation CRS", false, define(webMercator, 0, 0, 0)},
	{900913, "WGS 84 / the web's Mercator", false, define(webMercator, 0, 0, 0)},
	{102100, "WGS 84 / Web Mercator Auxiliary Sphere", false, define(webMercator, 0, 0, 0)},
	{102113, "WGS 84 / Web Mercator", false, define(webMercator, 0, 0, 0)},
	{3395, "WGS 84 / World Mercator", false, define(mercatorA, 0, 1, 0, 0)},

	{3034, "ETRS89-extended / LCC Europe", true, lcc(52, 10, 4000000, 2800000, 35, 65)},
	{3035, "ETRS89-extended / LAEA Europe", true, define(equalAreaAround, 52, 10, 4321000, 3210000)},
	{2154, "RGF93 v1 / Lambert-93", false, lcc(46.5, 3, 700000, 6600000, 49, 44)},
	{9794, "RGF93 v2b / Lambert-93", false, lcc(46.5, 3, 700000, 6600000, 49, 44)},
	{3942, "RGF93 v1 / CC42", false, conformal(42)}, {3943, "RGF93 v1 / CC43", false, conformal(43)}, {3944, "RGF93 v1 / CC44", false, conformal(44)},
	{3945, "RGF93 v1 / CC45", false, conformal(45)}, {3946, "RGF93 v1 / CC46", false, conformal(46)}, {3947, "RGF93 v1 / CC47", false, conformal(47)},
	{3948, "RGF93 v1 / CC48", false, conformal(48)}, {3949, "RGF93 v1 / CC49", false, conformal(49)}, {3950, "RGF93 v1 / CC50", false, conformal(50)},
	{3006, "SWEREF99 TM", true, tm(0, 15, 0.9996, 500000, 0)},
	{3067, "ETRS89 / TM35FIN(E,N)", false, tm(0, 27, 0.9996, 500000, 0)},
	{5048, "ETRS89 / TM35FIN(N,E)", true, tm(0, 27, 0.9996, 500000, 0)},
	{2180, "ETRF2000-PL / CS92", true, tm(0, 19, 0.9993, 500000, -5300000)},
	{25884, "ETRS89 / TM Baltic93", true, tm(0, 24, 0.9996, 500000, 0)},
	{3301, "EST97 / Estonian Coordinate System of 1997", true, lcc(57+31./60+3.19415/3600, 24, 500000, 6375000, dm(59, 20), 58)},
	{3059, "LKS92 / Latvia TM", true, tm(0, 24, 0.9996, 500000, -6000000)},
	{3346, "LKS94 / Lithuania TM", true, tm(0, 24, 0.9998, 500000, 0)},
	{4839, "ETRS89 / LCC Germany (N-E)", true, lcc(51, 10.5, 0, 0, dm(48, 40), dm(53, 40))},
	{5243, "ETRS89 / LCC Germany (E-N)", false, lcc(51, 10.5, 0, 0, dm(48, 40), dm(53, 40))},
	{3416, "ETRS89 / Austria Lambert", true, lcc(47.5, dm(13, 20), 400000, 400000, 49, 46)},
	{3812, "ETRS89 / Belgian Lambert 2008", false, lcc(50+47./60+52.134/3600, 4+21./60+33.177/3600, 649328, 665262, dm(49, 50), dm(51, 10))},
	{3447, "ETRS89 / Belgian Lambert 2005", false, lcc(50+47./60+52.134/3600, 4+21./60+33.177/3600, 150328, 166262, dm(49, 50), dm(51, 10))},
	{2157, "IRENET95 / Irish Transverse Mercator", false, tm(53.5, -8, 0.99982, 600000, 750000)},
	{3763, "ETRS89 / Portugal TM06", false, tm(39+40./60+5.73/3600, -(8 + 7./60 + 59.19/3600), 1, 0, 0)},
	{3765, "HTRS96 / Croatia TM", false, tm(0, 16.5, 0.9999, 500000, 0)},
	{3794, "Slovenia 1996 / Slovene National Grid", false, tm(0, 15, 0.9999, 500000, -5000000)},
	{7801, "BGS2005 / CCS2005", true, lcc(42.6678756833333, 25.5, 500000, 4725824.3591, 42, dm(43, 20))},
	{3057, "ISN93 / Lambert 1993", false, lcc(65, -19, 500000, 500000, dm(64, 15), dm(65, 45))},
	{5325, "ISN2004 / Lambert 2004", false, lcc(65, -19, 1700000, 300000, dm(64, 15), dm(65, 45))},
	{8088, "ISN2016 / Lambert 2016", false, lcc(65, -19, 2700000, 300000, dm(64, 15), dm(65, 45))},
	{5316, "ETRS89 / Faroe TM", false, tm(0, -7, 0.999997, 200000, -6000000)},
	{4093, "ETRS89 / DKTM1", false, tm(0, 9, 0.99998, 200000, -5000000)},
	{4094, "ETRS89 / DKTM2", false, tm(0, 10, 0.99998, 400000, -5000000)},
	{4095, "ETRS89 / DKTM3", false, tm(0, 11.75, 0.99998, 600000, -5000000)},
	{4096, "ETRS89 / DKTM4", false, tm(0, 15, 1, 800000, -5000000)},

	{2193, "NZGD2000 / New Zealand Transverse Mercator 2000", true, tm(0, 173, 0.9996, 1600000, 10000000)},
	{3111, "GDA94 / Vicgrid", false, lcc(-37, 145, 2500000, 2500000, -36, -38)},
	{7899, "GDA2020 / Vicgrid", false, lcc(-37, 145, 2500000, 2500000, -36, -38)},
	{3308, "GDA94 / NSW Lambert", false, lcc(dm(-33, 15), 147, 9300000, 4500000, dm(-30, 45), dm(-35, 45))},
	{8058, "GDA2020 / NSW Lambert", false, lcc(dm(-33, 15), 147, 9300000, 4500000, dm(-30, 45), dm(-35, 45))},
	{3107, "GDA94 / SA Lambert", false, lcc(-32, 135, 1000000, 2000000, -28, -36)},
	{8059, "GDA2020 / SA Lambert", false, lcc(-32, 135, 1000000, 2000000, -28, -36)},
	{3112, "GDA94 / Geoscience Australia Lambert", false, lcc(0, 134, 0, 0, -18, -36)},
	{7845, "GDA2020 / GA LCC", false, lcc(0, 134, 0, 0, -18, -36)},
	{3577, "GDA94 / Australian Albers", false, aea(0, 132, 0, 0, -18, -36)},
	{9473, "GDA2020 / Australian Albers", false, aea(0, 132, 0, 0, -18, -36)},

	{3005, "NAD83 / BC Albers", false, aea(45, -126, 1000000, 0, 50, 58.5)},
	{3153, "NAD83(CSRS) / BC Albers", false, aea(45, -126, 1000000, 0, 50, 58.5)},
	{3400, "NAD83 / Alberta 10-TM (Forest)", false, tm(0, -115, 0.9992, 500000, 0)},
	{3401, "NAD83 / Alberta 10-TM (Resource)", false, tm(0, -115, 0.9992, 0, 0)},
	{3402, "NAD83(CSRS) / Alberta 10-TM (Forest)", false, tm(0, -115, 0.9992, 500000, 0)},
	{3403, "NAD83(CSRS) / Alberta 10-TM (Resource)", false, tm(0, -115, 0.9992, 0, 0)},
	{3347, "NAD83 / Statistics Canada Lambert", false, lcc(63.390675, -(91 + 52./60), 6200000, 3000000, 49, 77)},
	{3348, "NAD83(CSRS) / Statistics Canada Lambert", false, lcc(63.390675, -(91 + 52./60), 6200000, 3000000, 49, 77)},
	{3978, "NAD83 / Canada Atlas Lambert", false, lcc(49, -95, 0, 0, 49, 77)},
	{3979, "NAD83(CSRS) / Canada Atlas Lambert", false, lcc(49, -95, 0, 0, 49, 77)},
	{3161, "NAD83 / Ontario MNR Lambert", false, lcc(0, -85, 930000, 6430000, 44.5, 53.5)},
	{3162, "NAD83(CSRS) / Ontario MNR Lambert", false, lcc(0, -85, 930000, 6430000, 44.5, 53.5)},
	{32198, "NAD83 / Quebec Lambert", false, lcc(44, -68.5, 0, 0, 60, 46)},
	{6622, "NAD83(CSRS) / Quebec Lambert", false, lcc(44, -68.5, 0, 0, 60, 46)},
	{2953, "NAD83(CSRS) / New Brunswick Stereographic", true, define(obliqueAround, 46.5, -66.5, 0.999912, 2500000, 7500000)},
	{2954, "NAD83(CSRS) / Prince Edward Isl. Stereographic (NAD83)", false, define(obliqueAround, 47.25, -63, 0.999912, 400000, 800000)},

	{6372, "Mexico ITRF2008 / LCC", true, lcc(12, -102, 2500000, 0, 17.5, 29.5)},
	{6362, "Mexico ITRF92 / LCC", true, lcc(12, -102, 2500000, 0, 17.5, 29.5)},
	{9377, "MAGNA-SIRGAS / Origen-Nacional", true, tm(4, -73, 0.9992, 5000000, 2000000)},
	{3826, "TWD97 / TM2 zone 121", false, tm(0, 121, 0.9999, 250000, 0)},
	{3825, "TWD97 / TM2 zone 119", false, tm(0, 119, 0.9999, 250000, 0)},
	{5185, "Korea 2000 / West Belt 2010", true, tm(38, 125, 1, 200000, 600000)},
	{5186, "Korea 2000 / Central Belt 2010", true, tm(38, 127, 1, 200000, 600000)},
	{5187, "Korea 2000 / East Belt 2010", true, tm(38, 129, 1, 200000, 600000)},
	{5188, "Korea 2000 / East Sea Belt 2010", true, tm(38, 131, 1, 200000, 600000)},
	{5179, "Korea 2000 / Unified CS", true, tm(38, 127.5, 0.9996, 1000000, 2000000)},
	{3414, "SVY21 / Singapore TM", true, tm(1+22./60, 103.833333333333, 1, 28001.642, 38744.572)},
	{7755, "WGS 84 / India NSF LCC", false, lcc(24, 80, 4000000, 4000000, 12.472955, 35.1728044444444)},
})

// conformal is a zone of the "coniques conformes 9 zones" of France, around a
// parallel.
func conformal(lat float64) definition {
	return lcc(lat, 3, 1700000, 1200000+(lat-42)*1e6, lat-0.75, lat+0.75)
}

// sweden lists the local zones of SWEREF99, named by their central meridians.
func sweden() (list []grid) {
	for i, lon := range []float64{12, 13.5, 15, 16.5, 18, 14.25, 15.75, 17.25, 18.75, 20.25, 21.75, 23.25} {
		name := fmt.Sprintf("SWEREF99 %d %02d", int(lon), int(lon*60)%60)
		list = append(list, grid{3007 + i, name, true, tm(0, lon, 1, 150000, 0)})
	}
	return list
}

// japan lists the plane rectangular systems of Japan, I to XIX, numbered from
// first, by the latitude and longitude of their origins.
func japan(first int, frame string) (list []grid) {
	roman := strings.Fields("I II III IV V VI VII VIII IX X XI XII XIII XIV XV XVI XVII XVIII XIX")
	for i, origin := range [19][2]float64{
		{33, 129.5}, {33, 131}, {36, dm(132, 10)}, {33, 133.5}, {36, dm(134, 20)}, {36, 136}, {36, dm(137, 10)}, {36, 138.5}, {36, dm(139, 50)}, {40, dm(140, 50)},
		{44, 140.25}, {44, 142.25}, {44, 144.25}, {26, 142}, {26, 127.5}, {26, 124}, {26, 131}, {20, 136}, {26, 154},
	} {
		name := frame + " / Japan Plane Rectangular CS " + roman[i]
		list = append(list, grid{first + i, name, true, tm(origin[0], origin[1], 0.9999, 0, 0)})
	}
	return list
}

// farSystems lists systems whose places would have to be shifted to WGS 84.
var farSystems = []struct {
	first, last int
	datum       string
}{
	{4267, 4267, "NAD27"}, {26701, 26722, "NAD27"}, {26729, 26760, "NAD27"}, {26766, 26798, "NAD27"}, {32001, 32058, "NAD27"},
	{4230, 4230, "ED50"}, {23028, 23038, "ED50"},
	{4277, 4277, "OSGB36"}, {27700, 27700, "OSGB36"},
	{29902, 29903, "TM65"}, {29901, 29901, "TM65"},
	{4314, 4314, "DHDN"}, {31466, 31469, "DHDN"}, {4312, 4312, "MGI"}, {31254, 31259, "MGI"}, {31287, 31287, "MGI"},
	{4150, 4150, "CH1903"}, {2056, 2056, "CH1903"}, {21781, 21782, "CH1903"},
	{4275, 4275, "NTF"}, {27561, 27564, "NTF"}, {27571, 27574, "NTF"},
	{4289, 4289, "Amersfoort"}, {28991, 28992, "Amersfoort"}, {4313, 4313, "Belge 1972"}, {31370, 31370, "Belge 1972"}, {2169, 2169, "Luxembourg 1930"},
	{4265, 4265, "Monte Mario"}, {3003, 3004, "Monte Mario"}, {4121, 4121, "GGRS87"}, {2100, 2100, "GGRS87"}, {23700, 23700, "HD72"},
	{4156, 4156, "S-JTSK"}, {5513, 5514, "S-JTSK"}, {2065, 2065, "S-JTSK"},
	{4284, 4284, "Pulkovo 1942"}, {28404, 28432, "Pulkovo 1942"}, {3844, 3844, "Pulkovo 1942"}, {20004, 20032, "Pulkovo 1995"},
	{3021, 3021, "RT90"}, {2391, 2394, "KKJ"}, {2039, 2039, "Israel 1993"},
	{4301, 4301, "Tokyo"}, {30161, 30179, "Tokyo"}, {21413, 21423, "Beijing 1954"}, {2327, 2390, "Xian 1980"}, {2326, 2326, "Hong Kong 1980"},
	{3405, 3406, "VN-2000"}, {20248, 20258, "AGD66"}, {20348, 20356, "AGD84"}, {27200, 27200, "NZGD49"},
	{29168, 29172, "SAD69"}, {29187, 29195, "SAD69"}, {24817, 24821, "PSAD56"}, {24877, 24882, "PSAD56"}, {22191, 22197, "Campo Inchauspe"},
	{32201, 32260, "WGS 72"}, {32301, 32360, "WGS 72"},
}
