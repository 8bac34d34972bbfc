package projection

import (
	"fmt"
	"math"

	"lapwing/geo"
)

// A System is a coordinate system: what two numbers in a file mean as a place
// on the Earth. It is made by [Parse], [EPSG] or [Named], does not change, and
// may be used by several goroutines at once.
type System struct {
	Name      string // "NAD83 / UTM zone 14N"
	Number    int    // in the EPSG dataset; 0 where the text does not say
	Datum     Datum
	Ellipsoid Ellipsoid
	Method    string // "transverse Mercator"; "" for longitude and latitude
	Unit      Unit   // of both coordinates
	// NorthFirst tells that the definition lists northing, or latitude, first.
	// Shapefiles, GeoPackages (OGC 12-128r18, 2.1.3) and GeoJSON (RFC 7946) have
	// easting first all the same, so that [System.ToEarth] takes easting first
	// whatever this says.
	NorthFirst bool

	definition definition
	projection projection // nil for longitude and latitude
}

// A Unit is what a coordinate is counted in.
type Unit struct {
	Name string
	Size float64 // metres; radians for longitude and latitude
}

// The units that systems known by number have.
var (
	metre        = Unit{"metre", 1}
	foot         = Unit{"foot", 0.3048}
	usSurveyFoot = Unit{"US survey foot", 1200. / 3937}
	degrees      = Unit{"degree", degree}
)

// exact returns u with the known size that its own is meant for. Files round
// sizes: they give 0.3048006 for the US survey foot, which at 1,000 km is 30 mm
// off, and 0.0174533 for a degree, which is off by 4e-7 of it. The two feet
// differ by 2e-6, four times the tolerance.
func (u Unit) exact() Unit {
	for _, known := range []Unit{metre, foot, usSurveyFoot, degrees} {
		if math.Abs(u.Size/known.Size-1) < 5e-7 {
			u.Size = known.Size
		}
	}
	return u
}

// finish makes the projection of a system whose other parts are known. It
// refuses a datum that is Far, and an ellipsoid that does not go with the datum.
func (s *System) finish() (*System, error) {
	if s.Datum.Stand == Far {
		return nil, farFrom(s.Name, s.Datum)
	}
	m := s.definition.method
	onSphere := s.Ellipsoid == webSphere && (m == mercatorA || m == mercatorB || m == webMercator)
	switch {
	case onSphere:
		s.definition.method = webMercator // Mercator's on this sphere is the same
	case !s.Ellipsoid.near():
		return nil, &geo.Fault{
			Where: fmt.Sprintf("coordinate system %.80q", s.Name),
			Found: fmt.Sprintf("%s on an ellipsoid of %.10g m, flattened by 1/%.10g", s.Datum.Name, s.Ellipsoid.SemiMajor, s.Ellipsoid.InverseFlattening),
			Want:  "the ellipsoid of WGS 84, or GRS 80",
		}
	case m == nil:
		return s, nil
	}
	p, err := s.definition.project(s.Ellipsoid)
	if err != nil {
		return nil, err
	}
	s.Method, s.projection = s.definition.name, p
	return s, nil
}

// Projected reports whether s is a map's, and not longitude and latitude.
func (s *System) Projected() bool { return s.projection != nil }

// Described is a projected system in words: its name, and the unit where that is
// not the metre. It is "" for longitude and latitude.
func (s *System) Described() string {
	switch {
	case !s.Projected():
		return ""
	case s.Unit.Size == metre.Size:
		return s.Name
	}
	return s.Name + ", in units of " + s.Unit.Name
}

// Note is the warning that goes with places from s: that their datum was taken
// as WGS 84, and how far off they lie for that. It is "" where the datum is WGS
// 84.
func (s *System) Note() string { return s.Datum.note() }

// A projection that is undone must give what it was given: within a millimetre
// on the plane, which no file is finer than, and within a tenth of a millimetre,
// 1e-9 degrees, on the Earth. The formulas keep to a hundredth of that wherever
// they hold at all (TestThereAndBack), so that the bounds are judgement.
const (
	sameMetres  = 1e-3
	sameDegrees = 1e-9
)

// ToEarth returns the place at x, the easting or longitude, and y, the northing
// or latitude, in the unit of s; westing and southing where a transverse
// Mercator is south orientated. It reports false for coordinates that are not
// finite and for those beyond the reach of the projection, which it finds by
// projecting the place back.
func (s *System) ToEarth(x, y float64) (geo.LonLat, bool) {
	if s.projection == nil {
		p := geo.LonLat{Lon: x * (s.Unit.Size / degree), Lat: y * (s.Unit.Size / degree)}
		return p, p.Valid()
	}
	v := &s.definition.values
	x, y = x*s.Unit.Size-v[easting], y*s.Unit.Size-v[northing]
	lon, lat := s.projection.inverse(x, y)
	if u, w := s.projection.forward(lon, lat); !(math.Hypot(u-x, w-y) <= sameMetres) { // true for NaN
		return geo.LonLat{}, false
	}
	return geo.LonLat{Lon: math.Remainder(v[longitude]+lon/degree, 360), Lat: lat / degree}, true
}

// FromEarth is the inverse of [System.ToEarth]. It reports false where the
// projection does not reach p.
func (s *System) FromEarth(p geo.LonLat) (x, y float64, ok bool) {
	if !p.Valid() {
		return 0, 0, false
	}
	if s.projection == nil {
		return p.Lon * (degree / s.Unit.Size), p.Lat * (degree / s.Unit.Size), true
	}
	v := &s.definition.values
	lon, lat := math.Remainder(p.Lon-v[longitude], 360)*degree, p.Lat*degree
	x, y = s.projection.forward(lon, lat)
	u, w := s.projection.inverse(x, y)
	if !(math.Abs(math.Remainder(u-lon, 2*math.Pi))*math.Cos(lat) <= sameDegrees*degree && math.Abs(w-lat) <= sameDegrees*degree) {
		return 0, 0, false
	}
	return (x + v[easting]) / s.Unit.Size, (y + v[northing]) / s.Unit.Size, true
}
