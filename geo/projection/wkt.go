package projection

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"lapwing/geo"
)

// Parse reads the well-known text of a coordinate system: the .prj beside a
// shapefile (as ESRI has it), the definition in a GeoPackage (OGC 01-009) or
// its definition_12_063 (ISO 19162, "WKT 2"). Of a compound system it takes the
// horizontal part, of a bound one the source.
//
// What cannot be read or is not understood gives a [*geo.Fault] that names it;
// a datum that would have to be shifted to WGS 84 a [*ShiftError].
func Parse(text string) (*System, error) {
	root, err := readNodes(text)
	if err != nil {
		return nil, err
	}
	n := horizontal(root)
	s := &System{Name: tidy(n.text()), Number: number(n)}
	switch n.word {
	case "PROJCS", "PROJCRS", "PROJECTEDCRS":
		err = s.readProjected(n)
	case "GEOGCS", "GEOGCRS", "GEODCRS", "GEODETICCRS", "GEOGRAPHICCRS":
		err = s.readGeographic(n)
	default:
		err = &geo.Fault{Found: fmt.Sprintf("%.40q", root.word), Want: "a projected or geographic coordinate system"}
	}
	if err != nil {
		return nil, err
	}
	return s.finish()
}

// horizontal unwraps what a compound or bound system holds.
func horizontal(n *node) *node {
	for {
		inner := n
		switch n.word {
		case "COMPD_CS", "COMPOUNDCRS":
			inner = n.child("PROJCS", "PROJCRS", "PROJECTEDCRS", "GEOGCS", "GEOGCRS", "GEODCRS", "GEODETICCRS", "GEOGRAPHICCRS", "BOUNDCRS")
		case "BOUNDCRS":
			inner = n.child("SOURCECRS")
		case "SOURCECRS":
			if len(n.nodes) > 0 {
				inner = n.nodes[0]
			}
		}
		if inner == nil || inner == n {
			return n
		}
		n = inner
	}
}

// number returns the number of the EPSG dataset that n bears, 0 where it has
// none.
func number(n *node) int {
	id := n.child("AUTHORITY", "ID")
	if id == nil || !strings.EqualFold(id.text(), "EPSG") {
		return 0
	}
	if len(id.texts) > 1 {
		if v, err := strconv.Atoi(id.texts[1]); err == nil {
			return max(v, 0)
		}
	}
	if len(id.numbers) > 0 && id.numbers[0] >= 0 && id.numbers[0] <= 1<<20 {
		return int(id.numbers[0])
	}
	return 0
}

func (s *System) fault(found, want string) error {
	return &geo.Fault{Where: fmt.Sprintf("coordinate system %.80q", s.Name), Found: found, Want: want}
}

// readGeographic reads longitude and latitude, alone or below a projection.
func (s *System) readGeographic(n *node) error {
	if derived := n.child("DERIVINGCONVERSION", "BASEGEOGCRS", "BASEGEODCRS"); derived != nil {
		return s.fault(derived.word, "longitude and latitude that are derived from no other")
	}
	if cs := n.child("CS"); cs != nil && cs.child("ELLIPSOIDAL") == nil {
		return s.fault("coordinates from the centre of the Earth", "longitude and latitude")
	}
	unit, err := s.readFrame(n)
	if err != nil {
		return err
	}
	s.Unit = unit
	return s.readAxes(n)
}

// readFrame reads datum, ellipsoid and prime meridian of a geographic system,
// and returns its unit of angles.
func (s *System) readFrame(n *node) (Unit, error) {
	d := n.child("DATUM", "ENSEMBLE", "TRF", "GEODETICDATUM")
	if d == nil {
		return Unit{}, s.fault("no datum", "one")
	}
	if err := s.readDatum(d); err != nil {
		return Unit{}, err
	}
	if m := n.child("PRIMEM", "PRIMEMERIDIAN"); m != nil && len(m.numbers) > 0 && m.numbers[0] != 0 {
		return Unit{}, s.fault(fmt.Sprintf("prime meridian %.40q at %g", m.text(), m.numbers[0]), "Greenwich")
	}
	return s.readUnit(n, degrees)
}

