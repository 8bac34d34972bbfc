package boundary

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"lapwing/geo"
)

const (
	maxElements = 64      // how deep XML elements may nest
	maxTag      = 1 << 20 // bytes in one tag
)

// A kml reads KML 2.2 (OGC 07-147r2) token by token: each Placemark with
// polygons is a boundary.
type kml struct {
	*draft
	dec  *xml.Decoder
	path []string // the elements open, outermost first

	placemark shape
	text      strings.Builder // of the name or the coordinates being read
	textLine  int
}

func (d *draft) readKML(data []byte) error {
	d.out.Format = "KML"
	if line := longTag(data); line > 0 {
		return d.fault(line, "", "an XML tag longer than 1 MiB", "KML")
	}
	k := kml{draft: d, dec: xml.NewDecoder(bytes.NewReader(data))}
	k.dec.CharsetReader = func(charset string, _ io.Reader) (io.Reader, error) {
		return nil, d.fault(1, "", "text encoded as "+strconv.Quote(charset), "UTF-8")
	}
	for {
		line, _ := k.dec.InputPos()
		t, err := k.dec.RawToken()
		if err == io.EOF {
			break
		}
		if err != nil {
			return k.broken(err)
		}
		if err := k.token(t, line); err != nil {
			return err
		}
	}
	if len(k.path) > 0 {
		line, _ := k.dec.InputPos()
		return d.fault(line, "", "the text ends within <"+k.path[len(k.path)-1]+">", "</"+k.path[len(k.path)-1]+">")
	}
	return nil
}

// longTag returns the line of a tag too long to be taken apart in little
// memory, or 0.
func longTag(data []byte) int {
	for at := 0; ; {
		i := bytes.IndexByte(data[at:], '<')
		if i < 0 {
			return 0
		}
		at += i
		n := bytes.IndexByte(data[at:], '>')
		if n < 0 {
			n = len(data) - at
		}
		if n > maxTag && !bytes.HasPrefix(data[at:], []byte("<!")) {
			return 1 + bytes.Count(data[:at], []byte("\n"))
		}
		at += n
	}
}

func (k *kml) broken(err error) error {
	var own *SyntaxError
	if errors.As(err, &own) {
		return own
	}
	line, _ := k.dec.InputPos()
	var syntax *xml.SyntaxError
	if errors.As(err, &syntax) {
		return k.fault(syntax.Line, "", "broken XML: "+syntax.Msg, "")
	}
	return k.fault(line, "", "broken XML: "+firstLine(err.Error()), "")
}

// token takes the next token, which starts on the line given.
func (k *kml) token(t xml.Token, line int) error {
	switch t := t.(type) {
	case xml.StartElement:
		return k.start(t.Name.Local, line)
	case xml.EndElement:
		if n := len(k.path); n == 0 || k.path[n-1] != t.Name.Local {
			return k.fault(line, "", "broken XML: </"+t.Name.Local+"> closes nothing", "")
		}
		err := k.end(t.Name.Local, line)
		k.path = k.path[:len(k.path)-1]
		return err
	case xml.CharData:
		if k.wanted() {
			if k.text.Len() == 0 {
				k.textLine = line
			}
			k.text.Write(t)
		} else if len(k.path) == 0 && len(bytes.TrimSpace(t)) > 0 && !bytes.Equal(t, byteOrderMark) {
			return k.fault(line, "", "text outside of <kml>", "")
		}
	}
	return nil
}

// wanted reports whether the text of the innermost element is of use.
func (k *kml) wanted() bool {
	n := len(k.path)
	return n >= 2 && (k.path[n-1] == "coordinates" || k.path[n-1] == "name" && k.path[n-2] == "Placemark")
}

func (k *kml) start(name string, line int) error {
	switch {
	case len(k.path) == maxElements:
		return k.fault(line, "", "XML elements nested more than 64 deep", "KML")
	case len(k.path) == 0 && name != "kml":
		return k.fault(line, "", fmt.Sprintf("XML of kind <%.40s>", name), "<kml>")
	}
	inPolygon := slices.Contains(k.path, "Polygon")
	k.path = append(k.path, name)
	k.text.Reset()
	switch name {
	case "Placemark":
		k.placemark = shape{}
	case "Polygon":
		k.placemark.outlines = append(k.placemark.outlines, outline{})
	case "Point", "LineString", "LinearRing", "Model", "Track", "MultiTrack":
		if !inPolygon {
			k.note(line, "%s left out: only polygons bound a field", name)
		}
	}
	return nil
}

func (k *kml) end(name string, line int) error {
	switch name {
	case "name":
		if k.wanted() {
			k.placemark.name = strings.TrimSpace(k.text.String())
		}
	case "coordinates":
		return k.coordinates(line)
	case "Placemark":
		if len(k.placemark.outlines) > 0 {
			return k.add(k.placemark)
		}
	}
	return nil
}

// coordinates takes the ring that has been read, if it bounds a polygon.
func (k *kml) coordinates(line int) error {
	outlines := k.placemark.outlines
	if !slices.Contains(k.path, "Polygon") || len(outlines) == 0 {
		return nil
	}
	last := len(outlines) - 1
	part := "outerBoundaryIs"
	if slices.Contains(k.path, "innerBoundaryIs") {
		part = fmt.Sprintf("innerBoundaryIs[%d]", max(0, len(outlines[last])-1))
	}
	r := ring{where: fmt.Sprintf("Polygon[%d].%s", last, part), line: line}
	if k.text.Len() > 0 {
		r.line = k.textLine
	}
	var err error
	if r.at, err = k.tuples(r.where, k.text.String(), k.textLine); err != nil {
		return err
	}
	switch hole := strings.HasPrefix(part, "inner"); {
	case hole && len(outlines[last]) == 0:
		return k.fault(r.line, r.where, "a hole before its shell", "outerBoundaryIs first")
	case !hole && len(outlines[last]) > 0:
		return k.fault(r.line, r.where, "a second shell in one polygon", "one")
	}
	outlines[last] = append(outlines[last], r)
	return nil
}

// tuples reads "lon,lat[,height] lon,lat[,height] …".
func (k *kml) tuples(where, text string, line int) ([]vertex, error) {
	var out []vertex
	for text != "" {
		trimmed := strings.TrimLeft(text, " \t\r\n")
		line += strings.Count(text[:len(text)-len(trimmed)], "\n")
		end := strings.IndexAny(trimmed, " \t\r\n")
		if end < 0 {
			end = len(trimmed)
		}
		word := trimmed[:end]
		text = trimmed[end:]
		if word == "" {
			break
		}
		lon, rest, ok := strings.Cut(word, ",")
		lat, _, _ := strings.Cut(rest, ",")
		x, err1 := strconv.ParseFloat(lon, 64)
		y, err2 := strconv.ParseFloat(lat, 64)
		if !ok || err1 != nil || err2 != nil {
			return nil, k.fault(line, fmt.Sprintf("%s[%d]", where, len(out)), fmt.Sprintf("%.40q", word),
				"longitude,latitude such as -104.5,49.1")
		}
		out = append(out, vertex{geo.LonLat{Lon: x, Lat: y}, int32(line)})
	}
	return out, nil
}
