package geojson

import (
	"encoding/json"
	"io"
	"strconv"

	"lapwing/geo"
	"lapwing/geo/plane"
)

// A Writer streams a FeatureCollection of shapes that lie on a frame's plane.
// The first error of what it writes to stays: [Writer.Close] returns it.
type Writer struct {
	w       io.Writer
	frame   *lonLatFrame
	buf     []byte
	written bool // a feature
	lost    int
	err     error
}

// NewWriter begins a collection. The members, which may be nil, are foreign
// ones (RFC 7946 6.1) that stand before the features.
func NewWriter(w io.Writer, frame geo.Frame, members func(*Members)) *Writer {
	g := &Writer{w: w, frame: newLonLatFrame(frame)}
	g.buf = append(g.buf, `{"type":"FeatureCollection"`...)
	g.members(true, members)
	g.buf = append(g.buf, `,"features":[`...)
	return g
}

// Feature writes a feature. Nothing is written where nothing is left of the
// shape; the properties are not asked for then.
func (g *Writer) Feature(shape Shape, properties func(*Members)) {
	g.lost += shape.lost
	if len(shape.text) == 0 {
		return
	}
	if g.written {
		g.buf = append(g.buf, ',')
	}
	g.written = true
	g.buf = append(g.buf, "\n{\"type\":\"Feature\",\"properties\":{"...)
	g.members(false, properties)
	g.buf = append(g.buf, `},"geometry":{"type":`...)
	g.buf = append(g.buf, shape.text...)
	g.buf = append(g.buf, "}}"...)
	if len(g.buf) > 1<<16 {
		g.flush()
	}
}

// Lost is how many rings and lines of the features so far were too small to
// show: narrower than the ninth decimal of a degree.
func (g *Writer) Lost() int { return g.lost }

// Close ends the collection. The members, which may be nil, are foreign ones
// that stand after the features.
func (g *Writer) Close(members func(*Members)) error {
	g.buf = append(g.buf, "\n]"...)
	g.members(true, members)
	g.buf = append(g.buf, "}\n"...)
	g.flush()
	return g.err
}

func (g *Writer) flush() {
	if g.err == nil {
		_, g.err = g.w.Write(g.buf)
	}
	g.buf = g.buf[:0]
}

// members writes members of the object that is open; others stand before them
// where it has some already.
func (g *Writer) members(some bool, write func(*Members)) {
	if write == nil {
		return
	}
	m := Members{g.buf, some}
	write(&m)
	g.buf = m.buf
}

// Members writes members of an object in the order of its calls.
type Members struct {
	buf  []byte
	some bool // a member stands before the next
}

// Text writes a member that is a string.
func (m *Members) Text(name, value string) {
	m.name(name)
	m.buf = appendText(m.buf, value)
}

// Integer writes a member that is a whole number.
func (m *Members) Integer(name string, value int) {
	m.name(name)
	m.buf = strconv.AppendInt(m.buf, int64(value), 10)
}

// Integers writes a member that is an array of whole numbers.
func (m *Members) Integers(name string, values []int) {
	m.name(name)
	m.buf = append(m.buf, '[')
	for i, v := range values {
		if i > 0 {
			m.buf = append(m.buf, ',')
		}
		m.buf = strconv.AppendInt(m.buf, int64(v), 10)
	}
	m.buf = append(m.buf, ']')
}

// Truth writes a member that is true or false.
func (m *Members) Truth(name string, is bool) {
	m.name(name)
	m.buf = strconv.AppendBool(m.buf, is)
}

// Append writes a member whose value, as JSON, the function appends.
func (m *Members) Append(name string, value func([]byte) []byte) {
	m.name(name)
	m.buf = value(m.buf)
}

func (m *Members) name(name string) {
	if m.some {
		m.buf = append(m.buf, ',')
	}
	m.some = true
	m.buf = append(appendText(m.buf, name), ':')
}

// appendText appends a JSON string. Most hold nothing that must be escaped.
func appendText(b []byte, s string) []byte {
	for i := range len(s) {
		if c := s[i]; c < ' ' || c > '~' || c == '"' || c == '\\' || c == '<' || c == '>' || c == '&' {
			quoted, err := json.Marshal(s)
			if err != nil { // never: what is not UTF-8 is replaced
				panic(err)
			}
			return append(b, quoted...)
		}
	}
	b = append(b, '"')
	b = append(b, s...)
	return append(b, '"')
}

// Polygon returns the shape of p, as one polygon or as several: its places are
// rounded to the ninth decimal, its rings valid after that and right-handed
// (RFC 7946 3.1.6), and it is cut at the antimeridian (3.1.9). It may be called
// from several goroutines at once, as may Line and Point.
func (g *Writer) Polygon(p plane.Polygon) Shape { return g.frame.geometry(p) }

// Polygons returns the shape of polygons that do not overlap, as one.
func (g *Writer) Polygons(p []plane.Polygon) Shape { return g.frame.geometry(p...) }

// Line returns the shape of a line, cut at the antimeridian.
func (g *Writer) Line(line []plane.Point) Shape { return lineGeometry(cutLine(g.frame.line(line))) }

// Point returns the shape of a place.
func (g *Writer) Point(p plane.Point) Shape { return pointGeometry(g.frame.place(p)) }
