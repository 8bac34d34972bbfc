package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"lapwing/geo/plane"
)

// Units is the system of units that amounts are written in for people.
type Units int

// The systems of units.
const (
	US Units = iota
	Metric
)

// Length writes a length for people: in feet (inches below one), or in metres
// (centimetres below one).
func (u Units) Length(d plane.Distance) string {
	m := d.Metres()
	if u == Metric {
		switch {
		case m < leastMetric:
			return "0 m"
		case m < 0.995:
			return Number(m*100, 0) + " cm"
		case m < 9.95:
			return Number(m, 1) + " m"
		case m < 9999.5:
			return Number(m, 0) + " m"
		}
		return Number(m/1000, 1) + " km"
	}
	ft := m / Foot
	switch {
	case m < leastUS:
		return "0 ft"
	case ft*12 < 11.5:
		return Number(ft*12, 0) + " in"
	case ft < 9.95:
		return Number(ft, 1) + " ft"
	case ft < 9999.5:
		return Number(ft, 0) + " ft"
	}
	return Number(m/Mile, 1) + " mi"
}

// Lengths and areas below these are written as zero.
const (
	leastMetric     = 0.005
	leastUS         = 0.05 / 12 * Foot
	leastAreaMetric = 0.05
	leastAreaUS     = 0.5 * Foot * Foot
)

// SomeLength reports whether [Units.Length] writes more than zero: what is written as
// zero is rounding, and no news to anyone.
func (u Units) SomeLength(d plane.Distance) bool {
	if u == Metric {
		return d.Metres() >= leastMetric
	}
	return d.Metres() >= leastUS
}

// SomeArea reports whether [Units.Area] writes more than zero.
func (u Units) SomeArea(a plane.Area) bool { return u.SomeSquareMetres(a.SquareMetres()) }

// SomeSquareMetres is [Units.SomeArea] of an area in square metres.
func (u Units) SomeSquareMetres(m2 float64) bool {
	if u == Metric {
		return m2 >= leastAreaMetric
	}
	return m2 >= leastAreaUS
}

// Area writes an area for people: in acres (square feet below a hundredth of
// one), or in hectares (square metres below a tenth of one).
func (u Units) Area(a plane.Area) string {
	m2 := a.SquareMetres()
	if u == Metric {
		switch {
		case m2 < leastAreaMetric:
			return "0 m2"
		case m2 < 9.95:
			return Number(m2, 1) + " m2"
		case m2 < 999.5:
			return Number(m2, 0) + " m2"
		}
		return Number(m2/Hectare, 2) + " ha"
	}
	switch ac := m2 / Acre; {
	case m2 < leastAreaUS:
		return "0 sq ft"
	case ac < 0.005:
		return Number(m2/(Foot*Foot), 0) + " sq ft"
	default:
		return Number(ac, 2) + " ac"
	}
}

// AreaFigure writes an area without its unit, for a column headed by
// [Units.AreaUnit].
func (u Units) AreaFigure(a plane.Area) string {
	if u == Metric {
		return Number(a.SquareMetres()/Hectare, 3)
	}
	return Number(a.SquareMetres()/Acre, 2)
}

// AreaUnit is the unit of [Units.AreaFigure].
func (u Units) AreaUnit() string {
	if u == Metric {
		return "hectares"
	}
	return "acres"
}

// Speed writes m/s for people.
func (u Units) Speed(v float64) string {
	if u == Metric {
		return Number(v/KMH, 1) + " km/h"
	}
	return Number(v/MPH, 1) + " mph"
}

// Mass writes kilograms for people.
func (u Units) Mass(kg float64) string {
	if u == Metric {
		return Number(kg, decimalsFor(kg)) + " kg"
	}
	return Number(kg/Pound, decimalsFor(kg/Pound)) + " lb"
}

// Volume writes cubic metres for people.
func (u Units) Volume(m3 float64) string {
	if u == Metric {
		return Number(m3/Litre, decimalsFor(m3/Litre)) + " L"
	}
	return Number(m3/Gallon, decimalsFor(m3/Gallon)) + " gal"
}

// decimalsFor gives small amounts decimals that would be noise in large ones.
func decimalsFor(v float64) int {
	switch v = math.Abs(v); {
	case v == 0 || v >= 99.5:
		return 0
	case v >= 1:
		return 1
	}
	return 2
}

// Number writes v with the given decimals and a comma at each thousand.
func Number(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "not known"
	}
	s := strconv.FormatFloat(math.Abs(v), 'f', decimals, 64)
	whole, fraction, _ := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if fraction != "" {
		whole += "." + fraction
	}
	if v < 0 && strings.Trim(whole, "0.,") != "" {
		whole = "-" + whole
	}
	return whole
}

// RowSpacing writes the distance between rows, where half an inch matters.
func (u Units) RowSpacing(l plane.Length) string {
	if u == Metric {
		return strconv.FormatFloat(math.Round(l.Metres()*1e4)/100, 'f', -1, 64) + " cm"
	}
	return strconv.FormatFloat(math.Round(l.Metres()/Inch*100)/100, 'f', -1, 64) + " in"
}

// FineLength writes a length that comes to millimetres.
func (u Units) FineLength(d plane.Distance) string {
	if u == Metric {
		return Number(float64(d)/float64(plane.Millimetre), 1) + " mm"
	}
	return Number(d.Metres()/Inch, 2) + " in"
}

// CapacityFigure writes m²/s without the unit, for a column headed by
// [Units.CapacityUnit].
func (u Units) CapacityFigure(v float64) string {
	if u == Metric {
		return Number(v*3600/Hectare, 1)
	}
	return Number(v*3600/Acre, 1)
}

// CapacityUnit is the unit of [Units.CapacityFigure]: area by hour.
func (u Units) CapacityUnit() string {
	if u == Metric {
		return "ha/h"
	}
	return "ac/h"
}

// Metres is [Units.Length] of a length in metres.
func (u Units) Metres(metres float64) string {
	return u.Length(plane.DistanceOf(metres))
}

// SquareMetres is [Units.Area] of an area in square metres.
func (u Units) SquareMetres(m2 float64) string {
	return u.Area(plane.Area(m2 * float64(plane.SquareMetre)))
}

// SquareMetresFigure is [Units.AreaFigure] of an area in square metres.
func (u Units) SquareMetresFigure(m2 float64) string {
	return u.AreaFigure(plane.Area(m2 * float64(plane.SquareMetre)))
}

// LengthFigure writes metres without the unit, for a column headed in feet or
// metres.
func (u Units) LengthFigure(metres float64) string {
	if u == Metric {
		return Number(metres, 0)
	}
	return Number(metres/Foot, 0)
}

// MassFigure writes kilograms without the unit, for a column headed in pounds or
// kg.
func (u Units) MassFigure(kg float64) string {
	if u == Metric {
		return Number(kg, 0)
	}
	return Number(kg/Pound, 0)
}

// LonLat writes a place on the Earth in degrees, latitude first, to a metre.
func LonLat(lon, lat float64) string {
	ns, ew := "N", "E"
	if lat < 0 {
		ns = "S"
	}
	if lon < 0 {
		ew = "W"
	}
	return fmt.Sprintf("%.5f %s, %.5f %s", math.Abs(lat), ns, math.Abs(lon), ew)
}
