package projection

import (
	"fmt"
	"math"

	"lapwing/geo"
)

const degree = math.Pi / 180

// A projection lays an ellipsoid flat and back: radians, longitudes from the
// central meridian, and metres east and north of the origin, without false
// easting and northing. What it cannot do becomes NaN, or does not come back
// the same; [System] looks at both.
type projection interface {
	forward(lon, lat float64) (x, y float64)
	inverse(x, y float64) (lon, lat float64)
}

// A parameter is one of the numbers by which a coordinate system fixes its
// projection.
type parameter int

const (
	latitude  parameter = iota // of the origin, degrees
	longitude                  // of the origin, degrees
	scale                      // at the origin
	easting                    // of the origin, metres
	northing                   // of the origin, metres
	parallel1                  // a parallel true to scale, degrees
	parallel2                  // the other, degrees
	azimuth                    // of an oblique projection's line, degrees
	rectified                  // angle from the grid to that line, degrees
	sphere                     // which sphere stands in; only 0, semi-major axis, is known
	parameterCount
)

// String returns the name of p as EPSG has it, roughly.
func (p parameter) String() string {
	return [...]string{"latitude of origin", "longitude of origin", "scale factor", "false easting", "false northing",
		"standard parallel 1", "standard parallel 2", "azimuth", "rectified grid angle", "auxiliary sphere type"}[p]
}

// limit is how large p may be, either way. A false easting may have the number
// of its zone in front, in millions, up to 60; a cone needs parallels off the
// poles.
func (p parameter) limit() float64 {
	return [...]float64{90, 360, 2, 1e8, 1e8, 89.9, 89.9, 360, 360, 0}[p]
}

type parameters [parameterCount]float64

// A set holds parameters.
type set uint

func setOf(all ...parameter) (s set) {
	for _, p := range all {
		s |= 1 << p
	}
	return s
}

func (s set) has(p parameter) bool { return s&(1<<p) != 0 }

// A method is a kind of projection, with the parameters it needs and those it
// may have.
type method struct {
	name        string
	needs, also set
	lay         func(figure, *parameters) projection
}

var (
	origin  = setOf(latitude, longitude, easting, northing)
	equator = setOf(longitude, easting, northing)

	transverse       = &method{"transverse Mercator", origin | setOf(scale), 0, newTransverseMercator}
	southOriented    = &method{"transverse Mercator (south orientated)", origin | setOf(scale), 0, newTransverseMercator}
	mercatorA        = &method{"Mercator (variant A)", equator | setOf(scale), setOf(latitude), newMercator}
	mercatorB        = &method{"Mercator (variant B)", equator | setOf(parallel1), setOf(latitude), newMercator}
	webMercator      = &method{"web Mercator", equator, setOf(latitude, scale, parallel1, sphere), newWebMercator}
	lambert1         = &method{"Lambert conformal conic (1SP)", origin | setOf(scale), 0, newLambertConic}
	lambert2         = &method{"Lambert conformal conic (2SP)", origin | setOf(parallel1, parallel2), setOf(scale), newLambertConic}
	equalAreaConic   = &method{"Albers equal area", origin | setOf(parallel1, parallel2), 0, newAlbers}
	equalAreaAround  = &method{"Lambert azimuthal equal area", origin, 0, newLambertAzimuthal}
	obliqueAround    = &method{"oblique stereographic", origin | setOf(scale), 0, newStereographic}
	obliqueMercatorA = &method{"Hotine oblique Mercator (variant A)", origin | setOf(scale, azimuth), setOf(rectified), newHotine}
	obliqueMercatorB = &method{"Hotine oblique Mercator (variant B)", origin | setOf(scale, azimuth), setOf(rectified), newHotineCentre}
)

// A definition is a projection as a coordinate system fixes it.
type definition struct {
	*method
	values parameters
	given  set
}

func (d *definition) set(p parameter, v float64) {
	d.values[p] = v
	d.given |= setOf(p)
}

// project makes the projection on an ellipsoid, or says which parameter is
// missing, has no place here or has no sense. It sets those that follow from
// the others.
func (d *definition) project(e Ellipsoid) (projection, error) {
	for p := range parameterCount {
		switch given := d.given.has(p); {
		case !given && d.needs.has(p):
			return nil, &geo.Fault{Where: d.name, Found: "no " + p.String(), Want: "one"}
		case given && !(d.needs | d.also).has(p):
			return nil, &geo.Fault{Where: d.name, Found: "a parameter it has no use for: " + p.String()}
		case !(math.Abs(d.values[p]) <= p.limit()):
			return nil, d.wrong(p, fmt.Sprintf("at most %g either way", p.limit()))
		}
	}
	v := &d.values
	if !d.given.has(scale) {
		v[scale] = 1
	}
	if !d.given.has(rectified) {
		v[rectified] = v[azimuth]
	}
	switch {
	case math.Abs(v[scale]) < 0.5:
		return nil, d.wrong(scale, "about 1")
	case d.method == southOriented:
		v[scale] = -v[scale] // axes run west and south
	case (d.method == mercatorA || d.method == mercatorB || d.method == webMercator) && v[latitude] != 0:
		return nil, d.wrong(latitude, "0")
	case d.method == webMercator && v[parallel1] != 0:
		return nil, d.wrong(parallel1, "0")
	case d.method == webMercator && v[scale] != 1:
		return nil, d.wrong(scale, "1")
	case d.method == lambert1:
		v[parallel1], v[parallel2] = v[latitude], v[latitude]
	case (d.method == obliqueAround || d.method == obliqueMercatorA || d.method == obliqueMercatorB) && math.Abs(v[latitude]) > 89:
		return nil, d.wrong(latitude, "a place off the poles")
	}
	if (d.method == lambert1 || d.method == lambert2 || d.method == equalAreaConic) && math.Abs(v[parallel1]+v[parallel2]) < 1e-6 {
		return nil, d.wrong(parallel2, "a cone's parallels, not as far north as south")
	}
	return d.lay(e.figure(), v), nil
}

