// Package shapefile reads what shapefiles of tracks and of boundaries have in
// common ("ESRI Shapefile Technical Description", July 1998): the records of
// the main file, the table beside it and its coordinate system.
//
//	shapefile.go  the main file: header and records
//	table.go      the .dbf beside it
//	feature.go    both, and the .prj: points and polygons with their attributes
//
// Counts in a file are believed only as far as there are bytes for them.
package shapefile

import (
	"encoding/binary"
	"fmt"
	"math"

	"lapwing/geo"
)

// Magic is how a main file begins.
const Magic = "\x00\x00\x27\x0a"

// A Fault says what is wrong with a shapefile.
type Fault = geo.Fault

// A Kind is a type of shape, as the files number them.
type Kind uint32

// The kinds that are read; the last two of each add a height and a measure.
const (
	Null     Kind = 0
	Point    Kind = 1
	PointZ   Kind = 11
	PointM   Kind = 21
	Polygon  Kind = 5
	PolygonZ Kind = 15
	PolygonM Kind = 25
)

// IsPoint reports whether k is a kind of point.
func (k Kind) IsPoint() bool { return k == Point || k == PointZ || k == PointM }

// IsPolygon reports whether k is a kind of polygon.
func (k Kind) IsPolygon() bool { return k == Polygon || k == PolygonZ || k == PolygonM }

const (
	headerSize = 100 // bytes of the main file's header
	recordHead = 8   // bytes of a record's: its number and its length
	pointSize  = 20  // bytes of a point: its kind, x and y
)

// A Main is the main file.
type Main struct {
	Kind Kind
	// Degrees reports whether the extent in the header could be longitudes
	// and latitudes.
	Degrees bool
	rest    []byte
}

// Open looks at the header of a main file.
func Open(data []byte) (*Main, error) {
	if len(data) < headerSize {
		return nil, &Fault{Found: fmt.Sprintf("a shapefile of %d bytes", len(data)), Want: "a header of 100"}
	}
	m := &Main{Kind: Kind(binary.LittleEndian.Uint32(data[32:])), Degrees: true, rest: data[headerSize:]}
	for i, limit := range []float64{180, 90, 180, 90} { // least x and y, greatest x and y
		m.Degrees = m.Degrees && math.Abs(Float(data[36+8*i:])) <= limit
	}
	return m, nil
}

// Float reads a coordinate.
func Float(b []byte) float64 { return math.Float64frombits(binary.LittleEndian.Uint64(b)) }

// Each calls do with the number and the content of each record, which begins
// with its kind. It stops at the first error.
func (m *Main) Each(do func(number int, kind Kind, content []byte) error) error {
	rest := m.rest
	for number := 1; len(rest) > 0; number++ {
		where := fmt.Sprintf("record %d", number)
		if len(rest) < recordHead+4 {
			return &Fault{Where: where, Found: fmt.Sprintf("%d bytes", len(rest)), Want: "a record's header of 12"}
		}
		length := 2 * int64(binary.BigEndian.Uint32(rest[4:]))
		if length < 4 || length > int64(len(rest)-recordHead) {
			return &Fault{Where: where, Found: fmt.Sprintf("a length of %d bytes", length), Want: fmt.Sprintf("4 to %d", len(rest)-recordHead)}
		}
		content := rest[recordHead : recordHead+length]
		if err := do(number, Kind(binary.LittleEndian.Uint32(content)), content); err != nil {
			return err
		}
		rest = rest[recordHead+length:]
	}
	return nil
}

// EachPoint calls do with each point of a main file of points; ok is false for
// a record without a shape.
func (m *Main) EachPoint(do func(x, y float64, ok bool) error) error {
	return m.Each(func(number int, kind Kind, content []byte) error {
		switch {
		case kind == Null:
			return do(0, 0, false)
		case !kind.IsPoint():
			return &Fault{Where: fmt.Sprintf("record %d", number), Found: fmt.Sprintf("shape type %d", kind), Want: "a point: 1, 11 or 21"}
		case len(content) < pointSize:
			return &Fault{Where: fmt.Sprintf("record %d", number), Found: fmt.Sprintf("%d bytes", len(content)), Want: "20 or more for a point"}
		}
		return do(Float(content[4:]), Float(content[12:]), true)
	})
}
