package geopackage

import (
	"encoding/binary"
	"fmt"
	"math"

	"github.com/twpayne/go-geom/encoding/wkbcommon"

	"lapwing/geo"
	"lapwing/geo/projection"
)

// typeNames names the types of geometry in well-known binary (OGC 06-103r4,
// section 8). Thousands say whether there are heights and measures.
var typeNames = map[uint32]string{1: "Point", 2: "LineString", 3: "Polygon", 4: "MultiPoint", 5: "MultiLineString", 6: "MultiPolygon", 7: "GeometryCollection"}

// unpack takes the GeoPackage's header off a geometry (clause 2.1.3): what is
// left is well-known binary. Empty geometries give nil.
func unpack(blob []byte) ([]byte, error) {
	if len(blob) == 0 {
		return nil, nil
	}
	if len(blob) < 8 || blob[0] != 'G' || blob[1] != 'P' {
		return nil, &Fault{Found: fmt.Sprintf("a geometry that begins %.8x", blob[:min(8, len(blob))]), Want: `a GeoPackage geometry ("GP")`}
	}
	const (
		envelope = 0b1110
		empty    = 0b1_0000
		extended = 0b10_0000
	)
	flags := blob[3]
	sizes := []int{0, 32, 48, 48, 64}
	kind := int(flags&envelope) >> 1
	switch {
	case flags&extended != 0:
		return nil, &Fault{Found: "a geometry of an extended kind", Want: "a plain one"}
	case kind >= len(sizes) || len(blob) < 8+sizes[kind]:
		return nil, &Fault{Found: fmt.Sprintf("a geometry of %d bytes with envelope %d", len(blob), kind), Want: "envelope 0 to 4 and the bytes for it"}
	case flags&empty != 0:
		return nil, nil
	}
	return blob[8+sizes[kind]:], nil
}

// Envelope is the box that stands before a geometry, as this package and most others
// write it; false where there is none, and of an empty geometry.
func Envelope(blob []byte) (box geo.Extent, some bool) {
	if b, err := unpack(blob); err != nil || len(b) == 0 || len(blob)-len(b) < envelopeEnd {
		return geo.Extent{}, false
	}
	var order binary.ByteOrder = binary.BigEndian
	if blob[3]&1 != 0 {
		order = binary.LittleEndian
	}
	at := func(i int) float64 { return math.Float64frombits(order.Uint64(blob[8+8*i:])) }
	return geo.Extent{West: at(0), East: at(1), South: at(2), North: at(3)}, true
}

// A wkbReader is well-known binary yet to be read. Counts are believed only as far
// as there are bytes for them.
type wkbReader struct {
	b    []byte
	left int // how deep collections may still nest
}

// take returns the next n bytes.
func (w *wkbReader) take(n uint64) ([]byte, error) {
	if n > uint64(len(w.b)) {
		return nil, &Fault{Found: fmt.Sprintf("a geometry that ends %d bytes early", n-uint64(len(w.b))), Want: "whole well-known binary"}
	}
	part := w.b[:n]
	w.b = w.b[n:]
	return part, nil
}

// start reads the byte order and the type; size is the bytes of a place.
func (w *wkbReader) start() (order binary.ByteOrder, kind uint32, size uint64, err error) {
	head, err := w.take(5)
	if err != nil {
		return nil, 0, 0, err
	}
	order = binary.BigEndian
	if head[0] == 1 {
		order = binary.LittleEndian
	} else if head[0] != 0 {
		return nil, 0, 0, &Fault{Found: fmt.Sprintf("byte order %d in a geometry", head[0]), Want: "0 or 1"}
	}
	full := order.Uint32(head[1:])
	kind, size = full%1000, 16
	switch full / 1000 {
	case 0:
	case 1, 2:
		size = 24
	case 3:
		size = 32
	default:
		kind = 0
	}
	if typeNames[kind] == "" {
		return nil, 0, 0, &Fault{Found: fmt.Sprintf("geometry type %d", full), Want: "a simple feature"}
	}
	return order, kind, size, nil
}

func (w *wkbReader) count(order binary.ByteOrder) (uint64, error) {
	b, err := w.take(4)
	if err != nil {
		return 0, err
	}
	return uint64(order.Uint32(b)), nil
}