func (d *definition) wrong(p parameter, want string) error {
	return &geo.Fault{Where: d.name, Found: fmt.Sprintf("%s %g", p, d.values[p]), Want: want}
}

// define is a definition with the values given for what its method needs, in
// the order in which [parameter] counts.
func define(m *method, values ...float64) definition {
	d := definition{method: m}
	for p := range parameterCount {
		if m.needs.has(p) {
			d.set(p, values[0])
			values = values[1:]
		}
	}
	return d
}

// tm, lcc and aea are the commonest definitions, in the order of their
// parameters: metres, and degrees that dm makes of minutes.
func tm(lat, lon, k, east, north float64) definition {
	return define(transverse, lat, lon, k, east, north)
}

func lcc(lat, lon, east, north, parallel1, parallel2 float64) definition {
	return define(lambert2, lat, lon, east, north, parallel1, parallel2)
}

func aea(lat, lon, east, north, parallel1, parallel2 float64) definition {
	return define(equalAreaConic, lat, lon, east, north, parallel1, parallel2)
}

// dm is an angle from degrees and minutes; both bear the sign of the degrees.
func dm(d, m float64) float64 {
	if d < 0 {
		m = -m
	}
	return d + m/60
}

// methods has the methods by the letters and digits of their names in EPSG's
// dataset, GDAL's WKT 1 and ESRI's .prj files.
var methods = map[string]*method{
	"transversemercator":                        transverse,
	"transversemercatorcomplex":                 transverse,
	"gausskruger":                               transverse,
	"transversemercatorsouthorientated":         southOriented,
	"mercator1sp":                               mercatorA,
	"mercatorvarianta":                          mercatorA,
	"mercator":                                  mercatorB, // ESRI's
	"mercator2sp":                               mercatorB,
	"mercatorvariantb":                          mercatorB,
	"mercatorauxiliarysphere":                   webMercator,
	"popularvisualisationpseudomercator":        webMercator,
	"lambertconformalconic":                     lambert2, // ESRI's, of one or two parallels
	"lambertconformalconic1sp":                  lambert1,
	"lambertconicconformal1sp":                  lambert1,
	"lambertconformalconic2sp":                  lambert2,
	"lambertconicconformal2sp":                  lambert2,
	"albers":                                    equalAreaConic,
	"albersconicequalarea":                      equalAreaConic,
	"albersequalarea":                           equalAreaConic,
	"lambertazimuthalequalarea":                 equalAreaAround,
	"obliquestereographic":                      obliqueAround,
	"doublestereographic":                       obliqueAround,
	"hotineobliquemercator":                     obliqueMercatorA,
	"hotineobliquemercatorvarianta":             obliqueMercatorA,
	"hotineobliquemercatorazimuthnaturalorigin": obliqueMercatorA,
	"rectifiedskeworthomorphicnaturalorigin":    obliqueMercatorA,
	"obliquemercator":                           obliqueMercatorB,
	"hotineobliquemercatorvariantb":             obliqueMercatorB,
	"hotineobliquemercatorazimuthcenter":        obliqueMercatorB,
	"rectifiedskeworthomorphiccenter":           obliqueMercatorB,
}

const methodNames = "transverse Mercator, Mercator, Lambert conformal conic, Albers, Lambert azimuthal equal area, oblique stereographic, Hotine oblique Mercator"

// parameterNames has the parameters by the letters and digits of their names,
// in the same places.
var parameterNames = map[string]parameter{
	"centralparallel":               latitude, // ESRI's older word
	"latitudeoforigin":              latitude,
	"latitudeofcenter":              latitude,
	"latitudeofnaturalorigin":       latitude,
	"latitudeoffalseorigin":         latitude,
	"latitudeofprojectioncentre":    latitude,
	"centralmeridian":               longitude,
	"longitudeofcenter":             longitude,
	"longitudeoforigin":             longitude,
	"longitudeofnaturalorigin":      longitude,
	"longitudeoffalseorigin":        longitude,
	"longitudeofprojectioncentre":   longitude,
	"scalefactor":                   scale,
	"scalefactoratnaturalorigin":    scale,
	"scalefactoratprojectioncentre": scale,
	"scalefactoroninitialline":      scale,
	"falseeasting":                  easting,
	"eastingatfalseorigin":          easting,
	"eastingatprojectioncentre":     easting,
	"falsenorthing":                 northing,
	"northingatfalseorigin":         northing,
	"northingatprojectioncentre":    northing,
	"standardparallel1":             parallel1,
	"latitudeof1ststandardparallel": parallel1,
	"standardparallel2":             parallel2,
	"latitudeof2ndstandardparallel": parallel2,
	"azimuth":                       azimuth,
	"azimuthofinitialline":          azimuth,
	"azimuthatprojectioncentre":     azimuth,
	"rectifiedgridangle":            rectified,
	"anglefromrectifiedtoskewgrid":  rectified,
	"xyplanerotation":               rectified,
	"auxiliaryspheretype":           sphere,
}
