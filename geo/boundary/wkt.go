package boundary

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"github.com/twpayne/go-geom"
	"github.com/twpayne/go-geom/encoding/wkt"

	"lapwing/geo"
	"lapwing/geo/feature"
	"lapwing/geo/projection"
)

var (
	wktStart = regexp.MustCompile(`(?i)^(SRID\s*=|POINT|LINESTRING|POLYGON|MULTI|GEOMETRYCOLLECTION)`)
	wktSRID  = regexp.MustCompile(`(?i)^SRID\s*=\s*([0-9]+)\s*;\s*`)
	wktFault = regexp.MustCompile(`^syntax error: (.*) at line ([0-9]+), pos [0-9]+`)
)

// IsWKT reports whether a text begins as well-known text does.
func IsWKT(text []byte) bool { return wktStart.Match(text) }

// readWKT reads well-known text (OGC 06-103r4, section 7): any number of
// geometries, each a boundary. A number in front, SRID=4326;, is understood.
// Places bear the line on which their geometry starts. The parser refuses
// rings that are not closed, as the standard does.
func (d *draft) readWKT(data []byte) error {
	d.out.Format = "WKT"
	line := 1
	for {
		text := bytes.TrimLeft(data, " \t\r\n;")
		line += bytes.Count(data[:len(data)-len(text)], []byte("\n"))
		if len(text) == 0 {
			return nil
		}
		end, err := d.wktEnd(text, line)
		if err != nil {
			return err
		}
		if err := d.readOneWKT(string(text[:end]), line); err != nil {
			return err
		}
		line += bytes.Count(text[:end], []byte("\n"))
		data = text[end:]
	}
}

// wktEnd returns where the geometry at the start of text ends: where its
// brackets close, or after EMPTY.
func (d *draft) wktEnd(text []byte, line int) (int, error) {
	depth := 0
	for i, b := range text {
		switch b {
		case 0: // the parser would take it for the end
			return 0, d.fault(line+bytes.Count(text[:i], []byte("\n")), "", "a zero byte", "text")
		case '(':
			if depth++; depth > 16 {
				return 0, d.fault(line+bytes.Count(text[:i], []byte("\n")), "", "brackets nested more than 16 deep", "a polygon")
			}
		case ')':
			if depth--; depth <= 0 {
				return i + 1, nil
			}
		case 'Y', 'y':
			if depth == 0 && i >= 4 && strings.EqualFold(string(text[i-4:i+1]), "EMPTY") {
				return i + 1, nil
			}
		}
	}
	return len(text), nil // the parser says what is wrong
}

// readOneWKT reads one geometry, which starts on the line given.
func (d *draft) readOneWKT(text string, line int) error {
	d.system = nil
	if m := wktSRID.FindStringSubmatch(text); m != nil {
		if err := d.numbered(m[1], line); err != nil {
			return err
		}
		line += strings.Count(m[0], "\n")
		text = text[len(m[0]):]
	}
	g, err := wkt.Unmarshal(text)
	if err != nil {
		if m := wktFault.FindStringSubmatch(err.Error()); m != nil {
			at, _ := strconv.Atoi(m[2])
			return d.fault(line+at-1, "", m[1], "well-known text of a polygon")
		}
		return d.fault(line, "", firstLine(err.Error()), "well-known text of a polygon")
	}
	outlines, err := d.wktOutlines(g, "", line)
	if err != nil || len(outlines) == 0 {
		return d.inFile("", err)
	}
	return d.add(shape{outlines: outlines})
}

func firstLine(s string) string {
	s, _, _ = strings.Cut(s, "\n")
	return s
}

// numbered takes the number of a coordinate system, which stands before a
// geometry, as one of the EPSG dataset.
func (d *draft) numbered(number string, line int) error {
	system, err := projection.Named("EPSG:" + number)
	var shift *projection.ShiftError
	switch {
	case errors.As(err, &shift):
		return d.fault(line, "", shift.Found+", of SRID="+number, shift.Want)
	case err != nil:
		return d.fault(line, "", "coordinate system SRID="+number, "a number of the EPSG dataset such as SRID=4326")
	}
	d.system = system
	if note := system.Note(); note != "" {
		d.note(line, "%s", note)
	}
	return nil
}

// wktOutlines are the polygons of a geometry. An error is a [*geo.Fault].
func (d *draft) wktOutlines(g geom.T, where string, line int) (out []outline, err error) {
	add := func(g geom.T, where string) {
		var more []outline
		if err == nil {
			more, err = d.wktOutlines(g, where, line)
		}
		out = append(out, more...)
	}
	switch g := g.(type) {
	case *geom.Polygon:
		o := make(outline, g.NumLinearRings())
		for i := range o {
			if o[i], err = d.flatRing(g.LinearRing(i), fmt.Sprintf("%sring[%d]", where, i), line); err != nil {
				return nil, err
			}
		}
		return []outline{o}, nil
	case *geom.MultiPolygon:
		for i := range g.NumPolygons() {
			add(g.Polygon(i), fmt.Sprintf("%spolygon[%d].", where, i))
		}
		return out, err
	case *geom.GeometryCollection:
		for i := range g.NumGeoms() {
			add(g.Geom(i), fmt.Sprintf("%sgeometry[%d].", where, i))
		}
		return out, err
	}
	d.note(line, "%s left out: only polygons bound a field", strings.TrimPrefix(fmt.Sprintf("%T", g), "*geom."))
	return nil, nil
}

func (d *draft) flatRing(g *geom.LinearRing, where string, line int) (ring, error) {
	r := feature.Ring{Where: where, At: make([]geo.LonLat, g.NumCoords()), Lines: make([]int32, g.NumCoords())}
	for i := range r.At {
		c := g.Coord(i)
		r.At[i], r.Lines[i] = geo.LonLat{Lon: c[0], Lat: c[1]}, int32(line)
	}
	return d.onEarth(r)
}