func place(order binary.ByteOrder, b []byte) projection.XY {
	return projection.XY{X: math.Float64frombits(order.Uint64(b)), Y: math.Float64frombits(order.Uint64(b[8:]))}
}

// Point reads a geometry that is a point; false for NULL and for an empty one.
// Other kinds are a [*Fault].
func Point(blob []byte) (projection.XY, bool, error) {
	b, err := unpack(blob)
	if err != nil || b == nil {
		return projection.XY{}, false, err
	}
	w := wkbReader{b: b}
	order, kind, size, err := w.start()
	if err != nil {
		return projection.XY{}, false, err
	}
	if kind != wkbcommon.PointID {
		return projection.XY{}, false, &Fault{Found: "a " + typeNames[kind], Want: "a Point"}
	}
	at, err := w.take(size)
	if err != nil {
		return projection.XY{}, false, err
	}
	p := place(order, at)
	return p, !math.IsNaN(p.X) && !math.IsNaN(p.Y), nil // an empty point is two NaN
}

// Polygons reads the polygons of a geometry, each a shell and then holes. It
// is nil for NULL and for an empty one; other is the kind of one that is none.
func Polygons(blob []byte) (polygons [][][]projection.XY, other string, err error) {
	b, err := unpack(blob)
	if err != nil || b == nil {
		return nil, "", err
	}
	const deepest = 16
	w := wkbReader{b: b, left: deepest}
	other, err = w.polygons(&polygons)
	return polygons, other, err
}

func (w *wkbReader) polygons(to *[][][]projection.XY) (other string, err error) {
	order, kind, size, err := w.start()
	if err != nil {
		return "", err
	}
	switch kind {
	case wkbcommon.PolygonID:
		rings, err := w.rings(order, size)
		*to = append(*to, rings)
		return "", err
	case wkbcommon.MultiPolygonID, wkbcommon.GeometryCollectionID:
		if w.left--; w.left < 0 {
			return "", &Fault{Found: "collections nested too deep", Want: "a polygon"}
		}
		defer func() { w.left++ }()
		n, err := w.count(order)
		for range n {
			if err == nil {
				other, err = w.polygons(to)
			}
			if err != nil || other != "" {
				return other, err
			}
		}
		return "", err
	}
	return typeNames[kind], nil
}

func (w *wkbReader) rings(order binary.ByteOrder, size uint64) ([][]projection.XY, error) {
	n, err := w.count(order)
	if err != nil {
		return nil, err
	}
	var rings [][]projection.XY
	for range n {
		ring, err := w.places(order, size)
		if err != nil {
			return nil, err
		}
		rings = append(rings, ring)
	}
	return rings, nil
}

// places reads a count and so many places.
func (w *wkbReader) places(order binary.ByteOrder, size uint64) ([]projection.XY, error) {
	n, err := w.count(order)
	if err != nil {
		return nil, err
	}
	b, err := w.take(n * size)
	if err != nil {
		return nil, err
	}
	places := make([]projection.XY, n)
	for i := range places {
		places[i] = place(order, b[uint64(i)*size:])
	}
	return places, nil
}

// Lines reads the lines of a geometry. It is nil for NULL and for an empty one; other is the
// kind of one that is none.
func Lines(blob []byte) (lines [][]projection.XY, other string, err error) {
	b, err := unpack(blob)
	if err != nil || b == nil {
		return nil, "", err
	}
	w := wkbReader{b: b}
	order, kind, size, err := w.start()
	if err != nil {
		return nil, "", err
	}
	switch kind {
	case wkbcommon.LineStringID:
		line, err := w.places(order, size)
		return [][]projection.XY{line}, "", err
	case wkbcommon.MultiLineStringID:
	default:
		return nil, typeNames[kind], nil
	}
	n, err := w.count(order)
	if err != nil {
		return nil, "", err
	}
	for range n {
		order, kind, size, err := w.start()
		if err != nil {
			return nil, "", err
		}
		if kind != wkbcommon.LineStringID {
			return nil, typeNames[kind], nil
		}
		line, err := w.places(order, size)
		if err != nil {
			return nil, "", err
		}
		lines = append(lines, line)
	}
	return lines, "", nil
}
