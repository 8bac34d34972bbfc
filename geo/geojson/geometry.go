package geojson

import (
	"strconv"

	"lapwing/geo/plane"
)

// A Shape is a geometry as GeoJSON has it, from its type on. To write the
// numbers takes as long as to find them, so it is done where the shape is made,
// several at a time.
type Shape struct {
	text []byte // `"Polygon","coordinates":[...]`; nothing where nothing of the shape is left
	lost int    // rings and lines too small to show
}

// geometry returns the geometry of polygons, which do not overlap, in longitude and
// latitude.
func (f *lonLatFrame) geometry(polygons ...plane.Polygon) Shape {
	var parts []plane.Polygon
	lost := 0
	for _, p := range polygons {
		own, small := f.polygon(p)
		parts, lost = append(parts, own...), lost+small
	}
	if len(parts) == 0 {
		return Shape{lost: lost}
	}
	places := 0
	for _, part := range parts {
		for _, ring := range part.Rings() {
			places += len(ring) + 1
		}
	}
	b := make([]byte, 0, 64+placeSize*places)
	if len(parts) == 1 {
		return Shape{appendPolygon(append(b, `"Polygon","coordinates":`...), parts[0]), lost}
	}
	b = append(b, `"MultiPolygon","coordinates":`...)
	for i, part := range parts {
		b = appendPolygon(separate(b, i), part)
	}
	return Shape{append(b, ']'), lost}
}

// lineGeometry returns the geometry of a line in parts.
func lineGeometry(parts [][]plane.Point) Shape {
	switch len(parts) {
	case 0:
		return Shape{lost: 1}
	case 1:
		b := make([]byte, 0, 64+placeSize*len(parts[0]))
		return Shape{text: appendPlaces(append(b, `"LineString","coordinates":`...), parts[0], false)}
	}
	b := []byte(`"MultiLineString","coordinates":`)
	for i, part := range parts {
		b = appendPlaces(separate(b, i), part, false)
	}
	return Shape{text: append(b, ']')}
}

// pointGeometry returns the geometry of a place.
func pointGeometry(p plane.Point) Shape {
	return Shape{text: appendPlace([]byte(`"Point","coordinates":`), p)}
}

// placeSize is how many bytes a place takes, such as [-106.123456789,52.123456789],
const placeSize = 30

func appendPolygon(b []byte, p plane.Polygon) []byte {
	b = appendPlaces(append(b, '['), p.Shell, true)
	for _, hole := range p.Holes {
		b = appendPlaces(append(b, ','), hole, true)
	}
	return append(b, ']')
}

// separate opens a list before its first element and puts a comma before
// the others.
func separate(b []byte, i int) []byte {
	if i == 0 {
		return append(b, '[')
	}
	return append(b, ',')
}

func appendPlaces(b []byte, places []plane.Point, close bool) []byte {
	b = append(b, '[')
	for _, p := range places {
		b = append(appendPlace(b, p), ',')
	}
	if close {
		b = append(appendPlace(b, places[0]), ',')
	}
	b[len(b)-1] = ']'
	return b
}

func appendPlace(b []byte, p plane.Point) []byte {
	b = append(b, '[')
	b = appendDegrees(b, p.X)
	b = append(b, ',')
	b = appendDegrees(b, p.Y)
	return append(b, ']')
}

func appendDegrees(b []byte, v plane.Length) []byte {
	if v < 0 {
		b, v = append(b, '-'), -v
	}
	b = strconv.AppendInt(b, int64(v/nanoDegree), 10)
	return appendNinth(b, int64(v%nanoDegree))
}

// appendNinth appends a fraction given in billionths, without the zeros at its
// end and without a point where nothing is left.
func appendNinth(b []byte, billionths int64) []byte {
	if billionths == 0 {
		return b
	}
	// Three digits at a time: a division by a constant then tells three.
	v := uint32(billionths)
	first, rest := v/1e6, v%1e6
	b = append(b, '.')
	b = append(b, thousandths[first][:]...)
	b = append(b, thousandths[rest/1e3][:]...)
	b = append(b, thousandths[rest%1e3][:]...)
	for b[len(b)-1] == '0' {
		b = b[:len(b)-1]
	}
	return b
}

// thousandths are the numbers from 0 to 999 in three digits.
var thousandths = func() (all [1000][3]byte) {
	for i := range all {
		all[i] = [3]byte{byte('0' + i/100), byte('0' + i/10%10), byte('0' + i%10)}
	}
	return all
}()