// readDatum settles how the datum stands to WGS 84, by its name. A text may give
// a shift to WGS 84 itself, TOWGS84: a datum of unknown name is taken as WGS 84
// where that is small, and any datum is refused where it is large.
func (s *System) readDatum(d *node) error {
	s.Datum = datumNamed(d.text())
	if s.Datum.Stand == Far {
		return farFrom(s.Name, s.Datum)
	}
	shift := d.child("TOWGS84")
	small := shift != nil && isSmall(shift.numbers)
	switch {
	case shift != nil && !small:
		return farFrom(s.Name, Datum{Name: tidy(d.text())})
	case s.Datum.Stand == Unknown && small:
		s.Datum = Datum{tidy(d.text()), Near, "up to 3 m"}
	case s.Datum.Stand == Unknown:
		return s.fault(fmt.Sprintf("datum %.80q, which is not known", d.text()), "WGS 84, or a datum within 2 m of it such as NAD83 or ETRS89")
	}
	e := d.child("SPHEROID", "ELLIPSOID")
	if e == nil || len(e.numbers) < 2 {
		return s.fault("no ellipsoid", "one, with semi-major axis and inverse flattening")
	}
	unit, err := s.readUnit(e, metre)
	s.Ellipsoid = Ellipsoid{e.numbers[0] * unit.Size, e.numbers[1]}
	return err
}

// isSmall reports whether a shift by three or seven parameters (metres, seconds
// of arc, parts in a million) moves places by no more than 3 m for each. That
// of NAD83(CSRS), which GDAL writes, has 1.9 m.
func isSmall(shift []float64) bool {
	limits := [7]float64{3, 3, 3, 0.1, 0.1, 0.1, 0.5}
	if len(shift) != 3 && len(shift) != 7 {
		return false
	}
	for i, v := range shift {
		if math.Abs(v) > limits[i] {
			return false
		}
	}
	return true
}

// readUnit reads the unit that n bears itself, or in its first axis.
func (s *System) readUnit(n *node, otherwise Unit) (Unit, error) {
	const want = "a size above 0"
	u := n.child("UNIT", "LENGTHUNIT", "ANGLEUNIT", "SCALEUNIT")
	if axis := n.child("AXIS"); u == nil && axis != nil {
		u = axis.child("UNIT", "LENGTHUNIT", "ANGLEUNIT")
	}
	if u == nil {
		return otherwise, nil
	}
	if len(u.numbers) == 0 {
		return Unit{}, s.fault(fmt.Sprintf("unit %.40q without its size", u.text()), want)
	}
	unit := Unit{tidy(u.text()), u.numbers[0]}.exact()
	if !(unit.Size > 1e-9 && unit.Size < 1e6) { // an arc second is 5e-6 radians
		return Unit{}, s.fault(fmt.Sprintf("unit %.40q of size %g", unit.Name, unit.Size), want)
	}
	return unit, nil
}

// readAxes settles which axis is listed first, and refuses axes that run
// elsewhere than the method has them.
func (s *System) readAxes(n *node) error {
	type axis struct {
		order float64
		way   string
	}
	var axes []axis
	for _, a := range n.nodes {
		if a.word != "AXIS" {
			continue
		}
		for _, way := range a.nodes {
			if slices.Contains([]string{"EAST", "NORTH", "WEST", "SOUTH", "UP", "DOWN", "OTHER", "UNSPECIFIED"}, way.word) {
				x := axis{float64(len(axes)), way.word}
				if o := a.child("ORDER"); o != nil && len(o.numbers) > 0 {
					x.order = o.numbers[0]
				}
				axes = append(axes, x)
				break
			}
		}
	}
	slices.SortStableFunc(axes, func(a, b axis) int { return cmp.Compare(a.order, b.order) })
	if len(axes) < 2 {
		return nil
	}
	east, north := "EAST", "NORTH"
	if s.definition.method == southOriented {
		east, north = "WEST", "SOUTH"
	}
	switch first, second := axes[0].way, axes[1].way; {
	case first == east && second == north:
	case first == north && second == east:
		s.NorthFirst = true
	default:
		return s.fault("axes "+strings.ToLower(first+" and "+second), strings.ToLower(east+" and "+north))
	}
	return nil
}

// readProjected reads a projected system: WKT 1 has the parameters beside the
// projection's name, WKT 2 in a conversion.
func (s *System) readProjected(n *node) error {
	base := n.child("GEOGCS", "BASEGEOGCRS", "BASEGEODCRS", "GEOGCRS", "GEODCRS")
	if base == nil {
		return s.fault("no geographic system below it", "one")
	}
	angle, err := s.readFrame(base)
	if err != nil {
		return err
	}
	if s.Unit, err = s.readUnit(n, Unit{}); err != nil {
		return err
	}
	if s.Unit.Size == 0 {
		return s.fault("no unit", "metres or feet")
	}
	conversion := n
	if c := n.child("CONVERSION"); c != nil {
		conversion = c
	}
	if err := s.readMethod(n, conversion.child("PROJECTION", "METHOD").text()); err != nil {
		return err
	}
	for _, p := range conversion.nodes {
		if p.word == "PARAMETER" {
			if err := s.readParameter(p, angle); err != nil {
				return err
			}
		}
	}
	if d := &s.definition; d.method == lambert2 && d.given.has(parallel1) && !d.given.has(parallel2) {
		d.set(parallel2, d.values[parallel1]) // as ESRI writes one with a single parallel
	}
	return s.readAxes(n)
}

// readMethod finds the projection by its name. The maps of the web have a
// method of their own, which WKT 1 does not know: it writes Mercator's
// projection, and in an extension, or in the name alone, that it is not.
func (s *System) readMethod(n *node, name string) error {
	m := methods[plain(name)]
	if m == nil {
		return s.fault(fmt.Sprintf("projection %.60q", name), "one of "+methodNames)
	}
	if x := n.child("EXTENSION"); x != nil && len(x.texts) > 1 && strings.EqualFold(x.texts[0], "PROJ4") {
		if !isWebMercator(x.texts[1]) {
			return s.fault(fmt.Sprintf("an extension %.60q, which may say otherwise than the text", x.texts[1]), "none")
		}
		m = webMercator
	}
	if called := plain(s.Name); (m == mercatorA || m == mercatorB) && (strings.Contains(called, "pseudomercator") || strings.Contains(called, "webmercator")) {
		m = webMercator
	}
	s.definition.method = m
	return nil
}

// isWebMercator reports whether a PROJ string is that of EPSG:3857: WKT 1 of
// GDAL has no other way to say it.
func isWebMercator(proj string) bool {
	words := strings.Fields(proj)
	return slices.Contains(words, "+proj=merc") && slices.Contains(words, "+a=6378137") && slices.Contains(words, "+b=6378137")
}

func (s *System) readParameter(n *node, angle Unit) error {
	p, ok := parameterNames[plain(n.text())]
	switch {
	case !ok:
		return s.fault(fmt.Sprintf("parameter %.60q", n.text()), "those of "+s.definition.name)
	case s.definition.given.has(p):
		return s.fault(fmt.Sprintf("parameter %.60q, given twice", n.text()), "it once")
	case len(n.numbers) == 0:
		return s.fault(fmt.Sprintf("parameter %.60q without its value", n.text()), "one")
	}
	unit, into := Unit{Size: 1}, 1.0
	switch p {
	case scale, sphere:
	case easting, northing:
		unit = s.Unit
	default:
		unit, into = angle, degree
	}
	unit, err := s.readUnit(n, unit)
	s.definition.set(p, n.numbers[0]*(unit.Size/into))
	return err
}
